package main

import (
	"strings"
	"testing"
)

// The answer begins with a sentence and three warnings, the gravest first;
// those that are left stand further down.
func TestTheGravestFirst(t *testing.T) {
	sites := tempFile(t, "s.csv", "id,name,lon,lat,connector,power_kw,stalls,hours\na,Seaford,12.8,50.0414,CCS2,150,1,when the owner is in\n")
	code, out, errOut := ampleway(t, "", "trip", "--route", refusalRoad(t), "--stations", sites, "--car", "mid-size-sedan")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	head, rest, _ := strings.Cut(out, "\n\n")
	sentence, list, _ := strings.Cut(head, "\n! ")
	if !strings.HasPrefix(sentence, "Arrive with ") || strings.Count(sentence, ".") != 1 {
		t.Errorf("not one sentence: %s", sentence)
	}
	first := strings.Split(list, "\n! ")
	for i, want := range []string{"could not be read; check them", "the detour is an estimate", "no elevations"} {
		if i >= len(first) || !strings.Contains(oneLine(first[i]), want) {
			t.Errorf("warning %d is not about %q:\n%s", i+1, want, head)
		}
	}
	_, more, _ := strings.Cut(rest, "Look at this as well\n")
	more, _, _ = strings.Cut(more, "\n\n")
	if len(first) != 3 || !strings.Contains(oneLine(more), "price is not known") || !strings.Contains(oneLine(more), "only one bay fits your car") {
		t.Errorf("%d warnings first; then\n%s", len(first), more)
	}
}

package main

import (
	"slices"
	"strings"
	"testing"
)

// wishStations are along refusalRoad: enough for a small car, and some that it
// cannot use or that stand off the road.
const wishStations = refusalColumns +
	"a,Alder,11.4,50.001,North,CCS2,dc,150,4,,,\n" +
	"b,Birch,12.8,50.001,North,CCS2,dc,150,4,,,\n" +
	"c,Cedar,14.2,50.001,South,CCS2,dc,150,4,,,\n" +
	"i,Inlet,12.8,50.002,South,CCS1,dc,150,4,,,\n" +
	"w,Weak,12.81,50.001,South,CCS2,dc,50,4,,,\n" +
	"k,Closed,12.82,50.001,South,CCS2,dc,150,4,,closed,\n" +
	"g,Guests,12.83,50.001,South,CCS2,dc,150,4,customers,,\n" +
	"o,Off,12.8,50.054,South,CCS2,dc,150,4,,,\n" +
	"f,Far,12.8,53,South,CCS2,dc,150,4,,,\n"

// A stop that is asked for is made, or the refusal says why it cannot be, and
// what it says would help does.
func TestAStopAskedForIsMadeOrRefused(t *testing.T) {
	sites := tempFile(t, "s.csv", wishStations)
	road := refusalRoad(t)
	for _, c := range []struct {
		id, says, remedy string
		args             []string
	}{
		{id: "i", says: "Inlet (i) cannot be made: no plug that fits (it has CCS1).", remedy: "--must"},
		{id: "k", says: "Closed (k) cannot be made: closed or out of order.", remedy: "--must"},
		{id: "g", says: "Guests (g) cannot be made: not open to the public.", remedy: "--customer-sites"},
		{id: "w", says: "Weak (w) cannot be made: too little power.", remedy: "--least-power", args: []string{"--least-power", "100"}},
		{id: "c", says: "Cedar (c) cannot be made: another operator or network.", remedy: "--only", args: []string{"--only", "North"}},
		{id: "b", says: "Birch (b) cannot be made: operator or site to avoid.", remedy: "--avoid", args: []string{"--avoid", "b"}},
		{id: "o", says: "Off (o) cannot be made: it is 6.0 km off the road, and only stations within 5.0 km of it are used.", remedy: "--half-width 7"},
		{id: "f", says: "Far (f) cannot be made: it is more than 200 km off the road.", remedy: "--must"},
	} {
		t.Run(c.id, func(t *testing.T) {
			args := append([]string{"trip", "--route", road, "--stations", sites, "--car", "mid-size-sedan", "--must", c.id}, c.args...)
			code, out, refusal := ampleway(t, "", args...)
			if code != exitNoPlan || out != "" || !strings.Contains(oneLine(refusal), "This trip cannot be planned: the stop asked for at "+c.says) {
				t.Fatalf("exit %d\n%s%s", code, out, refusal)
			}
			remedies := remediesOf(refusal)
			i := slices.IndexFunc(remedies, func(r string) bool { return strings.Contains(r, c.remedy) })
			if i < 0 {
				t.Fatalf("no remedy with %q:\n%s", c.remedy, refusal)
			}
			if code, _, errOut := ampleway(t, "", withRemedy(t, args, remedies[i])...); code != exitOK {
				t.Errorf("%q gives no plan: exit %d\n%s", remedies[i], code, errOut)
			}
		})
	}
	args := []string{"trip", "--route", road, "--stations", sites, "--car", "mid-size-sedan"}
	if code, out, errOut := ampleway(t, "", append(args, "--must", "c")...); code != exitOK || !strings.Contains(out, "Cedar") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
	for _, more := range [][]string{nil, {"--back"}, {"--temp", "0,10"}} {
		code, out, errOut := ampleway(t, "", append(append(args, "--must", "zz"), more...)...)
		if code != exitUsage || out != "" || !strings.Contains(errOut, "--must: found zz: expected the ID of a station: the station files have none with this ID") {
			t.Errorf("%v: exit %d\n%s%s", more, code, out, errOut)
		}
	}
}

// A station that may be closed when the car comes by is no stop to ask for.
func TestAStopAskedForThatMayBeClosed(t *testing.T) {
	sites := tempFile(t, "s.csv", "id,name,lon,lat,connector,power_kw,stalls,hours,zone\n"+
		"a,Alder,11.4,50.001,CCS2,150,4,24/7,\nb,Birch,12.8,50.001,CCS2,150,4,Mo-Su 06:00-08:00,Etc/UTC\nc,Cedar,14.2,50.001,CCS2,150,4,24/7,\n")
	code, out, refusal := ampleway(t, "", "trip", "--route", refusalRoad(t), "--stations", sites, "--car", "mid-size-sedan", "--depart", "2026-11-27T12:00Z", "--must", "b")
	if code != exitNoPlan || !strings.Contains(oneLine(refusal), "Birch (b) cannot be made: it may be closed when you come by (open Mo-Su 06:00-08:00). What would make it possible, each alone: plan without that stop (without --must).") {
		t.Errorf("exit %d\n%s%s", code, out, refusal)
	}
}

// Words that fit no station are told of: above the plan, or before the reason
// why there is none.
func TestWordsThatFitNoStation(t *testing.T) {
	args := []string{"trip", "--route", refusalRoad(t), "--stations", tempFile(t, "s.csv", wishStations), "--car", "mid-size-sedan"}
	const avoid = `No station along this road has the operator, network or ID "Nort": --avoid leaves out nothing by it.`
	const only = `No station along this road has the operator or network "Nort" that --only asks for.`
	for _, c := range []struct {
		args []string
		code int
		says string
		not  string
	}{
		{[]string{"--avoid", "Nort"}, exitOK, avoid, ""},
		{[]string{"--avoid", "south"}, exitOK, "", avoid},
		{[]string{"--only", "North", "--only", "Nort"}, exitOK, only, `"North"`},
		{[]string{"--only", "Nort"}, exitNoPlan, only + " This trip cannot be planned", ""},
	} {
		code, out, errOut := ampleway(t, "", append(args, c.args...)...)
		said := oneLine(out + errOut)
		if code != c.code || !strings.Contains(said, c.says) || c.not != "" && strings.Contains(said, c.not) {
			t.Errorf("%v: exit %d\n%s%s", c.args, code, out, errOut)
		}
	}
}

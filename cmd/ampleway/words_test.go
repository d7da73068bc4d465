package main

import (
	"regexp"
	"strings"
	"testing"
)

// oddWords stumble where a native practitioner reads them.
var oddWords = regexp.MustCompile(`(?i)\bstalls?\b|\banew\b|\btoo thin\b|\bthere with \d|\bleft alike\b|\bpuddly\b`)

// What people read has the trade's words. Keys of files and options stay.
func TestPlainWords(t *testing.T) {
	sites := tempFile(t, "sites.csv", "id,name,lon,lat,connector,power_kw,stalls\na,Seaford,-152.4,41.46,CCS2,150,4\n")
	for _, args := range [][]string{
		{"trip"},
		{"trip", "--surface", "puddly"},
		{"trip", "--surface", "puddly", "--format", "html"},
		{"trip", "--confidence", "0", "--temp", "-15"},
		{"trip", "--back", "--stay", "6h level2:40"},
		{"trip", "--back", "--stay", "6h level2:40", "--format", "html"},
		{"stations", "check", sites},
		{"stations", "near", "--route", tempFile(t, "road.geojson", `{"type":"LineString","coordinates":[[-152.9,41.4],[-152.4,41.46]]}`), "--stations", sites, "--all"},
	} {
		code, out, errOut := ampleway(t, "", args...)
		if code != exitOK {
			t.Errorf("%v: exit code %d: %s", args, code, errOut)
		}
		said := strings.Join(strings.Fields(out+errOut), " ")
		for _, word := range oddWords.FindAllStringIndex(said, 3) {
			t.Errorf("%v says …%s…", args, said[max(0, word[0]-60):min(len(said), word[1]+40)])
		}
	}
	if _, out, _ := ampleway(t, "", "trip", "--surface", "puddly"); !strings.Contains(strings.Join(strings.Fields(out), " "), "road under standing water") {
		t.Error("standing water is not told as such")
	}
}

package main

import (
	"regexp"
	"strings"
	"testing"

	"ampleway/testdata"
)

// oddWords stumble where a native practitioner reads them.
var oddWords = regexp.MustCompile(`(?i)\bstalls?\b|\banew\b|\btoo thin\b|\bthere with \d|\bleft alike\b|\bpuddly\b`)

// otherRoom are words for headroom besides its own.
var otherRoom = regexp.MustCompile(`(?i)to spare|\bthinnest\b|\btightest\b|\broom to\b`)

// What people read has the trade's words. Keys of files and options stay.
func TestPlainWords(t *testing.T) {
	testdata.Sequential(t)
	sites := tempFile(t, "sites.csv", "id,name,lon,lat,connector,power_kw,stalls\na,Seaford,-152.4,41.46,CCS2,150,4\n")
	for _, args := range [][]string{
		{"trip"},
		{"trip", "--surface", "standing-water"},
		{"trip", "--surface", "standing-water", "--format", "html"},
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
	if _, out, _ := ampleway(t, "", "trip", "--surface", "standing-water"); !strings.Contains(strings.Join(strings.Fields(out), " "), "road under standing water") {
		t.Error("standing water is not told as such")
	}
}

// What is left before the reserve, and before the battery is empty, has one
// name each, on the text, the sheet and the page.
func TestOneNameForHeadroom(t *testing.T) {
	base, stop := serving(t)
	_, page := fetch(t, base+"/")
	stop()
	_, text, _ := ampleway(t, "", "trip")
	_, sheet, _ := ampleway(t, "", "trip", "--format", "html")
	for name, c := range map[string]struct{ out, headroom, toEmpty string }{
		"text":  {text, "Headroom: ", " To empty: "},
		"page":  {page, `<th scope="col">Headroom</th>`, `<th scope="col">To empty</th>`},
		"sheet": {sheet, "“To empty”: ", " % to empty</text>"},
	} {
		said := strings.Join(strings.Fields(c.out), " ")
		if !strings.Contains(said, c.headroom) || !strings.Contains(said, c.toEmpty) {
			t.Errorf("the %s does not say %q and %q", name, c.headroom, c.toEmpty)
		}
		if odd := otherRoom.FindString(said); odd != "" {
			t.Errorf("the %s says %q", name, odd)
		}
	}
}

// What is wrong with an option is said under its name on the command line, in
// words of people, and an option without effect is refused.
func TestFaultsNameTheOption(t *testing.T) {
	noText := tempFile(t, "car.yaml", "name: \xff\xfe\x00\n")
	for says, args := range map[string][]string{
		"--hour-worth: found 0: expected what an hour is worth":           {"--best", "balance"},
		"--depart: found tomorrow: expected an ISO 8601 time":             {"--depart", "tomorrow"},
		"--meal: found 12:00: expected a time of day":                     {"--meal", "12:00"},
		"--power-between: found 9-1: expected a range of kW":              {"--power-between", "9-1"},
		`"32 mpg 3.40 USD" (US gallons)`:                                  {"--fuel-car", "6.8"},
		"--stay: found 1: expected 0, one after each drive":               {"--stay", "6h"},
		"--back-temp: expected --back with it":                            {"--back-temp", "3"},
		"--back-wind-from: expected --back with it":                       {"--back-wind-from", "NW"},
		"car.yaml: found bytes that are no text in UTF-8: expected a car": {"--car", noText},
	} {
		code, out, errOut := ampleway(t, "", append([]string{"trip"}, args...)...)
		if code != exitUsage || out != "" || !strings.Contains(errOut, says) || strings.Count(errOut, "\n") != 1 {
			t.Errorf("%v: exit %d, %s", args, code, errOut)
		}
	}
	if code, _, errOut := ampleway(t, "", "trip", "--connector", "CSS2"); code != exitNoPlan || !strings.Contains(plain(errOut), `No station along this road has the connector "CSS2" that --connector asks for.`) {
		t.Errorf("exit %d, %s", code, errOut)
	}
}

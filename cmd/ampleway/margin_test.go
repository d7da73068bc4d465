package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ampleway/data/cars"
	"ampleway/testdata"
)

// carMadeFrom is a file of the demo's car that says what it was made from.
func carMadeFrom(t *testing.T, lines string) string {
	t.Helper()
	_, text, _ := cars.File("mid-size-sedan")
	path := filepath.Join(t.TempDir(), "car.yaml")
	if err := os.WriteFile(path, []byte(strings.Replace(string(text), "made_from: class\n", lines, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// probability is any word or key that promises how often a plan holds.
var probability = regexp.MustCompile(`(?i)95 %|% sure|simulated[ _](trips|visits)|nine (in|of) ten|confidence|below_reserve|_std_error|in_time_pct|of 100`)

// A car for which no probability is supported has a margin and the word that
// how often it suffices is not known, in every form that says anything of it.
func TestNoProbabilityWhereNoneIsKnown(t *testing.T) {
	testdata.Sequential(t)
	for i, c := range []struct{ lines, why string }{
		{"", "whose file does not say what it was made from"},
		{"spread: {trip_pct: 8, leg_pct: 4}\n", "whose file does not say what it was made from"},
		{"made_from: tables\n", "made from government tables"},
		{"made_from: log\nspread: {trip_pct: 5, leg_pct: 2}\n", "fitted to a log"},
	} {
		car := carMadeFrom(t, c.lines)
		for _, more := range [][]string{nil, {"--confidence", "0"}, {"--arrive-by", "2026-12-24T18:00"}, {"--back", "--stay", "5h level2:40"}, {"--temp", "0,20"}} {
			for _, form := range []string{"text", "json", "geojson", "gpx", "csv", "html"} {
				if more != nil && (i > 0 || form != "text" && form != "json") {
					continue
				}
				code, out, errOut := ampleway(t, "", append([]string{"trip", "--car", car, "--format", form}, more...)...)
				if code != exitOK {
					t.Fatalf("%q %v %s: exit %d, %s", c.lines, more, form, code, errOut)
				}
				text := strings.Join(strings.Fields(out), " ")
				if promise := probability.FindString(text); promise != "" {
					t.Errorf("%q %v %s: promises %q", c.lines, more, form, promise)
				}
				says := form == "text" || form == "json" || form == "html"
				if says && (more == nil || more[0] != "--temp") && !strings.Contains(text, "ow often that suffices is not known for this car, "+c.why) {
					t.Errorf("%q %v %s: no word of what is not known", c.lines, more, form)
				}
			}
		}
		code, _, refused := ampleway(t, "", "trip", "--car", car, "--least-power", "1000")
		refused = strings.Join(strings.Fields(refused), " ")
		if code != exitNoPlan || !strings.Contains(refused, "and a margin of") || strings.Contains(refused, "at a confidence") {
			t.Errorf("%q: exit %d, %s", c.lines, code, refused)
		}
	}
}

// A class, a label and an owner's spread are said with what they rest on.
func TestProbabilitySaysWhatItRestsOn(t *testing.T) {
	margins := map[string]float64{}
	for _, c := range []struct{ lines, from, basis string }{
		{"made_from: class\n", "class", "by how far cars of the US test list lie from the class nearest to them"},
		{"made_from: label\n", "label", "by how far cars of the US test list lie from their label"},
		{"spread: {trip_pct: 6, leg_pct: 4}\n", "not said", "by the spread in the car file"},
	} {
		car := carMadeFrom(t, c.lines)
		_, text, _ := ampleway(t, "", "trip", "--car", car)
		text = strings.Join(strings.Fields(text), " ")
		if !strings.Contains(text, "every reserve holds with a probability of 95 %, judged "+c.basis+": sized for") || !strings.Contains(text, "± is the error of the simulation only") {
			t.Errorf("%q: %s", c.lines, text)
		}
		_, out, _ := ampleway(t, "", "trip", "--car", car, "--format", "json")
		var d struct {
			Risk struct {
				MadeFrom         string   `json:"made_from"`
				Basis            string   `json:"probability_basis"`
				ConfidencePct    *float64 `json:"confidence_pct"`
				PlannedExcessPct float64  `json:"planned_excess_pct"`
			} `json:"risk"`
		}
		if err := json.Unmarshal([]byte(out), &d); err != nil {
			t.Fatal(err)
		}
		if r := d.Risk; r.MadeFrom != c.from || r.Basis != c.basis || r.ConfidencePct == nil || *r.ConfidencePct != 95 {
			t.Errorf("%q: %+v", c.lines, d.Risk)
		}
		margins[c.from] = d.Risk.PlannedExcessPct
	}
	if !(margins["class"] >= 39 && margins["label"] >= 27 && margins["class"] > margins["label"] && margins["label"] > margins["not said"]) {
		t.Errorf("margins %v", margins)
	}
}

package study_test

import (
	"context"
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/route/question"
	"ampleway/route/study"
)

const oneRoad = "format: ampleway-study-2\ncorridors: [demo:upland]\nstations: [demo]\ncars: [mid-size-sedan]\nskip_worst_outage: true\n"

// extremes are two values of a row, at the ends of its range.
func extremes(r question.Row) [2]string {
	switch {
	case len(r.Choices) > 0:
		return [2]string{strconv.Quote(r.Choices[0].Value), strconv.Quote(r.Choices[len(r.Choices)-1].Value)}
	case r.Kind() == reflect.Bool:
		return [2]string{"true", "false"}
	}
	text := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return [2]string{text(r.Min), text(r.Max)}
}

// Every row of the question is an axis under its key, with its range, or is
// refused and has a reason.
func TestEveryRowIsAnAxisOrSaysWhyNot(t *testing.T) {
	axes := 0
	for _, r := range question.Rows() {
		two := extremes(r)
		_, err := study.Parse([]byte(oneRoad+r.Key+": ["+two[0]+", "+two[1]+"]\n"), "s.yaml", "")
		var bad *fault.Input
		if why := study.WhyNoAxis(r); why != "" {
			if !errors.As(err, &bad) || bad.Field != r.Key {
				t.Errorf("%s (%s): %v", r.Key, why, err)
			}
			continue
		}
		axes++
		if err != nil {
			t.Errorf("%s: %v", r.Key, err)
		}
		if r.Kind() != reflect.Float64 && r.Kind() != reflect.Int {
			continue
		}
		for _, text := range []string{"[" + two[0] + ", 1e9]", "{from: " + two[0] + ", to: 1e9, step: 1e8}"} {
			if _, err = study.Parse([]byte(oneRoad+r.Key+": "+text+"\n"), "s.yaml", ""); !errors.As(err, &bad) || bad.Field != r.Key {
				t.Errorf("%s: %s: %v", r.Key, text, err)
			}
		}
	}
	if axes < 25 {
		t.Errorf("only %d rows can be an axis", axes)
	}
}

// An axis changes what it is about, and stands in the results: a heavier car
// on a wet road takes more.
func TestAnAxisOfTheTable(t *testing.T) {
	s, err := study.Parse([]byte(oneRoad+"payload_kg: [0, 400]\nspeed_cap_kmh: [null, 60]\nwinter_tyres: [no, yes]\nreserve_pct: 10\n"), "s.yaml", "")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := study.Run(context.Background(), s, study.Options{Folder: folder, CSV: true}); err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(filepath.Join(folder, study.CSVFile))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) != 9 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	arrive := map[string]float64{}
	for _, row := range rows[1:] {
		key := row[column["asked"]] + " at " + row[column["speed_cap_kmh"]]
		if arrive[key], err = strconv.ParseFloat(row[column["highest_reserve_pct"]], 64); err != nil {
			t.Fatal(err)
		}
	}
	for _, less := range [][2]string{
		{"payload_kg=400;winter_tyres=false at 0", "payload_kg=0;winter_tyres=false at 0"},
		{"payload_kg=0;winter_tyres=true at 0", "payload_kg=0;winter_tyres=false at 0"},
		{"payload_kg=0;winter_tyres=false at 0", "payload_kg=0;winter_tyres=false at 60"},
	} {
		a, ok := arrive[less[0]]
		b, also := arrive[less[1]]
		if !ok || !also || !(a < b) {
			t.Errorf("highest reserve %s: %.2f, %s: %.2f of %v", less[0], a, less[1], b, arrive)
		}
	}
}

// What is wrong with an axis is told by its key.
func TestAxisFaults(t *testing.T) {
	for text, says := range map[string]string{
		"temps_c: [0]":                               "expected a known key of a study",
		"temp_c: [0, cold]":                          "temp_c: found cold: expected a number",
		"temp_c: [null]":                             "temp_c: found nothing: expected a value",
		"temp_c: {from: 0, to: 10}":                  "expected a step above 0",
		"temp_c: {from: 0, to: 10, by: 1}":           "by",
		"surface: {from: 0, to: 1, step: 1}":         "surface: found from 0 to 1 in steps of 1: expected a list of values",
		"surface: [dry, sandy]":                      "surface: found sandy: expected dry, wet",
		"most_stops: [1.5]":                          "most_stops: found 1.5: expected a whole number",
		"reserve_pct: [0.05, 0.1]":                   "Write 10 for 10 %",
		"cases: [{temp_c: 0}, {payload_kg: [9999]}]": "cases, entry 2, payload_kg: found 9999",
		"cases: [{half_width_km: 3}]":                "half_width_km",
	} {
		_, err := study.Parse([]byte(oneRoad+text+"\n"), "s.yaml", "")
		if err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), "s.yaml") {
			t.Errorf("%s: %v, want %q", text, err, says)
		}
	}
	if _, err := study.Parse([]byte(oneRoad+"reserve_pct: [0.5, 1, 5]\n"), "s.yaml", ""); err != nil {
		t.Errorf("half a percent among others: %v", err)
	}
}

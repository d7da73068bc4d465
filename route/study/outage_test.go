package study_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/route/study"
	"ampleway/route/trip"
)

// sitesOf are the stations that a car can use on each corridor, by the way one
// trip is planned.
func sitesOf(t *testing.T, d *drives, corridor, carName string) []string {
	drive, _ := d.of(t, &study.Row{Corridor: corridor, Car: carName, DepartSoCPct: 100})
	var ids []string
	for i := range drive.Chargers {
		if id := drive.Chargers[i].Site.ID; !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

// Random outages are sites that the car can use on the corridor, as many as
// asked for, each set once; every day and every car of the same plug meets the
// same ones. What is asked for beyond the sets that there are is not made up.
func TestRandomOutagesServeTheCorridor(t *testing.T) {
	d := &drives{demoIndex(t), map[study.Row]*trip.Drive{}}
	const head = "format: ampleway-study-2\ncorridors: [demo:north, demo:upland]\nstations: [demo]\ncars: [small-hatch, crossover]\ntemp_c: [20, -10]\nreserve_pct: [10]\nskip_worst_outage: true\n"
	for _, c := range []struct {
		outages string
		sets    func(sites int) (least, most int) // different ones, without the case of none
	}{
		// Of 12 pairs out of 78 or more, two may be drawn twice.
		{"{none: true, random: {down: 2, sets: 12}}", func(int) (int, int) { return 10, 12 }},
		{"{none: true, each: true, random: {down: 1, sets: 500}}", func(sites int) (int, int) { return sites, sites }},
		{"{none: true, random: {down: 1000, sets: 7}}", func(int) (int, int) { return 1, 1 }},
	} {
		met := map[string][]string{}
		for _, r := range rowsOf(t, head+"outages: "+c.outages+"\n") {
			key := fmt.Sprint(r.Corridor, r.Car, r.TempC)
			if slices.Contains(met[key], r.Outage) {
				t.Errorf("%s: outage %q is counted twice", key, r.Outage)
			}
			met[key] = append(met[key], r.Outage)
			sites := sitesOf(t, d, r.Corridor, r.Car)
			for _, id := range splitIDs(r.Outage) {
				if !slices.Contains(sites, id) {
					t.Errorf("%s: %s is out, which does not serve the corridor", key, id)
				}
			}
			if n := len(splitIDs(r.Outage)); strings.Contains(c.outages, "down: 2,") && n != 0 && n != 2 {
				t.Errorf("%s: %d are out", key, n)
			}
		}
		if len(met) != 8 {
			t.Fatalf("%d days", len(met))
		}
		for key, outages := range met {
			corridor, carName := "north", "small-hatch"
			if strings.HasPrefix(key, "upland") {
				corridor = "upland"
			}
			if least, most := c.sets(len(sitesOf(t, d, corridor, carName))); len(outages) < 1+least || len(outages) > 1+most {
				t.Errorf("%s, %s: %d cases, not %d to %d", c.outages, key, len(outages), 1+least, 1+most)
			}
			if first := met[fmt.Sprint(corridor, carName, 20.0)]; !slices.Equal(outages, first) {
				t.Errorf("%s: %v are out, on the first day %v", key, outages, first)
			}
		}
	}
}

// An outage is drawn for a site by itself: with a station more on the road the
// sets that it is not in stay as they were.
func TestOutagesStayWhenAStationIsAdded(t *testing.T) {
	const text = "format: ampleway-study-2\ncorridors: [demo:north]\nstations: [demo]\ncars: [small-hatch]\nskip_worst_outage: true\noutages: {random: {down: 2, sets: 40}}\n"
	with, without := map[string]bool{}, map[string]bool{}
	for _, r := range rowsOf(t, text) {
		with[r.Outage] = true
	}
	for _, r := range rowsOf(t, text+"request: {avoid: [ORR078]}\n") {
		without[r.Outage] = true
	}
	for outage := range with {
		if !strings.Contains(outage, "ORR078") && !without[outage] {
			t.Errorf("%s is drawn only where ORR078 stands", outage)
		}
	}
	if len(with) < 20 {
		t.Errorf("only %d sets", len(with))
	}
}

// A road that the station files know nothing about is not what fails first: it
// has no data, is listed last and counts in no share.
func TestNoStationIsNoData(t *testing.T) {
	const far = "between:\n- {name: elsewhere, from: [10, 50], to: [16, 50], speed_kmh: 100}\n"
	const text = "format: ampleway-study-2\ncorridors: [demo:north]\n" + far + "stations: [demo]\ncars: [small-hatch]\ntemp_c: [-10]\noutages: {none: true, each: true, random: {down: 2, sets: 5}}\nreserve_pct: [20]\nbuild: {every_km: 100, power_kw: [150]}\n"
	folder := t.TempDir()
	summary, err := study.Run(context.Background(), parse(t, text), study.Options{Folder: folder})
	if err != nil {
		t.Fatal(err)
	}
	ranked := summary.Ranked()
	if ranked[0].Name != "north" || ranked[1].Name != "elsewhere" || !ranked[1].NoData || ranked[1].Stations != 0 || ranked[1].Cases != 1 {
		t.Fatalf("%+v", ranked[1])
	}
	feasible, cases, corridors := summary.Judged()
	if corridors != 1 || cases != ranked[0].Cases || feasible != ranked[0].Feasible || summary.Cases != cases+1 || summary.Heat[0].Cases != 1 {
		t.Errorf("%d of %d cases on %d corridors", feasible, cases, corridors)
	}
	text2, err := os.ReadFile(filepath.Join(folder, study.TextFile))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"  1  north", "no data", "No data for 1 corridor (1 case)", "Where it fails is not known"} {
		if !strings.Contains(string(text2), want) {
			t.Errorf("no %q in:\n%s", want, text2)
		}
	}
}

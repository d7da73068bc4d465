package study_test

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/route/study"
)

// A study compared with itself shows no change; with a station less nothing
// becomes possible, quicker or safer.
func TestCompare(t *testing.T) {
	folder := t.TempDir()
	run := func(name, text string) string {
		at := filepath.Join(folder, name)
		if _, err := study.Run(context.Background(), parse(t, text), study.Options{Folder: at}); err != nil {
			t.Fatal(err)
		}
		return at
	}
	const base = "format: ampleway-study-2\ncorridors: [demo:north, demo:upland]\nstations: [demo]\ncars: [small-hatch]\ntemp_c: [0, -10]\nconfidence_pct: [0]\nreserve_pct: [5, 15, 25]\n"
	a := run("a", base)
	self, err := study.Compare(a, a)
	if err == nil && self.Format != study.ComparisonFormat {
		t.Errorf("the comparison is of the form %q", self.Format)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range self.Corridors {
		if c.Both == 0 || c.MeanReserve == nil {
			t.Fatalf("against itself nothing is compared: %+v", c)
		}
		if c.Cases != 6 || c.Gained+c.Lost+c.OnlyA+c.OnlyB != 0 || *c.MeanMin != 0 || *c.MostMin != 0 || *c.MeanReserve != 0 || c.Reserves != 2 {
			t.Errorf("against itself: %+v", c)
		}
	}
	less, err := study.Compare(a, run("b", base+"request: {avoid: [ORR078]}\n"))
	if err != nil {
		t.Fatal(err)
	}
	north := less.Corridors[0]
	if north.Gained != 0 || north.Both > 0 && *north.MostMin < -1e-6 || north.Reserves > 0 && *north.MeanReserve > 1e-9 || north.Lost == 0 && *north.MostMin == 0 {
		t.Errorf("without a station: %+v", north)
	}
	other, err := study.Compare(a, run("c", strings.Replace(base, "demo:north, ", "", 1)))
	if err != nil {
		t.Fatal(err)
	}
	if len(other.Corridors) != 1 || len(other.OnlyA) != 1 || other.OnlyA[0] != "north" {
		t.Errorf("with a corridor less: %+v", other)
	}
}

// What is only in one of two results is named and in no average: with other
// reserves, another day and a car less the mean is that of the cases in both,
// each highest reserve counted once, however many reserves it stands beside.
func TestCompareLikeWithLike(t *testing.T) {
	folder := t.TempDir()
	run := func(name, text string) string {
		at := filepath.Join(folder, name)
		if _, err := study.Run(context.Background(), parse(t, "format: ampleway-study-2\ncorridors: [demo:upland]\nstations: [demo]\n"+text), study.Options{Folder: at}); err != nil {
			t.Fatal(err)
		}
		return at
	}
	a := run("a", "cars: [small-hatch, van]\ntemp_c: [0, -10]\nreserve_pct: [5, 15, 15, 25]\n")
	b := run("b", "cars: [small-hatch]\ntemp_c: [-10, 20]\nreserve_pct: [15, 25, 35]\nrequest: {payload_kg: 300}\n")
	compared, err := study.Compare(a, b)
	if err != nil {
		t.Fatal(err)
	}
	c := compared.Corridors[0]
	if c.Cases != 2 || c.OnlyA != 10 || c.OnlyB != 4 || c.Reserves != 1 || c.OtherRoad {
		t.Fatalf("%+v", c)
	}
	var minutes, points float64
	inA := map[float64]study.Row{}
	for _, r := range readAll(t, a) {
		if r.Car == "small-hatch" && r.TempC == -10 {
			inA[r.ReservePct] = r
		}
	}
	n := 0
	for _, r := range readAll(t, b) {
		if before, ok := inA[r.ReservePct]; ok && r.TempC == -10 {
			minutes += *r.TimeMin - *before.TimeMin
			points = *r.HighestPct - *before.HighestPct
			n++
		}
	}
	if n != 2 || math.Abs(*c.MeanMin-minutes/2) > 1e-9 || math.Abs(*c.MeanReserve-points) > 1e-9 || points >= 0 {
		t.Errorf("mean %g min, %g points; by hand %g, %g over %d cases", *c.MeanMin, *c.MeanReserve, minutes/2, points, n)
	}
	var text strings.Builder
	if err := compared.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"differs between them: study", "10 cases are only in the first: car van, reserve_pct 5, temp_c 0", "4 cases are only in the second: reserve_pct 35, temp_c 20"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("no %q in:\n%s", want, text.String())
		}
	}
	none, err := study.Compare(a, run("c", "cars: [small-hatch]\ntemp_c: [0, -10]\nwind_from_deg: -1\nreserve_pct: [5, 15, 25]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if c := none.Corridors[0]; c.Cases != 0 || c.MeanMin != nil || c.MeanReserve != nil {
		t.Errorf("with no case in both: %+v", c)
	}
	if c := none.Corridors[0]; !slices.Equal(c.OnlyAValues, []string{"car van", "wind_from_deg null"}) || !slices.Equal(c.OnlyBValues, []string{"wind_from_deg -1"}) {
		t.Errorf("a wind from -1° is not head wind: %q, %q", c.OnlyAValues, c.OnlyBValues)
	}
}

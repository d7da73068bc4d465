package study_test

import (
	"context"
	"path/filepath"
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
	const base = "format: ampleway-study-1\ncorridors: [demo:north, demo:upland]\nstations: [demo]\ncars: [small-hatch]\ntemps_c: [0, -10]\nreserves_pct: [5, 15, 25]\n"
	a := run("a", base)
	self, err := study.Compare(a, a)
	if err == nil && self.Format != study.ComparisonFormat {
		t.Errorf("the comparison is of the form %q", self.Format)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range self.Corridors {
		if c.Cases != 6 || c.Gained+c.Lost+c.OnlyA+c.OnlyB != 0 || c.MeanMin != 0 || c.MostMin != 0 || c.MeanReserve != 0 {
			t.Errorf("against itself: %+v", c)
		}
	}
	less, err := study.Compare(a, run("b", base+"request: {avoid: [ORR078]}\n"))
	if err != nil {
		t.Fatal(err)
	}
	north := less.Corridors[0]
	if north.Gained != 0 || north.MostMin < -1e-6 || north.MeanReserve > 1e-9 || north.Lost == 0 && north.MostMin == 0 {
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

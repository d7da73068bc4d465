package taper_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy/taper"
)

// A SoC beyond 0..1 counts as the end it lies beyond, everywhere.
func TestBeyondTheEnds(t *testing.T) {
	f := must(t, taper.Curve{{SoC: 0, PowerKW: 100}, {SoC: 1, PowerKW: 50}}, 60)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"time to above 1", f.TimeS(0.2, 1.5), f.TimeS(0.2, 1)},
		{"time from below 0", f.TimeS(-0.5, 0.8), f.TimeS(0, 0.8)},
		{"after, from above 1", f.SoCAfter(1.5, 60), 1},
		{"after, from NaN", f.SoCAfter(math.NaN(), 60), f.SoCAfter(0, 60)},
		{"before, from above 1", f.SoCBefore(1.5, 60), f.SoCBefore(1, 60)},
		{"before, from below 0", f.SoCBefore(-1, 60), 0},
		{"after no time", f.SoCAfter(0.3, 0), 0.3},
		{"after less than no time", f.SoCAfter(0.3, -60), 0.3},
		{"before no time", f.SoCBefore(0.3, 0), 0.3},
		{"before less than no time", f.SoCBefore(0.3, -60), 0.3},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, not %v", c.name, c.got, c.want)
		}
	}
}

// Where there is no power, no time changes the SoC in either direction, and
// charging ends where the gap begins.
func TestAGapInThePower(t *testing.T) {
	f := must(t, taper.Curve{{0, 80}, {0.2, 60}, {0.4, 60}, {0.4, 0}, {0.6, 0}, {0.6, 50}, {1, 20}}, 60)
	hour := 3600.0
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"after, in the gap", f.SoCAfter(0.5, hour), 0.5},
		{"before, in the gap", f.SoCBefore(0.5, hour), 0.5},
		{"up to the gap", f.SoCAfter(0.1, 10*hour), 0.4},
		{"down to the gap", f.SoCBefore(0.9, 10*hour), 0.6},
		{"down to the bottom", f.SoCBefore(0.3, 10*hour), 0},
		{"back over two pieces", f.SoCBefore(0.35, f.TimeS(0.05, 0.35)), 0.05},
		{"on over two pieces", f.SoCAfter(0.05, f.TimeS(0.05, 0.35)), 0.35},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: %v, not %v", c.name, c.got, c.want)
		}
	}
}

// A point on the straight line of its neighbours goes, level or sloping; one
// off it stays, and so do both points of a step.
func TestSimplify(t *testing.T) {
	for _, c := range []struct {
		name string
		in   taper.Curve
		left int
	}{
		{"level", taper.Curve{{0, 100}, {0.5, 100}, {1, 100}}, 2},
		{"falling", taper.Curve{{0, 100}, {0.25, 85}, {0.5, 70}, {1, 40}}, 2},
		{"rising", taper.Curve{{0, 40}, {0.5, 70}, {1, 100}}, 2},
		{"bent", taper.Curve{{0, 100}, {0.5, 99}, {1, 40}}, 3},
		{"step", taper.Curve{{0, 100}, {0.5, 100}, {0.5, 60}, {1, 60}}, 4},
		{"doubled", taper.Curve{{0, 100}, {0.5, 90}, {0.5, 90}, {1, 10}}, 3},
		{"falling from 20 %", taper.Curve{{0.2, 100}, {0.5, 70}, {0.8, 40}}, 2},
		{"bent at 50 %", taper.Curve{{0.2, 100}, {0.5, 82}, {0.8, 40}}, 3}, // straight only from 0
		{"all but straight", taper.Curve{{0, 100}, {0.5, 50 + 1e-9}, {1, 0}}, 3},
	} {
		if out := c.in.Simplify(); len(out) != c.left {
			t.Errorf("%s: %v", c.name, out)
		}
	}
}

// The lower of two curves keeps a step at either end, where the power is the
// one above it as everywhere.
func TestMinKeepsStepsAtTheEnds(t *testing.T) {
	c := taper.Curve{{0, 10}, {0, 60}, {0.5, 60}, {1, 20}, {1, 5}}
	d := taper.Curve{{0, 80}, {1, 80}}
	for _, m := range []taper.Curve{c.Min(d), d.Min(c)} {
		for _, soc := range []float64{0, 0.25, 0.5, 0.75, 1} {
			if got, want := m.PowerKW(soc), c.PowerKW(soc); got != want {
				t.Errorf("at %v: %v kW, want %v", soc, got, want)
			}
		}
		if err := m.Validate(); err != nil {
			t.Error(err)
		}
	}
	rising := taper.Curve{{0, 1}, {1, 1}, {1, 1.5}}
	if got := rising.Min(rising).PowerKW(1); got != 1.5 {
		t.Errorf("a step up at 1: %v kW, want 1.5", got)
	}
}

// No time changes nothing, from either end of a charge, to the last bit; and a
// time that is no number counts as none.
func TestNoTimeChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, err := taper.New(drawCurve(t, 0), 60)
		if err != nil {
			return
		}
		soc := rapid.OneOf(rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, 1})).Draw(t, "soc")
		for _, seconds := range []float64{0, math.NaN(), -1} {
			if after, before := f.SoCAfter(soc, seconds), f.SoCBefore(soc, seconds); after != soc || before != soc {
				t.Fatalf("%v s around %v: %v after, %v before", seconds, soc, after, before)
			}
		}
	})
}

// Power that is all but level, where the formula is continued through a level
// line: the time is still E ln(p₁/p₀)/(p₁ − p₀), and goes there and back.
func TestAllButLevel(t *testing.T) {
	for _, rise := range []float64{1e-9, 1e-7, 1e-6, 9e-6, 2e-5, 1e-4, -1e-7, -9e-6, -2e-5} {
		f := must(t, taper.Curve{{0, 100}, {1, 100 * (1 + rise)}}, 60)
		want := 2160 * math.Log1p(rise) / rise
		if got := f.TimeS(0, 1); math.Abs(got/want-1) > 1e-14 {
			t.Errorf("rising by %v: %v s, want %v", rise, got, want)
		}
		for soc := 0.05; soc < 1; soc += 0.1 {
			if after := f.SoCAfter(0, f.TimeS(0, soc)); math.Abs(after-soc) > 1e-14 {
				t.Errorf("rising by %v: %v after the time to %v", rise, after, soc)
			}
			if before := f.SoCBefore(1, f.TimeS(soc, 1)); math.Abs(before-soc) > 1e-14 {
				t.Errorf("rising by %v: %v before the time from %v", rise, before, soc)
			}
		}
	}
}

// However long a charge takes, it ends at 1 and began at 0.
func TestTheEndsHold(t *testing.T) {
	for name, c := range map[string]taper.Curve{
		"level": {{0, 50}, {1, 50}}, "rising from nothing": {{0, 0}, {1, 50}}, "falling to nothing": {{0, 50}, {1, 0}}, "none": {{0, 0}, {1, 0}},
	} {
		f := must(t, c, 60)
		for _, seconds := range []float64{1, 1e9, math.Inf(1)} {
			if full, empty := f.SoCAfter(1, seconds), f.SoCBefore(0, seconds); full != 1 || empty != 0 {
				t.Errorf("%s, %v s: %v after 1, %v before 0", name, seconds, full, empty)
			}
		}
	}
}

// A curve has as many points as a small index can name, and no more.
func TestTooManyPoints(t *testing.T) {
	c := make(taper.Curve, 65534)
	for i := range c {
		c[i] = taper.Point{SoC: float64(i) / float64(len(c)-1), PowerKW: 50}
	}
	_, err := taper.New(c, 60)
	var e *taper.Error
	if !errors.As(err, &e) || e.Point != -1 || e.Error() != "taper: points: found 65534: expected at most 65533" {
		t.Errorf("%v", err)
	}
	f, err := taper.New(c[:65533], 60)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := f.TimeS(0, 1), 60*3600/50.0; math.Abs(got-want) > 1e-6 {
		t.Errorf("%v s over 65,533 points of 50 kW, want %v", got, want)
	}
}

package taper_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"ampleway/energy/taper"
)

func must(t testing.TB, c taper.Curve, capacityKWh float64) *taper.Func {
	t.Helper()
	f, err := taper.New(c, capacityKWh)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// stepped64 is a measured stepped curve of a 64 kWh car on a 175 kW station
// (electricrevs.com, 2018-07-30).
var stepped64 = taper.Curve{
	{0, 69}, {0.57, 69}, {0.57, 57}, {0.72, 57}, {0.72, 37}, {0.78, 37}, {0.78, 25}, {0.92, 25}, {0.92, 10}, {1, 10},
}

// dipped77 is a measured curve of a 77.4 kWh prototype with a deep dip at 63 %
// (aboutautonews).
var dipped77 = taper.Curve{
	{0, 233}, {0.46, 233}, {0.47, 186}, {0.58, 116}, {0.63, 30}, {0.66, 191}, {0.78, 62}, {0.82, 6}, {0.92, 50}, {0.98, 20}, {1, 20},
}

func TestChargeTimesOfPublishedCurves(t *testing.T) {
	// Transp. Res. B 103 (2017), the piecewise linear functions of the
	// benchmark: 16 kWh, breakpoints 13.6 / 15.2 / 16.0 kWh; hours from memory.
	benchmark := func(h1, h2, h3 float64) taper.Curve {
		p1, p2, p3 := 13.6/h1, 1.6/(h2-h1), 0.8/(h3-h2)
		return taper.Curve{{0, p1}, {0.85, p1}, {0.85, p2}, {0.95, p2}, {0.95, p3}, {1, p3}}
	}
	fast, normal, slow := benchmark(0.31, 0.39, 0.51), benchmark(0.62, 0.77, 1.01), benchmark(1.26, 1.54, 2.04)
	linear77 := taper.Curve{{0, 127}, {0.3, 127}, {0.5, 95}, {0.7, 65}, {0.8, 65}}
	tests := []struct {
		name             string
		curve            taper.Curve
		kWh, from, to    float64
		minutes, withinM float64
	}{
		// 64 kWh · (0.47/69 + 0.15/57 + 0.06/37 + 0.02/25) h, by hand 45.6 min.
		{"stepped 10-80 %", stepped64, 64, 0.10, 0.80, 60 * 64 * (0.47/69 + 0.15/57 + 0.06/37 + 0.02/25), 1e-9},
		{"stepped 10-80 % as printed", stepped64, 64, 0.10, 0.80, 45.6, 0.05},
		{"stepped behind 50 kW as printed", stepped64.Cap(50), 64, 0.10, 0.80, 56.9, 0.05},
		{"benchmark fast to 85 %", fast, 16, 0, 0.85, 60 * 0.31, 1e-9},
		{"benchmark fast to 95 %", fast, 16, 0, 0.95, 60 * 0.39, 1e-9},
		{"benchmark fast to 100 %", fast, 16, 0, 1, 60 * 0.51, 1e-9},
		{"benchmark normal 85-100 %", normal, 16, 0.85, 1, 60 * (1.01 - 0.62), 1e-9},
		{"benchmark slow to 100 %", slow, 16, 0, 1, 60 * 2.04, 1e-9},
		// By hand: 77.4·3600/233·0.36 + 77.4·3600·0.01/(233-186)·ln(233/186) s.
		{"dipped 10-47 %", dipped77, 77.4, 0.10, 0.47, 77.4 * 60 * (0.36/233 + 0.01/47*math.Log(233.0/186)), 1e-9},
		// Through the dip: 0.05·ln(116/30)/86 + 0.03·ln(191/30)/161 h per kWh.
		{"dipped 58-66 %", dipped77, 77.4, 0.58, 0.66, 77.4 * 60 * (0.05*math.Log(116.0/30)/86 + 0.03*math.Log(191.0/30)/161), 1e-9},
		// InsideEVs 494070: 2-70 % in 31 min, 2-80 % in 38, in whole minutes.
		{"linear 2-70 %", linear77, 77, 0.02, 0.70, 31, 1.5},
		{"linear 2-80 %", linear77, 77, 0.02, 0.80, 38, 1.5},
	}
	for _, tt := range tests {
		f := must(t, tt.curve, tt.kWh)
		got := f.TimeS(tt.from, tt.to) / 60
		if math.Abs(got-tt.minutes) > tt.withinM {
			t.Errorf("%s: %.4f min, want %.4f ± %g", tt.name, got, tt.minutes, tt.withinM)
		}
		if back := f.SoCAfter(tt.from, 60*got); math.Abs(back-tt.to) > 1e-12 {
			t.Errorf("%s: SoC after that time %.15f, want %.15f", tt.name, back, tt.to)
		}
		if back := f.SoCBefore(tt.to, 60*got); math.Abs(back-tt.from) > 1e-12 {
			t.Errorf("%s: SoC before that time %.15f, want %.15f", tt.name, back, tt.from)
		}
	}
}

func TestNoPowerIsOutOfReach(t *testing.T) {
	f := must(t, taper.Curve{{0, 0}, {0.1, 0}, {0.1, 50}, {0.8, 50}, {0.8, 0}, {0.9, 0}, {0.9, 20}, {1, 0}}, 60)
	inf := math.Inf(1)
	tests := []struct{ from, to, wantS float64 }{
		{0.05, 0.08, inf}, {0.05, 0.5, inf}, {0.1, 0.8, 3600 * 60 * 0.7 / 50}, {0.5, 0.81, inf}, {0.8, 0.85, inf}, {0.85, 0.95, inf},
		{0.9, 1, inf}, {0.9, 0.95, 3600 * 60 * 0.1 / 20 * math.Ln2}, {0.5, 0.5, 0}, {0.6, 0.5, 0}, {-1, 0, 0}, {1, 2, 0},
	}
	for _, tt := range tests {
		if got := f.TimeS(tt.from, tt.to); got != tt.wantS && !(math.Abs(got-tt.wantS) < 1e-6) {
			t.Errorf("TimeS(%g, %g) = %g, want %g", tt.from, tt.to, got, tt.wantS)
		}
	}
	for soc, want := range map[float64]int{0.05: 0, 0.1: 1, 0.5: 1, 0.8: 2, 0.85: 2, 0.9: 3, 1: 3} {
		if _, got := f.StartS(soc); got != want || f.Stretches() != 4 {
			t.Errorf("StartS(%g) is on stretch %d of %d, want %d of 4", soc, got, f.Stretches(), want)
		}
	}
	for from, want := range map[float64]float64{0.05: 0.05, 0.1: 0.8, 0.3: 0.8, 0.8: 0.8, 0.85: 0.85, 0.9: 1, 1: 1} {
		if got := f.ReachSoC(from); got != want {
			t.Errorf("ReachSoC(%g) = %g, want %g", from, got, want)
		}
	}
}

func TestValidateNamesTheFault(t *testing.T) {
	tests := []struct {
		curve taper.Curve
		kWh   float64
		point int
		text  string
	}{
		{nil, 60, -1, "points: found none"},
		{taper.Curve{{0, 50}, {1.2, 50}}, 60, 1, "SoC: found 1.2"},
		{taper.Curve{{0, 50}, {math.NaN(), 50}}, 60, 1, "SoC: found NaN"},
		{taper.Curve{{0, 50}, {0.5, -1}}, 60, 1, "PowerKW: found -1"},
		{taper.Curve{{0, math.Inf(1)}}, 60, 0, "point 0, PowerKW: found +Inf"},
		{taper.Curve{{0.5, 50}, {0.4, 50}}, 60, 1, "no less than 0.5"},
		{taper.Curve{{0.5, 50}, {0.5, 40}, {0.5, 30}}, 60, 2, "at most two points"},
		{taper.Flat(50), 0, -1, "capacityKWh: found 0"},
		{taper.Flat(50), math.NaN(), -1, "capacityKWh: found NaN"},
	}
	for _, tt := range tests {
		_, err := taper.New(tt.curve, tt.kWh)
		var e *taper.Error
		if !errors.As(err, &e) || e.Point != tt.point || !strings.Contains(err.Error(), tt.text) {
			t.Errorf("New(%v, %g): %v, want point %d and %q", tt.curve, tt.kWh, err, tt.point, tt.text)
		}
	}
}

// drawCurve draws curves that rise, fall, step, dip and may give no power.
func drawCurve(t *rapid.T, leastKW float64) taper.Curve {
	n := rapid.IntRange(1, 9).Draw(t, "points")
	socs := map[int]int{}
	var c taper.Curve
	soc := 0
	for range n {
		soc += rapid.IntRange(0, 25).Draw(t, "step")
		if soc > 100 || socs[soc] == 2 {
			continue
		}
		socs[soc]++
		c = append(c, taper.Point{SoC: float64(soc) / 100, PowerKW: leastKW + rapid.Float64Range(0, 250).Draw(t, "kW")})
	}
	return c
}

func TestTimeIsTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, 2)
		f, err := taper.New(c, 75)
		if err != nil {
			t.Fatal(err)
		}
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		a, b = min(a, b), max(a, b)
		want := 0.0
		for _, p := range f.Pieces() {
			lo, hi := max(a, p.FromSoC), min(b, p.ToSoC)
			if lo < hi {
				// gonum's Gauss-Legendre quadrature, an independent integral.
				want += quad.Fixed(func(s float64) float64 { return 3600 * 75 / c.PowerKW(s) }, lo, hi, 200, nil, 0)
			}
		}
		got := f.TimeS(a, b)
		startS, _ := f.StartS(a)
		endS, _ := f.EndS(b)
		if a < b && math.Abs(endS-startS-got) > 1e-9*(1+got) {
			t.Fatalf("EndS − StartS = %v, TimeS %v", endS-startS, got)
		}
		if math.Abs(got-want) > 1e-6*(1+want) {
			t.Fatalf("TimeS(%v, %v) = %v, quadrature %v", a, b, got, want)
		}
		if back := f.SoCAfter(a, got); math.Abs(back-b) > 1e-9 {
			t.Fatalf("SoCAfter(%v, %v) = %v, want %v", a, got, back, b)
		}
		if back := f.SoCBefore(b, got); math.Abs(back-a) > 1e-9 {
			t.Fatalf("SoCBefore(%v, %v) = %v, want %v", b, got, back, a)
		}
	})
}

func TestTimesAddAndPowerDivides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t, 1)
		k := rapid.Float64Range(0.1, 10).Draw(t, "k")
		f, _ := taper.New(c, 60)
		g, _ := taper.New(c.Scale(k), 60)
		a, m, b := rapid.Float64Range(0, 0.4).Draw(t, "a"), rapid.Float64Range(0.4, 0.7).Draw(t, "m"), rapid.Float64Range(0.7, 1).Draw(t, "b")
		whole := f.TimeS(a, b)
		if sum := f.TimeS(a, m) + f.TimeS(m, b); math.Abs(sum-whole) > 1e-9*(1+whole) {
			t.Fatalf("%v + its rest = %v, whole %v", m, sum, whole)
		}
		if scaled := g.TimeS(a, b) * k; math.Abs(scaled-whole) > 1e-9*(1+whole) {
			t.Fatalf("power × %v: time × k = %v, want %v", k, scaled, whole)
		}
	})
}

func TestMinIsTheLowerCurveEverywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, d := drawCurve(t, 0), drawCurve(t, 0)
		m := c.Min(d)
		if err := m.Validate(); err != nil {
			t.Fatal(err)
		}
		for range 20 {
			s := rapid.Float64Range(0, 1).Draw(t, "soc")
			want := min(c.PowerKW(s), d.PowerKW(s))
			if got := m.PowerKW(s); math.Abs(got-want) > 1e-7 {
				t.Fatalf("at %v: %v, want %v\n%v\n%v\n%v", s, got, want, c, d, m)
			}
		}
	})
}

func TestLookUpsAllocateNothing(t *testing.T) {
	f := must(t, dipped77, 77.4)
	if n := testing.AllocsPerRun(100, func() { f.SoCAfter(0.1, f.TimeS(0.1, 0.8)+f.PowerKW(0.3)) }); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}

func BenchmarkTimeS(b *testing.B) {
	f := must(b, dipped77, 77.4)
	var sum float64
	for i := 0; b.Loop(); i++ {
		sum += f.TimeS(0.1+float64(i&63)/1000, 0.7+float64(i&127)/500)
	}
	if math.IsNaN(sum) {
		b.Fatal(sum)
	}
}

func BenchmarkSoCAfter(b *testing.B) {
	f := must(b, dipped77, 77.4)
	var sum float64
	for i := 0; b.Loop(); i++ {
		sum += f.SoCAfter(0.1+float64(i&63)/1000, 300+float64(i&127)*10)
	}
	if math.IsNaN(sum) {
		b.Fatal(sum)
	}
}

package fit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestBridge(t *testing.T) {
	nan := math.NaN()
	s := []Sample{{TimeS: 0, SpeedMS: 10, SoC: 0.5}, {TimeS: 2, SpeedMS: nan, SoC: nan}, {TimeS: 4, SpeedMS: 14, SoC: nan}, {TimeS: 60, SpeedMS: nan, SoC: nan}, {TimeS: 100, SpeedMS: 20, SoC: 0.4}}
	bridge(s)
	if s[1].SpeedMS != 12 {
		t.Errorf("a blank of 4 s of speed is bridged: %v", s[1].SpeedMS)
	}
	if !math.IsNaN(s[3].SpeedMS) {
		t.Errorf("a blank of 96 s of speed is a gap: %v", s[3].SpeedMS)
	}
	if math.Abs(s[3].SoC-0.44) > 1e-12 {
		t.Errorf("100 s of state of charge are bridged: %v", s[3].SoC)
	}
}

func TestFilled(t *testing.T) {
	l := wander(1, 300, 20)
	for i := 100; i < 160; i++ {
		l.Samples[i].SpeedMS = 5 + 0.1*float64(i)
		l.Samples[i].PowerKW = 40 - 0.2*float64(i)
	}
	for i := 200; i < 260; i++ { // parked: still, but true
		l.Samples[i].SpeedMS, l.Samples[i].PowerKW = 0, 0.5
	}
	made := filled(l.Samples)
	for i, m := range made {
		if want := i > 100 && i < 160; m != want {
			t.Fatalf("row %d: filled %v, want %v", i, m, want)
		}
	}
}

func TestDespikeAndStuck(t *testing.T) {
	var s []Sample
	for i := range 1000 {
		heat := 1 + 0.2*math.Sin(float64(i)/100)
		if i%50 == 0 {
			heat = 5.5
		}
		s = append(s, Sample{TimeS: float64(i), HeatKW: heat, CoolKW: 0.44})
	}
	despike(s, fields[chHeat])
	for i := range s {
		if want := 1 + 0.2*math.Sin(float64(i)/100); math.Abs(s[i].HeatKW-want) > 0.02 {
			t.Fatalf("row %d: %v, want %v", i, s[i].HeatKW, want)
		}
	}
	if stuck(s, fields[chHeat]) {
		t.Error("a heater that moves does not hang")
	}
	if !stuck(s, fields[chCool]) {
		t.Error("0.44 kW all the time hangs")
	}
	for i := range s {
		s[i].CoolKW = 0
	}
	if stuck(s, fields[chCool]) {
		t.Error("off is not hanging")
	}
}

// Smoothing keeps a straight slope and both ends, and lies between the lowest
// and the highest.
func TestSmoothElevation(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(r, "n")
		x, y, line := make([]float64, n), make([]float64, n), make([]float64, n)
		slope := rapid.Float64Range(-0.1, 0.1).Draw(r, "slope")
		low, high := math.Inf(1), math.Inf(-1)
		for i := range n {
			if i > 0 {
				x[i] = x[i-1] + rapid.Float64Range(0, 60).Draw(r, "step")
			}
			y[i] = math.Round(rapid.Float64Range(0, 300).Draw(r, "height"))
			line[i] = 100 + slope*x[i]
			low, high = min(low, y[i]), max(high, y[i])
		}
		first, last := y[0], y[n-1]
		smoothElevation(x, y)
		smoothElevation(x, line)
		if y[0] != first || y[n-1] != last {
			r.Fatalf("ends %v %v became %v %v", first, last, y[0], y[n-1])
		}
		for i := range n {
			if y[i] < low-1e-6 || y[i] > high+1e-6 {
				r.Fatalf("%v outside %v to %v", y[i], low, high)
			}
			if want := 100 + slope*x[i]; math.Abs(line[i]-want) > 1e-6 {
				r.Fatalf("slope at %v m: %v, want %v", x[i], line[i], want)
			}
		}
	})
}

func TestUnknownElevation(t *testing.T) {
	nan := math.NaN()
	y := []float64{nan, 10, nan, 20, nan}
	if !smoothElevation([]float64{0, 1, 2, 3, 4}, y) || y[0] != 10 || y[4] != 20 {
		t.Errorf("%v", y)
	}
	all := []float64{nan, nan}
	if smoothElevation([]float64{0, 1}, all) || all[0] != 0 || all[1] != 0 {
		t.Errorf("%v", all)
	}
}

// One-way random effects: the worked example of Snedecor and Cochran,
// Statistical Methods, 1967, table 10.13.1 (calcium in turnip leaves, four
// leaves of four determinations; figures from memory): within 0.0066, between
// 0.0724.
func TestComponents(t *testing.T) {
	between, within, ok := components([][]float64{
		{3.28, 3.09, 3.03, 3.03}, {3.52, 3.48, 3.38, 3.38}, {2.88, 2.80, 2.81, 2.76}, {3.34, 3.38, 3.23, 3.26},
	})
	if !ok || math.Abs(within-0.0066) > 5e-5 || math.Abs(between-0.0724) > 5e-5 {
		t.Errorf("between %.4f, within %.4f", between, within)
	}
}

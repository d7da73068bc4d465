package fit_test

import (
	"bytes"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/mat"

	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/energy/fit"
	"ampleway/testdata"
)

func builtIn(t testing.TB, name string) *energy.Car {
	t.Helper()
	file, text, ok := cars.File(name)
	if !ok {
		t.Fatalf("no built-in car %s", name)
	}
	car, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// drives reads the real drives of one small car: Steinstraeter, Buberger,
// Trifonov, "Battery and Heating Data in Real Driving Cycles", IEEE DataPort
// 2020, doi 10.21227/6jr9-5235, CC BY 4.0. Set a is summer, set b winter.
func drives(t testing.TB, pattern string) []*fit.Log {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(testdata.OpenData(t, "drives"), pattern))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%v, %d files", err, len(paths))
	}
	logs, err := fit.ReadFiles(paths, fit.LogOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return logs
}

// Every drive is predicted by the fit to the others of its set, and by a plain
// regression with three coefficients on the same cleaned data.
func TestRealDrives(t *testing.T) {
	testdata.Sequential(t)
	for _, c := range []struct {
		set                       string
		recorded, total, modelled float64
	}{
		{"a*.csv", 5.0, 2, 9},
		{"b*.csv", 4.0, 2, 9},
		{"*.csv", 5.0, 2, 9},
	} {
		t.Run(c.set, func(t *testing.T) {
			logs := drives(t, c.set)
			r, err := fit.Fit(logs, builtIn(t, "small-hatch"), fit.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Detail != fit.Full || len(r.Trips) != len(logs) {
				t.Errorf("%q, %d drives", r.Detail, len(r.Trips))
			}
			plain := plainRegression(t, logs)
			t.Logf("%-9s %6s %9s %6s %7s %9s", "drive", "kWh", "predicted", "%", "plain %", "modelled %")
			for i, x := range r.Trips {
				t.Logf("%-9s %6.2f %9.2f %+6.1f %+7.1f %+9.1f", x.Name, x.MeasuredKWh, x.PredictedKWh, x.ErrorPct, plain[i], x.ModelledPct)
			}
			t.Logf("%s: mean absolute error %.2f %%, plain regression %.2f %%, climate modelled %.2f %%; total %+.2f %%, %+.2f %% modelled",
				c.set, r.Recorded.MeanAbsolutePct, meanAbsolute(plain), r.Modelled.MeanAbsolutePct, r.Recorded.TotalPct, r.Modelled.TotalPct)
			if r.Recorded.MeanAbsolutePct > c.recorded || r.Recorded.MeanAbsolutePct >= meanAbsolute(plain) {
				t.Errorf("mean absolute error %.2f %%: want at most %.1f and less than the plain regression", r.Recorded.MeanAbsolutePct, c.recorded)
			}
			if math.Abs(r.Recorded.TotalPct) > c.total {
				t.Errorf("total off by %.2f %%: want at most %.1f", r.Recorded.TotalPct, c.total)
			}
			if r.Modelled.MeanAbsolutePct > c.modelled {
				t.Errorf("climate modelled: %.2f %%: want at most %.1f", r.Modelled.MeanAbsolutePct, c.modelled)
			}
			plausible(t, r)
			if c.set == "*.csv" {
				faultsFound(t, r.Warnings)
			}
		})
	}
}

// plainRegression leaves each drive out of a least squares fit of battery less
// climate power by 1, speed and speed cubed, second by second over the same
// cleaned drives, and returns the errors of the drives in %.
func plainRegression(t *testing.T, logs []*fit.Log) []float64 {
	t.Helper()
	n := len(logs)
	normals, sums := make([]*mat.SymDense, n), make([]*mat.VecDense, n)
	totals, climates, measured := make([]*mat.VecDense, n), make([]float64, n), make([]float64, n)
	for i, l := range logs {
		pieces, err := fit.Prepared(l)
		if err != nil {
			t.Fatal(err)
		}
		normals[i], sums[i], totals[i] = mat.NewSymDense(3, nil), mat.NewVecDense(3, nil), mat.NewVecDense(3, nil)
		for _, p := range pieces {
			v := p.SpeedMS / 10
			x := mat.NewVecDense(3, []float64{1, v, v * v * v})
			normals[i].SymRankOne(normals[i], p.TimeS, x)
			sums[i].AddScaledVec(sums[i], p.TimeS*(p.PowerKW-p.ClimateKW), x)
			totals[i].AddScaledVec(totals[i], p.TimeS, x)
			climates[i] += p.TimeS * p.ClimateKW
			measured[i] += p.TimeS * p.PowerKW
		}
	}
	out := make([]float64, n)
	for i := range n {
		normal, sum := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		for k := range n {
			if k != i {
				normal.AddSym(normal, normals[k])
				sum.AddVec(sum, sums[k])
			}
		}
		var c mat.VecDense
		if err := c.SolveVec(normal, sum); err != nil {
			t.Fatal(err)
		}
		out[i] = 100 * ((mat.Dot(totals[i], &c)+climates[i])/measured[i] - 1)
	}
	return out
}

func meanAbsolute(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += math.Abs(v)
	}
	return sum / float64(len(x))
}

// plausible holds the fitted car to what a small car can be: rolling
// resistance within the range of TRB Special Report 286 (0.007 to 0.017), drag
// area 0.4 to 0.8 m² and mass 1,200 to 1,700 kg (common practice for small
// cars with their passengers).
func plausible(t *testing.T, r *fit.Result) {
	t.Helper()
	car := r.Car
	for _, c := range []struct {
		name         string
		x, low, high float64
	}{
		{"rolling coefficient", car.RoadLoad.RollingCoefficient, 0.007, 0.017},
		{"drag area", car.RoadLoad.CdAM2(), 0.4, 0.8},
		{"mass", car.MassKg, 1200, 1700},
		{"auxiliaries", car.AuxiliaryW, 200, 800},
		{"regeneration", car.RegenEfficiency, 0.6, 0.95},
	} {
		if !(c.x >= c.low && c.x <= c.high) {
			t.Errorf("%s %g: want %g to %g", c.name, c.x, c.low, c.high)
		}
	}
	for _, e := range r.Estimates {
		if !(e.Low < e.Value && e.Value < e.High) {
			t.Errorf("%s: %g in %g to %g", e.Name, e.Value, e.Low, e.High)
		}
	}
}

// faultsFound asks for the wrong figures in the real drives: two heaters that
// hang, and a stretch of one drive that was filled in with straight lines.
func faultsFound(t *testing.T, warnings []string) {
	t.Helper()
	text := strings.Join(warnings, "\n")
	if hangs, filled := strings.Count(text, "hangs"), strings.Count(text, "filled in"); hangs != 2 || filled != 1 {
		t.Errorf("%d hanging heaters and %d filled stretches, want 2 and 1: %q", hangs, filled, warnings)
	}
}

// A car file that the fit writes says the same as the fit.
func TestWrittenCar(t *testing.T) {
	r, err := fit.Fit(drives(t, "b*.csv"), builtIn(t, "small-hatch"), fit.Options{Name: "ours"})
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := energy.WriteCarYAML(&file, r.Car); err != nil {
		t.Fatal(err)
	}
	back, err := energy.ReadCar(&file, "ours.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(r.Car, back, cmpopts.EquateApprox(1e-9, 0), cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("the car reads back otherwise (- fitted, + read):\n%s", diff)
	}
	again, err := fit.Fit(drives(t, "b*.csv"), back, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// A car file does not hold what a cold battery refuses, hence the tolerance.
	if x := again.Estimates[0]; math.Abs(x.Value-1) > 0.03 {
		t.Errorf("the fitted car needs a factor of %.3f on its own drives", x.Value)
	}
}

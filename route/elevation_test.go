package route_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"ampleway/route"
)

// profile makes a route along a meridian with a point every pieceM metres.
func profile(t testing.TB, pieceM float64, elevationsM ...float64) *route.Route {
	t.Helper()
	points := make([]route.Point, len(elevationsM))
	for i, m := range elevationsM {
		points[i] = route.Point{Lon: 10, Lat: 45 + float64(i)*pieceM/111132, ElevationM: m}
	}
	r, err := route.New("profile", points)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestUnknownElevationsAreFilled(t *testing.T) {
	r := profile(t, 100, nan, 100, nan, nan, 400, nan)
	if d := cmp.Diff([]float64{100, 100, 200, 300, 400, 400}, r.Elevations(0), cmpopts.EquateApprox(0, 1e-3)); d != "" {
		t.Error(d)
	}
	if got := r.Climb(0); math.Abs(got.AscentM-300) > 1e-9 || got.DescentM != 0 || got.MinM != 100 || got.MaxM != 400 {
		t.Errorf("climb %+v", got)
	}
}

func TestNoElevation(t *testing.T) {
	r := profile(t, 100, nan, nan, nan)
	c := r.Climb(route.DefaultSmoothingM)
	if r.HasElevation() || c.AscentM != 0 || c.DescentM != 0 || !math.IsNaN(c.MinM) || !math.IsNaN(c.MaxM) {
		t.Errorf("climb %+v", c)
	}
	for i, s := range r.Steps(route.StepOptions{}) {
		if s.RiseM != 0 || s.ElevationM != 0 || s.SpeedMS != route.DefaultSpeedMS {
			t.Errorf("step %d: %+v", i, s)
		}
	}
}

// The mean of a straight ramp over a centred window is the ramp itself.
func TestSmoothingKeepsARamp(t *testing.T) {
	r := profile(t, 30, 0, 3, 6, 9, 12, 15, 18, 21, 24, 27, 30)
	if d := cmp.Diff(r.Elevations(0), r.Elevations(120), cmpopts.EquateApprox(0, 1e-3)); d != "" {
		t.Error(d)
	}
}

// A triangle 100 m wide to either side and 20 m high: the mean over a window
// of 100 m centred on its top is 20 − 20/4 = 15 m.
func TestSmoothingATriangle(t *testing.T) {
	r := profile(t, 100, 0, 0, 0, 20, 0, 0, 0)
	top := r.Elevations(r.ChainageM(1))[3]
	if math.Abs(top-15) > 1e-4 {
		t.Errorf("smoothed top %g, want 15", top)
	}
}

func TestSmoothingLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		if !r.HasElevation() {
			t.Skip("no elevation")
		}
		smoothingM := rapid.Float64Range(1, 2e5).Draw(t, "smoothing")
		raw, smooth := r.Elevations(0), r.Elevations(smoothingM)
		last := len(raw) - 1
		if smooth[0] != raw[0] || smooth[last] != raw[last] {
			t.Fatalf("ends %g and %g, were %g and %g", smooth[0], smooth[last], raw[0], raw[last])
		}
		before, after := r.Climb(0), r.Climb(smoothingM)
		if after.MinM < before.MinM-1e-6 || after.MaxM > before.MaxM+1e-6 {
			t.Fatalf("smoothing widened %+v to %+v", before, after)
		}
		if d := before.AscentM - before.DescentM - (after.AscentM - after.DescentM); math.Abs(d) > 1e-5 {
			t.Fatalf("smoothing changed the net rise by %g m", d)
		}
		// The window's mean does not care how finely the same profile is cut.
		dense := r.Densify(math.Max(1, r.LengthM()/97)).Elevations(smoothingM)
		c := r.Densify(math.Max(1, r.LengthM()/97)).Chainages()
		k := 0
		for i := range raw {
			for c[k] < r.ChainageM(i) {
				k++
			}
			if math.Abs(dense[k]-smooth[i]) > 1e-3 && known(r) {
				t.Fatalf("point %d: %g m, cut finer %g m", i, smooth[i], dense[k])
			}
		}
	})
}

// known reports whether all elevations are known; Densify gives none to a
// point between an unknown one and another.
func known(r *route.Route) bool {
	for _, p := range r.All() {
		if math.IsNaN(p.ElevationM) {
			return false
		}
	}
	return true
}

// White noise of 3 m standard deviation on posts 30 m apart over level ground
// invents climb: the mean of |difference of two normals|/2 is 3/√π = 1.69 m a
// post. A window of 250 m leaves little of it.
func TestSmoothingTakesInventedClimbAway(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 7))
	elevationsM := make([]float64, 10000)
	for i := range elevationsM {
		elevationsM[i] = 500 + 3*r.NormFloat64()
	}
	noisy := profile(t, 30, elevationsM...)
	raw, smooth := noisy.Climb(0), noisy.Climb(route.DefaultSmoothingM)
	want := 3 / math.Sqrt(math.Pi) * float64(len(elevationsM)-1)
	if math.Abs(raw.AscentM/want-1) > 0.03 {
		t.Errorf("raw ascent %.0f m, expected %.0f m", raw.AscentM, want)
	}
	t.Logf("ascent %.0f m raw, %.0f m smoothed over %.0f m", raw.AscentM, smooth.AscentM, route.DefaultSmoothingM)
	if smooth.AscentM > 0.15*raw.AscentM {
		t.Errorf("smoothing leaves %.0f m of %.0f m", smooth.AscentM, raw.AscentM)
	}
}

func TestMisusePanics(t *testing.T) {
	r := profile(t, 100, 1, 2)
	for name, misuse := range map[string]func(){
		"negative smoothing": func() { r.Elevations(-1) },
		"smoothing NaN":      func() { r.Elevations(nan) },
		"dense":              func() { r.Densify(0) },
		"elevations":         func() { r.WithElevations(nil) },
		"speed":              func() { r.Steps(route.StepOptions{DefaultSpeedMS: -1}) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			misuse()
		})
	}
}

package route_test

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/earth"
)

var nan = math.NaN()

// routes draws a random walk of 2 to 60 points with steps from a metre to
// some 50 km, anywhere on the earth, the antimeridian included.
func routes(t *rapid.T) *route.Route {
	n := rapid.IntRange(2, 60).Draw(t, "points")
	lon, lat := rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-70, 70).Draw(t, "lat")
	var points []route.Point
	for i := range n {
		p := route.Point{Lon: lon, Lat: lat, ElevationM: nan}
		if rapid.Float64Range(0, 1).Draw(t, "known") > 0.2 {
			p.ElevationM = rapid.Float64Range(-100, 3000).Draw(t, "elevation")
		}
		p.SpeedMS = rapid.SampledFrom([]float64{0, 13.9, 25, 36}).Draw(t, "speed")
		points = append(points, p)
		stepDeg := math.Pow(10, rapid.Float64Range(-5, -0.4).Draw(t, "step"))
		direction := rapid.Float64Range(0, 2*math.Pi).Draw(t, "direction")
		if i == 0 && n == 2 {
			direction = 0
		}
		lon = earth.LonDelta(0, lon+stepDeg*math.Cos(direction))
		lat += stepDeg * math.Sin(direction)
	}
	r, err := route.New("walk", points)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var near = cmp.Options{cmpopts.EquateApprox(0, 1e-6), cmpopts.EquateNaNs()}

func TestChainagesRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		c := r.Chainages()
		if len(c) != r.Len() || c[0] != 0 || c[len(c)-1] != r.LengthM() {
			t.Fatalf("chainages run from %g to %g over %d points, want 0 to %g over %d", c[0], c[len(c)-1], len(c), r.LengthM(), r.Len())
		}
		for i := 1; i < len(c); i++ {
			if !(c[i] > c[i-1]) || c[i] != r.ChainageM(i) {
				t.Fatalf("chainage %d is %g after %g", i, c[i], c[i-1])
			}
		}
	})
}

func TestAtTheChainageOfAPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		for i, p := range r.All() {
			if d := cmp.Diff(p, r.At(r.ChainageM(i)), cmpopts.EquateNaNs()); d != "" {
				t.Fatalf("point %d: %s", i, d)
			}
		}
	})
}

func TestAtIsOnItsPiece(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		s := rapid.Float64Range(-10, 1.1*r.LengthM()).Draw(t, "chainage")
		at, i := r.At(s), r.Piece(s)
		a, b := r.Point(i), r.Point(i+1)
		viaM := earth.DistanceM(a.Lon, a.Lat, at.Lon, at.Lat) + earth.DistanceM(at.Lon, at.Lat, b.Lon, b.Lat)
		directM := earth.DistanceM(a.Lon, a.Lat, b.Lon, b.Lat)
		// A straight line in degrees is a little longer than the geodesic.
		if viaM < directM-1e-3 || viaM > directM*(1+2e-4)+1e-3 {
			t.Fatalf("at %g m: %g m by way of it, %g m direct", s, viaM, directM)
		}
		if math.Abs(at.Lon) > 180 {
			t.Fatalf("longitude %g", at.Lon)
		}
	})
}

func TestReverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		back := r.Reverse()
		if back.LengthM() != r.LengthM() {
			t.Fatalf("%g m there, %g m back", r.LengthM(), back.LengthM())
		}
		again := back.Reverse()
		if d := cmp.Diff(r.Points(), again.Points(), cmpopts.EquateNaNs()); d != "" {
			t.Fatal(d)
		}
		if d := cmp.Diff(r.Chainages(), again.Chainages(), near); d != "" {
			t.Fatal(d)
		}
		there, home := r.Climb(0), back.Climb(0)
		if math.Abs(there.AscentM-home.DescentM) > 1e-6 || math.Abs(there.DescentM-home.AscentM) > 1e-6 {
			t.Fatalf("climb %+v there, %+v back", there, home)
		}
	})
}

func TestPartsThatMeetAreTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		cut := rapid.Float64Range(0.01, 0.99).Draw(t, "cut") * r.LengthM()
		first, ok1 := r.Part(0, cut)
		second, ok2 := r.Part(cut, r.LengthM())
		if !ok1 || !ok2 {
			t.Fatal("no part")
		}
		if got := first.LengthM() + second.LengthM(); math.Abs(got-r.LengthM()) > 1e-6 {
			t.Fatalf("parts %g m, whole %g m", got, r.LengthM())
		}
		for i := range 20 {
			s := r.LengthM() * (float64(i) + 0.5) / 20
			if s-r.ChainageM(r.Piece(s)) < 1e-3 || r.ChainageM(r.Piece(s)+1)-s < 1e-3 {
				continue // too near a point to say which piece it is on
			}
			part, from := first, 0.0
			if s >= cut {
				part, from = second, cut
			}
			want, got := r.At(s), part.At(s-from)
			ignored := cmpopts.IgnoreFields(route.Point{}, "ElevationM")
			if d := cmp.Diff(want, got, near, ignored); d != "" {
				t.Fatalf("at %g: %s", s, d)
			}
		}
	})
}

func TestPartOfNothing(t *testing.T) {
	r := line(t, 0, 0, 0.1)
	for _, span := range [][2]float64{{5, 5}, {9, 3}, {1e9, 2e9}, {-5, 0}, {nan, 10}, {0, nan}} {
		if _, ok := r.Part(span[0], span[1]); ok {
			t.Errorf("Part(%g, %g) is not empty", span[0], span[1])
		}
	}
}

func TestDensifyKeepsTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		maxM := rapid.Float64Range(500, 1e5).Draw(t, "max")
		dense := r.Densify(maxM)
		if dense.LengthM() != r.LengthM() {
			t.Fatalf("%g m, was %g m", dense.LengthM(), r.LengthM())
		}
		for i := 1; i < dense.Len(); i++ {
			if m := dense.ChainageM(i) - dense.ChainageM(i-1); !(m > 0) || m > maxM*(1+1e-9) {
				t.Fatalf("piece %d is %g m, at most %g m asked", i, m, maxM)
			}
		}
		for i, p := range r.All() {
			if d := cmp.Diff(p, dense.At(r.ChainageM(i)), cmpopts.EquateNaNs()); d != "" {
				t.Fatalf("point %d: %s", i, d)
			}
		}
	})
}

func TestStepsSumToTheRoute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		lengthM, riseM, n := 0.0, 0.0, 0
		for i, s := range r.Steps(route.StepOptions{DefaultSpeedMS: 20}) {
			lengthM += s.LengthM
			riseM += s.RiseM
			n++
			want := r.Point(i).SpeedMS
			if want == 0 {
				want = 20
			}
			if smooth := r.Elevations(route.DefaultSmoothingM); r.HasElevation() && math.Abs(s.ElevationM-(smooth[i]+smooth[i+1])/2) > 1e-9 {
				t.Fatalf("step %d: mean elevation %g", i, s.ElevationM)
			}
			if s.SpeedMS != want || s.BearingDeg != r.BearingDeg(i) || !(s.LengthM > 0) {
				t.Fatalf("step %d: %+v", i, s)
			}
		}
		elevationsM := r.Elevations(0)
		netM := elevationsM[len(elevationsM)-1] - elevationsM[0]
		if !r.HasElevation() {
			netM = 0
		}
		if n != r.Len()-1 || math.Abs(lengthM-r.LengthM()) > 1e-6 || math.Abs(riseM-netM) > 1e-6 {
			t.Fatalf("%d steps, %g m long, rising %g m; route %d pieces, %g m, %g m", n, lengthM, riseM, r.Len()-1, r.LengthM(), netM)
		}
	})
}

// line makes a level route along a meridian from positions in degrees of
// latitude.
func line(t testing.TB, lats ...float64) *route.Route {
	t.Helper()
	var points []route.Point
	for _, lat := range lats {
		points = append(points, route.Point{Lon: 10, Lat: lat, ElevationM: nan})
	}
	r, err := route.New("line", points)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestNewMergesNeighboursAtOnePlace(t *testing.T) {
	r, err := route.New("", []route.Point{
		{Lon: 1, Lat: 2, ElevationM: nan, SpeedMS: 5},
		{Lon: 1, Lat: 2, ElevationM: 70, SpeedMS: 10},
		{Lon: 1, Lat: 2.000000001, ElevationM: 80, SpeedMS: 15},
		{Lon: 1, Lat: 2.1, ElevationM: 90, SpeedMS: 20},
		{Lon: 1, Lat: 2.1, ElevationM: nan, SpeedMS: 25},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []route.Point{{Lon: 1, Lat: 2, ElevationM: 70, SpeedMS: 15}, {Lon: 1, Lat: 2.1, ElevationM: 90}}
	if d := cmp.Diff(want, r.Points()); d != "" {
		t.Error(d)
	}
}

func TestNewRejects(t *testing.T) {
	good := route.Point{Lon: 1, Lat: 2}
	for _, test := range []struct {
		name   string
		points []route.Point
		want   string
	}{
		{"nothing", nil, "r: found 0 different positions in 0 points: expected a line of at least two different positions"},
		{"one place", []route.Point{good, good, good}, "r: found 1 different positions in 3 points: expected a line of at least two different positions"},
		{"latitude", []route.Point{good, {Lon: 1, Lat: 91}}, "r, point 2, latitude: found 91: expected degrees within ±90"},
		{"no latitude", []route.Point{{Lon: 1, Lat: nan}, good}, "r, point 1, latitude: found NaN: expected degrees within ±90"},
		{"longitude", []route.Point{good, {Lon: -181, Lat: 2}}, "r, point 2, longitude: found -181: expected degrees within ±180"},
		{"elevation", []route.Point{good, {Lon: 1, Lat: 3, ElevationM: math.Inf(1)}}, "r, point 2, elevation: found +Inf: expected metres, or NaN where unknown"},
		{"speed", []route.Point{good, {Lon: 1, Lat: 3, SpeedMS: -1}}, "r, point 2, speed: found -1: expected m/s, or 0 where unknown"},
		{"no speed", []route.Point{good, {Lon: 1, Lat: 3, SpeedMS: nan}}, "r, point 2, speed: found NaN: expected m/s, or 0 where unknown"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := route.New("r", test.points)
			var in *fault.Input
			if !errors.As(err, &in) || err.Error() != test.want {
				t.Errorf("got  %v\nwant %s", err, test.want)
			}
		})
	}
}

func TestAcrossTheAntimeridian(t *testing.T) {
	r, err := route.New("strait", []route.Point{{Lon: 179.9, Lat: 60}, {Lon: -179.7, Lat: 60.4}})
	if err != nil {
		t.Fatal(err)
	}
	if r.LengthM() > 51e3 {
		t.Errorf("%.0f m, the long way round", r.LengthM())
	}
	quarter := r.At(r.LengthM() / 4)
	if d := cmp.Diff(route.Point{Lon: 180, Lat: 60.1}, quarter, near); d != "" {
		t.Error(d)
	}
	if got := r.At(r.LengthM() / 2).Lon; math.Abs(got+179.9) > 1e-9 {
		t.Errorf("half way is at longitude %g, want -179.9", got)
	}
	lines := r.Lines()
	if len(lines) != 2 || lines[0][1].Lon() != 180 || lines[1][0].Lon() != -180 ||
		math.Abs(lines[0][1].Lat()-60.1) > 1e-9 || lines[0][1].Lat() != lines[1][0].Lat() {
		t.Errorf("cut into %v", lines)
	}
	if whole := r.Line(); len(whole) != 2 || whole[0].Lon() != 179.9 || whole[1].Lat() != 60.4 {
		t.Errorf("line %v", whole)
	}
}

func TestLinesThatTouchTheAntimeridian(t *testing.T) {
	r, err := route.New("", []route.Point{{Lon: 179.9, Lat: 60}, {Lon: 180, Lat: 60}, {Lon: -179.9, Lat: 60}})
	if err != nil {
		t.Fatal(err)
	}
	lines := r.Lines()
	if len(lines) != 2 || len(lines[0]) != 2 || len(lines[1]) != 2 || lines[1][0].Lon() != -180 {
		t.Errorf("cut into %v", lines)
	}
}

func TestNotesAreNotShared(t *testing.T) {
	r := line(t, 0, 1)
	one, two := r.WithNote("one"), r.WithNote("two")
	if len(r.Notes) != 0 || one.Notes[0] != "one" || two.Notes[0] != "two" {
		t.Errorf("notes %v, %v, %v", r.Notes, one.Notes, two.Notes)
	}
}

func TestJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := routes(t)
		first, ok1 := r.Part(0, r.LengthM()/3)
		second, ok2 := r.Part(r.LengthM()/3, r.LengthM())
		if !ok1 || !ok2 {
			t.Fatal("no part")
		}
		joined, err := route.Join(first.WithNote("one"), second.WithNote("two"))
		if err != nil {
			t.Fatal(err)
		}
		// A straight piece in degrees is no geodesic: cut in two it is measured
		// a little longer.
		if d := joined.LengthM() - r.LengthM(); d < -0.01 || d > 0.01+2e-4*r.LengthM() {
			t.Fatalf("%g m joined, whole %g m", joined.LengthM(), r.LengthM())
		}
		if d := cmp.Diff([]string{"one", "two"}, joined.Notes); d != "" {
			t.Fatal(d)
		}
	})
	_, err := route.Join(line(t, 45, 46), line(t, 46.1, 47))
	if want := "line: found a start 11.1 km from the end of line: expected routes that follow each other"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	alone := line(t, 45, 46)
	if same, err := route.Join(alone); err != nil || same != alone {
		t.Errorf("one route joined is %v, %v", same, err)
	}
}

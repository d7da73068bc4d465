package earth_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/earth"
	"ampleway/testdata"
)

type pair struct{ lon1, lat1, lon2, lat2 float64 }

// geodesics asks GeodSolve of GeographicLib (Karney, J. Geodesy 87:43, 2013)
// for the WGS 84 distance in metres and the initial bearing of each pair.
func geodesics(t *testing.T, pairs []pair) (distancesM, bearingsDeg []float64) {
	t.Helper()
	var in bytes.Buffer
	for _, p := range pairs {
		fmt.Fprintf(&in, "%.14f %.14f %.14f %.14f\n", p.lat1, p.lon1, p.lat2, p.lon2)
	}
	cmd := exec.Command(testdata.Tool(t, "GeodSolve"), "-i", "-p", "8")
	cmd.Stdin = &in
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(out)) {
		var from, to, m float64
		if _, err := fmt.Sscan(line, &from, &to, &m); err != nil {
			t.Fatalf("GeodSolve said %q: %v", line, err)
		}
		distancesM = append(distancesM, m)
		bearingsDeg = append(bearingsDeg, from)
	}
	if len(distancesM) != len(pairs) {
		t.Fatalf("GeodSolve gave %d answers to %d questions", len(distancesM), len(pairs))
	}
	return distancesM, bearingsDeg
}

// randomPair draws a start below maxLat in every longitude, and a position in
// any direction about distanceM away (on a sphere, so not exactly).
func randomPair(r *rand.Rand, maxLat, distanceM float64) pair {
	const rad = math.Pi / 180
	lat, lon := (2*r.Float64()-1)*maxLat*rad, (2*r.Float64()-1)*180
	bearing := 2 * math.Pi * r.Float64()
	s := distanceM / earth.MeanRadiusM
	sin := math.Sin(lat)*math.Cos(s) + math.Cos(lat)*math.Sin(s)*math.Cos(bearing)
	lat2 := math.Asin(math.Max(-1, math.Min(1, sin)))
	dLon := math.Atan2(math.Sin(bearing)*math.Sin(s)*math.Cos(lat), math.Cos(s)-math.Sin(lat)*math.Sin(lat2))
	return pair{lon, lat / rad, earth.LonDelta(0, lon+dLon/rad), lat2 / rad}
}

func TestDistanceAgainstGeodSolve(t *testing.T) {
	for _, test := range []struct {
		name                string
		maxLat, fromM, toM  float64
		bound, absM, sphere float64 // stated in the doc comments
	}{
		{"route points", 75, 1, 1e3, 3e-7, 1e-5, 5.7e-3},
		{"coarse route points", 75, 1e3, 100e3, 3e-7, 1e-5, 5.7e-3},
		{"high latitudes", 89.9, 10, 90e3, 3e-7, 1e-5, 5.7e-3},
		{"between cities", 75, 100e3, 1e6, 2e-6, 0, 5.7e-3},
		{"between continents", 89.9, 1e6, 1e7, 2e-6, 0, 5.7e-3},
		{"towards the other side", 89.9, 1e7, 2e7, 6e-3, 0, 6e-3},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(1, uint64(test.toM)))
			pairs := make([]pair, 3000)
			for i := range pairs {
				pairs[i] = randomPair(r, test.maxLat, test.fromM*math.Pow(test.toM/test.fromM, r.Float64()))
			}
			wantM, _ := geodesics(t, pairs)
			var worst, worstSphere float64
			for i, p := range pairs {
				errM := math.Abs(earth.DistanceM(p.lon1, p.lat1, p.lon2, p.lat2) - wantM[i])
				sphereM := math.Abs(earth.GreatCircleM(p.lon1, p.lat1, p.lon2, p.lat2) - wantM[i])
				worst = math.Max(worst, (errM-test.absM)/wantM[i])
				worstSphere = math.Max(worstSphere, sphereM/wantM[i])
			}
			t.Logf("corrected within %.1e, great circle within %.1e", worst, worstSphere)
			if worst > test.bound {
				t.Errorf("DistanceM is off by %.2e, stated %.0e", worst, test.bound)
			}
			if worstSphere > test.sphere {
				t.Errorf("GreatCircleM is off by %.2e, stated %.1e", worstSphere, test.sphere)
			}
		})
	}
}

func TestDistanceAcrossTheAntimeridian(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	pairs := make([]pair, 500)
	for i := range pairs {
		lat := 140*r.Float64() - 70
		pairs[i] = pair{180 - r.Float64()/2, lat, -180 + r.Float64()/2, lat + r.Float64()/2 - 0.25}
	}
	wantM, _ := geodesics(t, pairs)
	for i, p := range pairs {
		if got := earth.DistanceM(p.lon1, p.lat1, p.lon2, p.lat2); math.Abs(got-wantM[i]) > 1e-5+3e-7*wantM[i] {
			t.Errorf("%v: %.6f m, GeodSolve %.6f m", p, got, wantM[i])
		}
	}
}

func TestBearingAgainstGeodSolve(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	pairs := make([]pair, 3000)
	for i := range pairs {
		pairs[i] = randomPair(r, 75, math.Pow(1e5, r.Float64()))
	}
	_, wantDeg := geodesics(t, pairs)
	worst := 0.0
	for i, p := range pairs {
		got := earth.BearingDeg(p.lon1, p.lat1, p.lon2, p.lat2)
		if !(got >= 0 && got < 360) {
			t.Fatalf("%v: bearing %g is not in [0, 360)", p, got)
		}
		worst = math.Max(worst, math.Abs(earth.LonDelta(got, wantDeg[i])))
	}
	t.Logf("bearings within %.3f degrees", worst)
	if worst > 0.2 {
		t.Errorf("BearingDeg is off by %.3f degrees, stated 0.2", worst)
	}
}

// The length of a degree on WGS 84, as tabled in many handbooks (values from
// memory): at the equator 111.320 and 110.574 km, at 45 degrees 78.847 and
// 111.132 km, at the pole 0 and 111.694 km.
func TestDegree(t *testing.T) {
	for _, test := range []struct{ lat, perLonM, perLatM float64 }{
		{0, 111320, 110574},
		{45, 78847, 111132},
		{90, 0, 111694},
	} {
		perLonM, perLatM := earth.DegreeM(test.lat)
		if math.Abs(perLonM-test.perLonM) > 1 || math.Abs(perLatM-test.perLatM) > 1 {
			t.Errorf("at %g: %.1f and %.1f m, want %g and %g", test.lat, perLonM, perLatM, test.perLonM, test.perLatM)
		}
	}
}

func TestDistanceOfOppositePoints(t *testing.T) {
	for _, p := range []pair{{0, 0, 180, 0}, {0, 90, 0, -90}, {-59.363095261683704, 12.3, 120.6369047383163, -12.3},
		{180, 4.76837158203125e-07, 9.5367431640625e-07, 4.76837158203125e-07}} {
		got := earth.DistanceM(p.lon1, p.lat1, p.lon2, p.lat2)
		if !(math.Abs(got/20003931.4586-1) < 6e-3) { // half a meridian, the longest geodesic (GeodSolve)
			t.Errorf("%v: %g m", p, got)
		}
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(-180, 180)
		lat := rapid.Float64Range(-90, 90)
		p := pair{lon.Draw(t, "lon1"), lat.Draw(t, "lat1"), lon.Draw(t, "lon2"), lat.Draw(t, "lat2")}
		there := earth.DistanceM(p.lon1, p.lat1, p.lon2, p.lat2)
		back := earth.DistanceM(p.lon2, p.lat2, p.lon1, p.lat1)
		if !(there >= 0 && there < 2.02e7) || math.Abs(there-back) > 1e-6+1e-9*there {
			t.Fatalf("%v: %g m there, %g m back", p, there, back)
		}
		opposite := pair{p.lon1, p.lat1, p.lon1 + 180 + p.lon2*1e-7, max(-90, min(90, p.lat2*1e-7-p.lat1))}
		if far := earth.DistanceM(opposite.lon1, opposite.lat1, opposite.lon2, opposite.lat2); !(math.Abs(far/2.0e7-1) < 1e-2) {
			t.Fatalf("%v: %g m between opposite sides", opposite, far)
		}
		if same := earth.DistanceM(p.lon1, p.lat1, p.lon1, p.lat1); same != 0 {
			t.Fatalf("a place is %g m from itself", same)
		}
		d := earth.LonDelta(p.lon1, p.lon2)
		if !(d > -180 && d <= 180) || math.Abs(math.Remainder(p.lon1+d-p.lon2, 360)) > 1e-12*360 {
			t.Fatalf("LonDelta(%g, %g) = %g", p.lon1, p.lon2, d)
		}
	})
}

func Example() {
	// From one end of a street to the other, 0.01 degrees further east.
	fmt.Printf("%.1f m\n", earth.DistanceM(10, 50, 10.01, 50))
	fmt.Printf("%.1f m on a sphere\n", earth.GreatCircleM(10, 50, 10.01, 50))
	fmt.Printf("%.0f degrees\n", earth.BearingDeg(10, 50, 10.01, 50))
	// Output:
	// 717.0 m
	// 714.7 m on a sphere
	// 90 degrees
}

func BenchmarkDistanceM(b *testing.B) {
	sum := 0.0
	for b.Loop() {
		sum += earth.DistanceM(10, 50, 10.01, 50.01)
	}
	if sum == 0 {
		b.Fatal("no distance")
	}
}

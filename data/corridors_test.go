package data_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/route/earth"
	"ampleway/testdata"

	"github.com/ringsaturn/tzf"
)

// corridor is a corridor file as RFC 7946 has it.
type corridor struct {
	Type       string
	Properties struct {
		Name     string
		Note     string
		SpeedKmh []float64 `json:"speed_kmh"`
	}
	Geometry struct {
		Type        string
		Coordinates [][3]float64
	}
}

func readCorridor(t *testing.T, name string) (c corridor, alongM []float64) {
	t.Helper()
	content, err := data.Corridor(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(content, &c); err != nil {
		t.Fatal(err)
	}
	p := c.Geometry.Coordinates
	if c.Type != "Feature" || c.Geometry.Type != "LineString" || len(c.Properties.SpeedKmh) != len(p)-1 {
		t.Fatalf("%s: a %s of a %s with %d positions and %d speeds", name, c.Type, c.Geometry.Type, len(p), len(c.Properties.SpeedKmh))
	}
	alongM = make([]float64, len(p))
	for i := 1; i < len(p); i++ {
		alongM[i] = alongM[i-1] + earth.DistanceM(p[i-1][0], p[i-1][1], p[i][0], p[i][1])
	}
	return c, alongM
}

// geodesicM sums WGS 84 geodesics with GeographicLib's GeodSolve (Karney 2013).
func geodesicM(t *testing.T, positions [][3]float64) float64 {
	t.Helper()
	tool := testdata.Tool(t, "GeodSolve")
	var in bytes.Buffer
	for i := 1; i < len(positions); i++ {
		a, b := positions[i-1], positions[i]
		fmt.Fprintf(&in, "%g %g %g %g\n", a[1], a[0], b[1], b[0])
	}
	cmd := exec.Command(tool, "-i", "-p", "3")
	cmd.Stdin = &in
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var sumM float64
	for line := range strings.Lines(string(out)) {
		var azimuth1, azimuth2, lengthM float64
		if _, err := fmt.Sscan(line, &azimuth1, &azimuth2, &lengthM); err != nil {
			t.Fatalf("GeodSolve said %q: %v", line, err)
		}
		sumM += lengthM
	}
	return sumM
}

func TestLengths(t *testing.T) {
	for name, bandKm := range map[string][2]float64{"pass": {500, 700}, "upland": {300, 400}, "north": {900, 1000}} {
		t.Run(name, func(t *testing.T) {
			c, alongM := readCorridor(t, name)
			lengthM := geodesicM(t, c.Geometry.Coordinates)
			if lengthM < bandKm[0]*1000 || lengthM > bandKm[1]*1000 {
				t.Errorf("%.1f km, want %v", lengthM/1000, bandKm)
			}
			if own := alongM[len(alongM)-1]; math.Abs(own-lengthM) > 1e-5*lengthM {
				t.Errorf("%.3f km by earth.DistanceM, %.3f km by geodesics", own/1000, lengthM/1000)
			}
		})
	}
}

func TestVerticesAreAsDenseAsARoadNeeds(t *testing.T) {
	for name, least := range map[string]int{"pass": 3000, "upland": 2000, "north": 3000} {
		c, alongM := readCorridor(t, name)
		p := c.Geometry.Coordinates
		if len(p) < least || len(p) > 6000 {
			t.Errorf("%s has %d positions, want %d to 6,000", name, len(p), least)
		}
		for i := 1; i < len(p); i++ {
			if d := alongM[i] - alongM[i-1]; d < 5 || d > 300 {
				t.Errorf("%s: piece %d is %.0f m long", name, i-1, d)
			}
			if i+1 == len(p) {
				continue
			}
			in := earth.BearingDeg(p[i-1][0], p[i-1][1], p[i][0], p[i][1])
			out := earth.BearingDeg(p[i][0], p[i][1], p[i+1][0], p[i+1][1])
			if turn := math.Abs(earth.LonDelta(in, out)); turn > 75 {
				t.Errorf("%s turns by %.0f° at position %d", name, turn, i)
			}
		}
	}
}

func TestGradesAreThoseOfARoad(t *testing.T) {
	for _, name := range data.Corridors() {
		c, alongM := readCorridor(t, name)
		p := c.Geometry.Coordinates
		for i := 1; i < len(p); i++ {
			if grade := (p[i][2] - p[i-1][2]) / (alongM[i] - alongM[i-1]); math.Abs(grade) > 0.10 {
				t.Errorf("%s: grade %.1f %% at %.1f km", name, grade*100, alongM[i]/1000)
			}
			if p[i][2] < 1 {
				t.Errorf("%s lies at %.1f m at %.1f km", name, p[i][2], alongM[i]/1000)
			}
		}
	}
}

func TestThePassIsAPass(t *testing.T) {
	c, alongM := readCorridor(t, "pass")
	top := 0
	for i, p := range c.Geometry.Coordinates {
		if p[2] > c.Geometry.Coordinates[top][2] {
			top = i
		}
	}
	if h := c.Geometry.Coordinates[top][2]; h < 1500 || h > 1900 {
		t.Errorf("the pass is %.0f m high, want 1,500 to 1,900", h)
	}
	if km := alongM[top] / 1000; km < 150 || km > 300 {
		t.Errorf("the pass is at %.0f km, want it in the first half but not at the start", km)
	}
}

// kmWhere is the length of the pieces that a test holds for.
func kmWhere(c corridor, alongM []float64, holds func(i int) bool) float64 {
	var km float64
	for i := range c.Properties.SpeedKmh {
		if holds(i) {
			km += (alongM[i+1] - alongM[i]) / 1000
		}
	}
	return km
}

func TestSpeedsAreThoseOfItsRoads(t *testing.T) {
	for _, name := range data.Corridors() {
		c, alongM := readCorridor(t, name)
		for i, v := range c.Properties.SpeedKmh {
			if v < 25 || v > 130 {
				t.Errorf("%s: %.0f km/h at %.1f km", name, v, alongM[i]/1000)
			}
		}
	}
	c, alongM := readCorridor(t, "pass")
	speed := c.Properties.SpeedKmh
	if km := kmWhere(c, alongM, func(i int) bool { return speed[i] >= 110 }); km < 150 || km > 400 {
		t.Errorf("%.0f km at motorway speed", km)
	}
	middle := func(i int) bool { return alongM[i] > 100_000 && alongM[i] < 500_000 }
	if km := kmWhere(c, alongM, func(i int) bool { return middle(i) && speed[i] <= 50 }); km < 5 {
		t.Errorf("%.1f km through towns on the way", km)
	}
}

func TestTheCoastRunsIntoTheWind(t *testing.T) {
	trip := readTrip(t)
	c, alongM := readCorridor(t, trip.Corridor)
	p := c.Geometry.Coordinates
	share := func(from, to string) (headShare, lengthKm float64) {
		a, b := nearestVertex(t, c, placeNamed(t, from)), nearestVertex(t, c, placeNamed(t, to))
		for i := a; i < b; i++ {
			bearing := earth.BearingDeg(p[i][0], p[i][1], p[i+1][0], p[i+1][1])
			headShare += (alongM[i+1] - alongM[i]) * math.Cos((trip.WindFromDeg-bearing)*math.Pi/180)
		}
		return headShare / (alongM[b] - alongM[a]), (alongM[b] - alongM[a]) / 1000
	}
	if head, km := share("Lowen Strand", "Quarrel Head"); head < 0.85 || km < 100 {
		t.Errorf("on %.0f km of coast %.0f %% of the wind is head wind, want 85 %% on 100 km", km, head*100)
	}
	if head, _ := share("Velmouth", "Marl Cross"); math.Abs(head) > 0.5 {
		t.Errorf("inland %.0f %% of the wind is head wind, want at most half", head*100)
	}
}

// TestThePlaceIsOpenWater asks a map of the world's time zones (tzf, from the
// timezone-boundary-builder data): zones named Etc/GMT are those of the oceans.
func TestThePlaceIsOpenWater(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: loading the map of time zones takes seconds")
	}
	finder, err := tzf.NewDefaultFinder()
	if err != nil {
		t.Fatal(err)
	}
	if zone := finder.GetTimezoneName(-149.9, 61.2); zone != "America/Anchorage" {
		t.Fatalf("the map puts Anchorage in %q", zone)
	}
	for _, name := range data.Corridors() {
		c, _ := readCorridor(t, name)
		for i := 0; i < len(c.Geometry.Coordinates); i += 25 {
			p := c.Geometry.Coordinates[i]
			if zone := finder.GetTimezoneName(p[0], p[1]); zone != "Etc/GMT+10" {
				t.Fatalf("%s, position %d (%g, %g) lies in %q, not in open water ten hours behind UTC", name, i, p[0], p[1], zone)
			}
		}
	}
}

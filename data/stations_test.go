package data_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/route/earth"
)

type place struct {
	Properties struct {
		Name       string
		ElevationM float64 `json:"elevation_m"`
	}
	Geometry struct{ Coordinates [2]float64 }
}

func placeNamed(t *testing.T, name string) place {
	t.Helper()
	var v struct{ Features []place }
	if err := json.Unmarshal(data.Places(), &v); err != nil {
		t.Fatal(err)
	}
	for _, p := range v.Features {
		if p.Properties.Name == name {
			return p
		}
	}
	t.Fatalf("no place %s", name)
	return place{}
}

func nearestVertex(t *testing.T, c corridor, p place) int {
	t.Helper()
	i, d := nearest(c, p.Geometry.Coordinates)
	if d > 5 {
		t.Fatalf("%s is %.0f m off the corridor", p.Properties.Name, d)
	}
	return i
}

// nearest returns the vertex nearest to a position and how far it is in m.
func nearest(c corridor, at [2]float64) (vertex int, distanceM float64) {
	const degreeM = 70_000 // less than any degree at these latitudes
	distanceM = math.Inf(1)
	for i, p := range c.Geometry.Coordinates {
		if max(math.Abs(p[0]-at[0]), math.Abs(p[1]-at[1]))*degreeM > distanceM {
			continue
		}
		if d := earth.DistanceM(at[0], at[1], p[0], p[1]); d < distanceM {
			vertex, distanceM = i, d
		}
	}
	return vertex, distanceM
}

type site struct {
	ID         string
	Properties struct {
		Name, Operator, Access, Status, Hours, Zone, Note string
		Stalls                                            []struct {
			Count      int
			Status     string
			Group      int
			GroupKW    float64 `json:"group_kw"`
			Connectors []struct {
				Type    string
				DC      bool
				PowerKW float64 `json:"power_kw"`
				MaxA    float64 `json:"max_a"`
				MaxV    float64 `json:"max_v"`
				Phases  int
			}
		}
		SharedKW float64 `json:"shared_kw"`
		Price    *struct {
			Currency      string
			SessionFee    float64 `json:"session_fee"`
			PerKWh        float64 `json:"per_kwh"`
			IdlePerMinute float64 `json:"idle_per_minute"`
			Bands         []json.RawMessage
			Periods       []json.RawMessage
		}
		Amenities []string
	}
	Geometry struct{ Coordinates [2]float64 }
}

func readSites(t *testing.T) []site {
	t.Helper()
	var v struct{ Features []site }
	if err := json.Unmarshal(data.Stations(), &v); err != nil {
		t.Fatal(err)
	}
	return v.Features
}

// dcKW is the most power a site has on a direct-current connector of a type.
func (s site) dcKW(types ...string) float64 {
	var most float64
	for _, stall := range s.Properties.Stalls {
		for _, c := range stall.Connectors {
			if c.DC && (len(types) == 0 || slices.Contains(types, c.Type)) {
				most = max(most, c.PowerKW)
			}
		}
	}
	return most
}

// along gathers the sites within 5 km of a corridor's vertices.
func along(t *testing.T, name string) []site {
	t.Helper()
	c, _ := readCorridor(t, name)
	var near []site
	for _, s := range readSites(t) {
		if _, d := nearest(c, s.Geometry.Coordinates); d < 5000 {
			near = append(near, s)
		}
	}
	return near
}

func count(sites []site, holds func(site) bool) int {
	n := 0
	for _, s := range sites {
		if holds(s) {
			n++
		}
	}
	return n
}

func TestNumberOfSitesAlongEachCorridor(t *testing.T) {
	for name, band := range map[string][2]int{"pass": {40, 70}, "upland": {12, 30}, "north": {12, 30}} {
		if n := len(along(t, name)); n < band[0] || n > band[1] {
			t.Errorf("%d sites along %s, want %d to %d", n, name, band[0], band[1])
		}
	}
}

func TestEverySiteIsNearACorridorAndSound(t *testing.T) {
	var corridors []corridor
	for _, name := range data.Corridors() {
		c, _ := readCorridor(t, name)
		corridors = append(corridors, c)
	}
	seen := make(map[string]bool)
	for _, s := range readSites(t) {
		p := s.Properties
		nearestM := math.Inf(1)
		for _, c := range corridors {
			_, d := nearest(c, s.Geometry.Coordinates)
			nearestM = min(nearestM, d)
		}
		if nearestM > 5000 {
			t.Errorf("%s is %.0f m from every corridor", p.Name, nearestM)
		}
		if seen[s.ID] || s.ID == "" || p.Name == "" || p.Operator == "" || p.Hours == "" || p.Zone != "Etc/GMT+10" {
			t.Errorf("%q: %+v", s.ID, p)
		}
		seen[s.ID] = true
		for _, stall := range p.Stalls {
			for _, c := range stall.Connectors {
				lowKW, highKW := 50.0, 350.0
				if !c.DC {
					lowKW, highKW = 7, 22
				}
				if c.PowerKW < lowKW || c.PowerKW > highKW || stall.Count < 1 {
					t.Errorf("%s: %d stalls with %+v", p.Name, stall.Count, c)
				}
			}
		}
		if p.Price != nil && p.Price.Currency != "EUR" {
			t.Errorf("%s is priced in %q", p.Name, p.Price.Currency)
		}
	}
}

func TestTheMainCorridorHasOneOfEachTrap(t *testing.T) {
	sites := along(t, "pass")
	c, _ := readCorridor(t, "pass")
	offM := func(s site) float64 {
		_, d := nearest(c, s.Geometry.Coordinates)
		return d
	}
	traps := []struct {
		what  string
		least int
		most  int
		holds func(site) bool
	}{
		{"closed", 1, 1, func(s site) bool { return s.Properties.Status == "closed" }},
		{"planned", 1, 1, func(s site) bool { return s.Properties.Status == "planned" }},
		{"private", 1, 1, func(s site) bool { return s.Properties.Access == "private" }},
		{"fast, with the wrong plug", 1, 1, func(s site) bool { return s.dcKW() > 0 && s.dcKW("CCS2") == 0 }},
		{"open by day only", 1, 3, func(s site) bool { return s.Properties.Hours != "24/7" }},
		{"with a stall out of order", 1, 1, func(s site) bool {
			return strings.Contains(s.Properties.Stalls[0].Status, "out of order")
		}},
		{"150 kW and 200 A", 1, 1, func(s site) bool {
			c := s.Properties.Stalls[0].Connectors[0]
			return c.PowerKW == 150 && c.MaxA == 200
		}},
		{"50 kW and 125 A beside the road", 3, 20, func(s site) bool {
			c := s.Properties.Stalls[0].Connectors[0]
			return c.PowerKW == 50 && c.MaxA == 125 && offM(s) < 350
		}},
		{"350 kW and over 3 km off", 1, 1, func(s site) bool { return s.dcKW() == 350 && offM(s) > 3000 }},
		{"1 to 4 km off", 6, 20, func(s site) bool { return offM(s) > 1000 && offM(s) < 4000 }},
		{"sharing power between stalls", 2, 5, func(s site) bool { return s.Properties.Stalls[0].GroupKW > 0 }},
		{"sharing power over the site", 1, 2, func(s site) bool { return s.Properties.SharedKW > 0 }},
		{"priced by the hour of day", 1, 1, func(s site) bool { return s.Properties.Price != nil && s.Properties.Price.Periods != nil }},
		{"priced by the minute", 2, 4, func(s site) bool { return s.Properties.Price != nil && s.Properties.Price.Bands != nil }},
		{"with a session fee", 2, 4, func(s site) bool { return s.Properties.Price != nil && s.Properties.Price.SessionFee > 0 }},
		{"with an idle fee", 4, 30, func(s site) bool { return s.Properties.Price != nil && s.Properties.Price.IdlePerMinute > 0 }},
		{"AC only", 8, 14, func(s site) bool { return s.dcKW() == 0 }},
		{"with a restaurant", 6, 20, func(s site) bool { return slices.Contains(s.Properties.Amenities, "restaurant") }},
	}
	for _, trap := range traps {
		if n := count(sites, trap.holds); n < trap.least || n > trap.most {
			t.Errorf("%d sites %s, want %d to %d", n, trap.what, trap.least, trap.most)
		}
	}
}

func TestTheNorthHasAThinStretch(t *testing.T) {
	c, alongM := readCorridor(t, "north")
	at := []float64{0, alongM[len(alongM)-1]}
	for _, s := range along(t, "north") {
		if s.dcKW() > 0 {
			i, _ := nearest(c, s.Geometry.Coordinates)
			at = append(at, alongM[i])
		}
	}
	slices.Sort(at)
	var gaps []float64
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, (at[i]-at[i-1])/1000)
	}
	slices.Sort(gaps)
	slices.Reverse(gaps)
	if gaps[0] < 180 || gaps[0] > 230 || gaps[1] > 120 {
		t.Errorf("longest stretches without a fast charger %.0f and %.0f km, want one of 180 to 230 and no other over 120", gaps[0], gaps[1])
	}
}

package stops_test

import (
	"math"
	"testing"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// oneOfMany is a road of 60 km pieces with a charger after each but the last.
// Power falls so steeply that short stops at many of them beat long ones at
// few.
func oneOfMany(t *testing.T, chargers int) *stops.Problem {
	t.Helper()
	f, err := taper.New(taper.Curve{{SoC: 0, PowerKW: 150}, {SoC: 0.3, PowerKW: 150}, {SoC: 1, PowerKW: 10}}, 60)
	if err != nil {
		t.Fatal(err)
	}
	p := &stops.Problem{CapacityKWh: 60, DepartSoC: 0.5, ReserveSoC: 0.05, Road: [][]stops.Leg{nil}}
	for i := range chargers + 1 {
		p.Road[0] = append(p.Road[0], stops.Leg{TimeS: 2160, NeedKWh: 12, CostKWh: 12})
		if i < chargers {
			p.Chargers = append(p.Chargers, stops.Charger{Power: f, ReserveSoC: 0.05, OverheadS: float64(10 * (i%3 + 1))})
		}
	}
	return p
}

// fewest tries every choice of stops, each with the others passed and no limit
// on their number.
func fewest(t *testing.T, chargers, most int) float64 {
	t.Helper()
	best := math.Inf(1)
	for set := range 1 << chargers {
		p := oneOfMany(t, chargers)
		stopsHere := 0
		for i := range p.Chargers {
			p.Chargers[i].Use = stops.MustPass
			if set>>i&1 == 1 {
				p.Chargers[i].Use = stops.MustStop
				stopsHere++
			}
		}
		if stopsHere > most {
			continue
		}
		if plan, err := stops.Solve(p); err == nil {
			best = math.Min(best, plan.Value)
		}
	}
	return best
}

// A limit on the number of stops that binds gives the best of all plans within
// it, and each stop more allowed is worth something here.
func TestMostStopsBinds(t *testing.T) {
	const chargers = 7
	last := math.Inf(1)
	for most := 2; most <= 4; most++ {
		p := oneOfMany(t, chargers)
		p.MostStops = most
		plan, err := stops.Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := stops.Verify(p, plan); err != nil {
			t.Error(err)
		}
		if want := fewest(t, chargers, most); math.Abs(plan.Value-want) > 1e-6 {
			t.Errorf("at most %d stops: %v s, but %v s is possible", most, plan.Value, want)
		}
		if len(plan.Stops) != most || plan.Value >= last {
			t.Errorf("at most %d stops: makes %d, takes %v s after %v s", most, len(plan.Stops), plan.Value, last)
		}
		last = plan.Value
	}
}

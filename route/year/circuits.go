package year

import (
	"ampleway/energy"
	"ampleway/energy/home"
)

// CircuitYear is the year with one circuit at home: what tells circuits apart.
type CircuitYear struct {
	Name    string // empty: as the household is
	Circuit energy.Circuit
	Charge  []energy.ACCharge // of each car
	home.Result

	HoursToFull float64 // see home.Household.HoursToFull
	AfterTrip   bool
}

func newCircuitYear(name string, circuit energy.Circuit, h *home.Household, r home.Result) CircuitYear {
	out := CircuitYear{Name: name, Circuit: circuit, Result: r}
	for i := range h.Cars {
		out.Charge = append(out.Charge, h.Cars[i].Charge)
	}
	out.HoursToFull, out.AfterTrip = h.HoursToFull()
	return out
}

// way is a circuit that others are compared with.
type way struct {
	name    string
	circuit energy.Circuit
	shared  bool // by all cars; otherwise each car has one
}

// What a household is compared with: a 120 V outlet on a 15 A breaker and a
// 240 V circuit of 40 A, of which 80 % may be drawn for hours on end (NEC
// 625.42); a household outlet of 230 V at 10 A, as portable chargers for it
// draw (common practice, from memory), and a circuit of 230 V of its own for
// 32 A.
var (
	level1    = way{"level 1 outlet: 120 V, 15 A", energy.Circuit{VoltageV: 120, BreakerA: 15}, false}
	level2    = way{"level 2 circuit: 240 V, 40 A", energy.Circuit{VoltageV: 240, BreakerA: 40}, true}
	outlet230 = way{"ordinary outlet: 230 V, 10 A", energy.Circuit{VoltageV: 230, BreakerA: 16, CableA: 10}, false}
	wall230   = way{"level 2 circuit: 230 V, 32 A", energy.Circuit{VoltageV: 230, BreakerA: 40}, true}
)

// waysBeside are the circuits that are usual where a household's circuit is
// found, but for that circuit itself.
func waysBeside(c *Circuit) []way {
	all := []way{level1, outlet230, level2}
	if c != nil {
		all = []way{level1, level2}
		if c.Phases == 3 || c.VoltageV > 210 && c.VoltageV < 240 || c.VoltageV > 250 {
			all = []way{outlet230, wall230}
		}
	}
	var out []way
	for _, w := range all {
		if c == nil || c.energy() != w.circuit {
			out = append(out, w)
		}
	}
	return out
}

// otherCircuits are what the cars draw on the circuits beside the household's.
func (r *Result) otherCircuits() ([]way, []home.Circuits, error) {
	ways := waysBeside(r.Inputs.Household.Circuit)
	var out []home.Circuits
	for _, w := range ways {
		var c home.Circuits
		if w.shared {
			c.FeedKW = w.circuit.PowerKW()
		}
		for _, car := range r.Inputs.Cars {
			charge, err := car.AC.On(w.circuit)
			if err != nil {
				return nil, nil, err
			}
			c.Charge = append(c.Charge, charge)
		}
		out = append(out, c)
	}
	return ways, out, nil
}

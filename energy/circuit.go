package energy

import (
	"fmt"
	"math"
	"strconv"

	"ampleway/data/fault"
)

// ElectricianDecides is the caution that goes with every figure about a
// circuit.
const ElectricianDecides = "Circuit figures are arithmetic, not a design: the local electrical code applies and a licensed electrician decides."

// Circuit is an AC supply: an outlet or a wall charger on its own breaker.
type Circuit struct {
	VoltageV float64 // line to line on one phase or split phase, line to neutral on three phases; > 0
	BreakerA float64 // rating of the overcurrent device, > 0
	Phases   int     // 1 or 3; 0: 1
	CableA   float64 // most current the charger or its cable offers; 0: only the breaker limits
}

// continuousShare is how much of its breaker's rating a circuit may carry for
// a vehicle, a continuous load: NFPA 70 (NEC) 625.41 and 625.42 ask for a
// device of at least 125 % of the load.
const continuousShare = 0.8

// ContinuousA returns the current in A that a breaker of the given rating may
// carry while a vehicle charges: 80 % of it.
func ContinuousA(breakerA float64) float64 { return continuousShare * breakerA }

// Validate says what is wrong with the figures of c.
func (c Circuit) Validate() error {
	for _, f := range []struct {
		field      string
		value, top float64
	}{{"VoltageV", c.VoltageV, 1000}, {"BreakerA", c.BreakerA, 1000}} {
		if !(f.value > 0 && f.value <= f.top) {
			return &fault.Input{Field: f.field, Found: figure(f.value), Expected: fmt.Sprintf("more than 0 and at most %g", f.top)}
		}
	}
	if !(c.CableA >= 0 && c.CableA <= 1000) {
		return &fault.Input{Field: "CableA", Found: figure(c.CableA), Expected: "0 (no limit of its own) to 1000"}
	}
	if c.Phases != 0 && c.Phases != 1 && c.Phases != 3 {
		return &fault.Input{Field: "Phases", Found: strconv.Itoa(c.Phases), Expected: "1 or 3"}
	}
	return nil
}

// Level is 1 for a household outlet of at most 130 V and 2 for everything
// above, as SAE J1772 names AC charging.
func (c Circuit) Level() int {
	if c.VoltageV <= 130 && c.phases() == 1 {
		return 1
	}
	return 2
}

func (c Circuit) phases() int { return max(c.Phases, 1) }

// OfferA returns the current in A that the circuit offers on each phase.
func (c Circuit) OfferA() float64 {
	a := ContinuousA(c.BreakerA)
	if c.CableA > 0 {
		a = min(a, c.CableA)
	}
	return a
}

// PowerKW returns what the circuit offers: volts × amps × phases.
func (c Circuit) PowerKW() float64 { return c.offerKW(c.phases()) }

func (c Circuit) offerKW(phases int) float64 {
	return c.VoltageV * c.OfferA() * float64(phases) / 1000
}

// ACCharge is what flows when a car charges on a circuit.
type ACCharge struct {
	OutletKW   float64 // drawn from the circuit
	BatteryKW  float64 // into the battery
	CurrentA   float64 // on each phase in use
	Efficiency float64 // BatteryKW over OutletKW
	Limit      string  // what limits it: "circuit" or "car"
}

// level1Share is the efficiency on level 1 over that on level 2: the same
// overhead lasts longer. VEIC measured 3 % on average (13 % on short charges).
const level1Share = 1 / 1.03

// On returns what flows on circuit c: the least of the circuit's continuous
// current, the car's current and the car's power, on the phases both have.
func (o OnBoard) On(c Circuit) (ACCharge, error) {
	if err := c.Validate(); err != nil {
		return ACCharge{}, err
	}
	if !(o.PowerKW > 0) {
		return ACCharge{}, &fault.Input{Field: "on-board charger power", Found: figure(o.PowerKW), Expected: "more than 0 kW: the car does not charge on AC"}
	}
	if !(o.Efficiency > 0 && o.Efficiency <= 1) {
		return ACCharge{}, &fault.Input{Field: "on-board charger efficiency", Found: figure(o.Efficiency), Expected: "more than 0 and at most 1"}
	}
	phases := min(c.phases(), max(o.Phases, 1))
	perA := c.VoltageV * float64(phases) / 1000
	a, limit := c.OfferA(), "circuit"
	if o.CurrentA > 0 && o.CurrentA < a {
		a, limit = o.CurrentA, "car"
	}
	if a*perA > o.PowerKW {
		a, limit = o.PowerKW/perA, "car"
	}
	eff := o.Efficiency
	if c.Level() == 1 {
		eff *= level1Share
	}
	outlet := a * perA
	return ACCharge{OutletKW: outlet, BatteryKW: outlet * eff, CurrentA: a, Efficiency: eff, Limit: limit}, nil
}

func figure(x float64) string {
	if math.Trunc(x) == x && math.Abs(x) < 1e15 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', 6, 64)
}

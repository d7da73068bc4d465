package stops

import (
	"fmt"
	"math"
)

// Goal is what a plan is best at.
type Goal uint8

const (
	LeastTime    Goal = iota // total time, s
	LeastMoney               // money; of equally cheap plans a quick one (see [Objective.weights])
	TimeAndMoney             // money plus time at a stated value
	FewestStops              // number of stops, then time
)

// Objective is a goal with its one parameter.
type Objective struct {
	Goal         Goal
	MoneyPerHour float64 // the value of an hour, for TimeAndMoney and for the BurdenS of LeastMoney, ≥ 0
}

const (
	// stopWeightS makes the number of stops outweigh any time: 10⁷ s, 115 days.
	stopWeightS = 1e7
	// tieStopS makes the plan with fewer stops the better of two that are
	// equal to within a microsecond.
	tieStopS = 1e-6
	// tieMoneyPerS makes the quicker the better of two equally cheap plans: a
	// day of it is worth less than a ten-thousandth of a unit of money.
	tieMoneyPerS = 1e-9
)

// weights turn time, money and stops into the one number that is minimised.
type weights struct {
	perS, perMoney, perStop, perBurdenS float64
}

// Value is the objective of a trip with the given time, money, sum of BurdenS and
// number of stops; see [Plan].
func (o Objective) Value(timeS, money, burdenS float64, stops int) float64 {
	w := o.weights()
	return w.perS*timeS + w.perMoney*money + w.perBurdenS*burdenS + w.perStop*float64(stops)
}

// stop is what stopping at a charger adds besides its time and its price.
func (w weights) stop(c *Charger) float64 { return w.perStop + w.perBurdenS*c.BurdenS }

// rest is what resting at a charger adds besides the stop.
func (w weights) rest(c *Charger) float64 { return w.perBurdenS * c.RestBurdenS }

// weights: the value is in seconds for LeastTime and FewestStops (10⁷ s a
// stop), in money for the other two.
func (o Objective) weights() weights {
	switch o.Goal {
	case LeastMoney:
		return weights{tieMoneyPerS, 1, tieMoneyPerS * tieStopS, o.MoneyPerHour/3600 + tieMoneyPerS}
	case TimeAndMoney:
		perS := o.MoneyPerHour / 3600
		return weights{perS + tieMoneyPerS, 1, tieMoneyPerS * tieStopS, perS + tieMoneyPerS}
	case FewestStops:
		return weights{1, 0, stopWeightS, 1}
	}
	return weights{1, 0, tieStopS, 1}
}

// Rest is a pause that every plan must contain: LeastS seconds at a stretch.
// It is taken during a stay at a charger, begun between FromS and ToS on the
// problem's clock, so that charging and resting overlap.
type Rest struct {
	LeastS     float64 // s; 0 means no rest is asked for
	FromS, ToS float64 // both 0 means at any time
	Brief      bool    // a fraction of the usual work will do; what it leaves open is the plan's Bound
}

// Problem is one trip: a road with chargers along it and a car to drive it.
type Problem struct {
	CapacityKWh float64 // usable energy of the battery, kWh, > 0
	DepartSoC   float64 // SoC at the origin, 0..1
	ReserveSoC  float64 // least SoC at the destination, 0..1
	DepartS     float64 // the clock at departure, s

	// Road[o][i] is, at speed option o, the piece of main road from turn-off i
	// to turn-off i+1; turn-off 0 is the origin, turn-off i the charger i−1,
	// and the last piece leads to the destination: len(Chargers)+1 pieces an
	// option. A plan picks one option for each drive between two stops.
	Road     [][]Leg
	Chargers []Charger

	// Relief is, for each piece of main road, what a Sweep counts on being drawn
	// less than its cost, kWh; nil: nothing. Whoever leaves for a stop must still
	// have what the drive needs by its Leg, but is taken to arrive with the relief
	// more, and decides anew. A Plan does not use it.
	Relief []float64

	Objective Objective
	MostStops int // 0 means no limit
	Rest      Rest
}

// InputError says what is wrong with a problem.
type InputError struct {
	Field    string // "Chargers[3].OverheadS"
	Found    string
	Expected string
}

// Error gives the message on one line.
func (e *InputError) Error() string {
	return fmt.Sprintf("stops: %s: found %s: expected %s", e.Field, e.Found, e.Expected)
}

// Validate returns nil or an [*InputError].
func (p *Problem) Validate() error {
	c := checker{}
	c.number(p.CapacityKWh > 0 && finite(p.CapacityKWh), "CapacityKWh", p.CapacityKWh, "a finite energy above 0 kWh")
	c.share("DepartSoC", p.DepartSoC)
	c.share("ReserveSoC", p.ReserveSoC)
	c.number(len(p.Relief) == 0 || len(p.Relief) == len(p.Chargers)+1, "Relief", float64(len(p.Relief)), "none, or a figure for each piece of road")
	c.number(finite(p.DepartS), "DepartS", p.DepartS, "a finite time")
	c.notNegative("Objective.MoneyPerHour", p.Objective.MoneyPerHour)
	c.number(p.Objective.Goal <= FewestStops, "Objective.Goal", float64(p.Objective.Goal), "one of the four goals")
	c.number(p.MostStops >= 0, "MostStops", float64(p.MostStops), "0 or more")
	c.number(len(p.Road) > 0, "Road", float64(len(p.Road)), "at least one speed option")
	for o, pieces := range p.Road {
		if c.err == nil && len(pieces) != len(p.Chargers)+1 {
			c.fail(fmt.Sprintf("Road[%d]", o), fmt.Sprintf("%d pieces", len(pieces)), fmt.Sprintf("%d, one more than there are chargers", len(p.Chargers)+1))
		}
		for i := range pieces {
			c.leg(&pieces[i], "Road", o, i)
		}
	}
	for i := range p.Chargers {
		c.charger(&p.Chargers[i], i, p.CapacityKWh)
	}
	c.rest(&p.Rest)
	if c.err != nil {
		return c.err
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// checker keeps the first fault. Names are put together only when there is one.
type checker struct{ err *InputError }

func (c *checker) fail(field, found, expected string) {
	if c.err == nil {
		c.err = &InputError{field, found, expected}
	}
}

func (c *checker) number(ok bool, field string, found float64, expected string) {
	if !ok {
		c.fail(field, fmt.Sprint(found), expected)
	}
}

func (c *checker) share(field string, v float64) {
	c.number(v >= 0 && v <= 1, field, v, "a share from 0 to 1")
}

func (c *checker) notNegative(field string, v float64) {
	c.number(v >= 0 && finite(v), field, v, "a finite number of 0 or more")
}

// longestLegS keeps times that are sums and differences of driving times
// precise. It is 30 years.
const longestLegS = 1e9

func (c *checker) leg(l *Leg, field string, at ...int) {
	timeOK := l.TimeS >= 0 && l.TimeS <= longestLegS
	needOK := l.NeedKWh >= 0
	costOK := finite(l.CostKWh)
	capOK := l.CapKWh >= 0
	if timeOK && needOK && costOK && capOK {
		return
	}
	for _, i := range at {
		field += fmt.Sprintf("[%d]", i)
	}
	c.number(timeOK, field+".TimeS", l.TimeS, "a time from 0 to 1e9 s")
	c.number(needOK, field+".NeedKWh", l.NeedKWh, "0 kWh or more")
	c.number(costOK, field+".CostKWh", l.CostKWh, "a finite energy")
	c.number(capOK, field+".CapKWh", l.CapKWh, "0 kWh or more")
}

func (c *checker) charger(g *Charger, i int, capacityKWh float64) {
	sub := checker{}
	sub.leg(&g.In, "In")
	sub.leg(&g.Out, "Out")
	sub.notNegative("OverheadS", g.OverheadS)
	sub.notNegative("BurdenS", g.BurdenS)
	sub.notNegative("RestBurdenS", g.RestBurdenS)
	sub.share("CeilingSoC", g.CeilingSoC)
	sub.share("ReserveSoC", g.ReserveSoC)
	sub.notNegative("LeastStayS", g.LeastStayS)
	sub.notNegative("MostStayS", g.MostStayS)
	sub.number(g.MostStayS == 0 || g.MostStayS >= g.LeastStayS, "MostStayS", g.MostStayS, "no less than LeastStayS")
	sub.number(g.Use <= MustPass, "Use", float64(g.Use), "one of the three uses")
	sub.price("Price", &g.Price)
	if g.Power == nil {
		sub.fail("Power", "nil", "a charging function")
	} else {
		sub.number(math.Abs(g.Power.CapacityKWh()-capacityKWh) <= 1e-9*capacityKWh, "Power", g.Power.CapacityKWh(), "the problem's capacity in kWh")
	}
	for k := range g.Periods {
		q := &g.Periods[k]
		sub.number(!math.IsNaN(q.FromS) && (k == 0 || q.FromS > g.Periods[k-1].FromS), "Periods", q.FromS, "FromS in rising order")
		sub.notNegative("Periods.WaitS", q.WaitS)
		sub.price("Periods.Price", &q.Price)
	}
	if sub.err != nil {
		c.fail(fmt.Sprintf("Chargers[%d].%s", i, sub.err.Field), sub.err.Found, sub.err.Expected)
	}
}

func (c *checker) price(field string, p *Price) {
	for _, v := range [...]struct {
		name string
		v    float64
	}{{".PerKWh", p.PerKWh}, {".PerMinute", p.PerMinute}, {".PerSession", p.PerSession}, {".IdlePerMinute", p.IdlePerMinute}, {".IdleAfterS", p.IdleAfterS}} {
		if !(v.v >= 0 && finite(v.v)) {
			c.notNegative(field+v.name, v.v)
		}
	}
}

func (c *checker) rest(r *Rest) {
	c.notNegative("Rest.LeastS", r.LeastS)
	if r.LeastS == 0 {
		return
	}
	c.number(r.FromS <= r.ToS, "Rest.ToS", r.ToS, "no less than FromS")
}

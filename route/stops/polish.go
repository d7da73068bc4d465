package stops

import (
	"math"
	"slices"
)

// polish moves the departure SoCs of a fixed sequence of stops to where the
// value is least nearby. A stop that is left just when something about it
// changes (its least stay ends, the idle fee begins) is moved along with that
// moment, every other one by its departure SoC.
type polish struct {
	s       *Sweep
	p       *Problem
	w       weights
	choices []choice
	at      []float64 // of each stop: departure SoC, or charging time where timed
	kept    []float64 // the best of at so far
	timed   []bool
}

// improve returns the value after polishing; the choices are changed in place.
func (o *polish) improve(choices []choice) float64 {
	o.choices = choices
	o.at = resize(o.at, len(choices)-1)
	o.timed = resize(o.timed, len(choices)-1)
	best := slices.Clone(choices)
	o.setModes(false)
	least := o.descend()
	copy(best, o.choices)
	o.setModes(true)
	if v := o.descend(); v < least {
		least = v
		copy(best, o.choices)
	}
	copy(choices, best)
	return least
}

// setModes fixes for each stop what moves; with timed, the charging time of
// those that are left at a threshold.
func (o *polish) setModes(timed bool) {
	clock, soc, from := o.p.DepartS, o.p.DepartSoC, 0
	for i := range o.at {
		c := &o.choices[i]
		way := o.s.way(from, c.node, c.option)
		soc = way.arrive(soc)
		clock += o.s.driveS(from, c.node, c.option)
		charger := &o.p.Chargers[c.node-1]
		chargeS := charger.Power.TimeS(soc, c.leaveSoC)
		o.at[i], o.timed[i] = math.Max(c.leaveSoC, soc), false
		if timed && charger.isThreshold(chargeS, c.stayS) {
			o.at[i], o.timed[i] = chargeS, true
		}
		clock, _, _ = o.p.stop(charger, clock, soc, c)
		soc, from = math.Max(soc, c.leaveSoC), c.node
	}
}

func (c *Charger) isThreshold(chargeS, restS float64) bool {
	for _, t := range [...]float64{c.LeastStayS, c.MostStayS, c.Price.IdleAfterS, restS} {
		if t > 0 && math.Abs(chargeS-t) < 1e-3 {
			return true
		}
	}
	return false
}

// evaluate plays the sequence with the present departures.
func (o *polish) evaluate() float64 {
	clock, soc, from := o.p.DepartS, o.p.DepartSoC, 0
	value := 0.0
	for i := range o.choices {
		c := &o.choices[i]
		way := o.s.way(from, c.node, c.option)
		need := math.Max(way.need, way.cost+o.s.nodes[c.node].reserve)
		if soc < need-rounding || way.cap < o.s.nodes[c.node].reserve {
			return math.Inf(1)
		}
		driveS := o.s.driveS(from, c.node, c.option)
		value += o.w.perS * driveS
		clock += driveS
		soc, from = way.arrive(soc), c.node
		if i == len(o.at) {
			return value
		}
		charger := &o.p.Chargers[c.node-1]
		top := math.Max(soc, charger.ceiling())
		c.leaveSoC = o.at[i]
		if o.timed[i] {
			c.leaveSoC = charger.Power.SoCAfter(soc, o.at[i])
		}
		if c.leaveSoC < soc-rounding || c.leaveSoC > top {
			return math.Inf(1)
		}
		c.leaveSoC = math.Max(soc, c.leaveSoC)
		if c.rest && !o.p.Rest.holds(charger, c.join(clock)) {
			return math.Inf(1)
		}
		leaves, money, ok := o.p.stop(charger, clock, soc, c)
		if !ok {
			return math.Inf(1)
		}
		value += o.w.perS*(leaves-clock) + o.w.perMoney*money + o.w.stop(charger)
		if c.rest {
			value += o.w.rest(charger)
		}
		clock, soc = leaves, c.leaveSoC
	}
	return value
}

// descend is a pattern search: every stop alone and every two neighbours
// together, with steps from a grid's width down to nothing.
func (o *polish) descend() float64 {
	best := o.evaluate()
	o.kept = append(o.kept[:0], o.at...)
	for step := 1.0 / gridSteps; step > 1e-9; step /= 2 {
		for moved := true; moved; {
			moved = false
			for i := range o.at {
				for _, m := range [...][2]float64{{1, 0}, {-1, 0}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}} {
					o.shift(i, m, step)
					if v := o.evaluate(); v < best-1e-9 {
						best, moved = v, true
						copy(o.kept, o.at)
					} else {
						copy(o.at, o.kept)
					}
				}
			}
		}
	}
	o.evaluate()
	return best
}

func (o *polish) shift(i int, m [2]float64, step float64) {
	o.at[i] += m[0] * o.scale(i) * step
	if i+1 < len(o.at) {
		o.at[i+1] += m[1] * o.scale(i+1) * step
	}
}

// scale is what one unit of step is for a stop: a whole battery, or an hour.
func (o *polish) scale(i int) float64 {
	if o.timed[i] {
		return 3600
	}
	return 1
}

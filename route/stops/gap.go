package stops

import "math"

// Gap is a drive from one place to another that the battery cannot make: a
// charger each, Origin or Destination.
type Gap struct {
	From, To   int
	MissingKWh float64
}

// FirstGap follows all chargers that can be reached, each left as full as it
// fills, and returns the drive beyond the last of them that lacks least; false
// if energy is not what fails.
func (p *Problem) FirstGap() (Gap, bool) {
	n := len(p.Chargers)
	reached := make([]bool, n+2) // the origin, the chargers, the destination
	reached[0] = true
	last := 0
	for from := 0; from <= n; from++ {
		if reached[from] {
			p.drives(from, 0, func(to int, missing float64) {
				if missing <= 0 {
					reached[to], last = true, max(last, to)
				}
			})
		}
	}
	if reached[n+1] {
		return Gap{}, false
	}
	best := Gap{MissingKWh: math.Inf(1)}
	for from := 0; from <= last; from++ {
		if reached[from] {
			p.drives(from, math.Inf(1), func(to int, missing float64) {
				if to > last && missing < best.MissingKWh {
					best = Gap{from - 1, to - 1, missing}
				}
			})
		}
	}
	if best.To == n {
		best.To = Destination
	}
	return best, true
}

// drives calls visit with what the battery lacks on leaving a node, as full as
// it can be there, to reach each later one with its reserve. It goes on until
// the road alone lacks more than most.
func (p *Problem) drives(from int, most float64, visit func(to int, missingKWh float64)) {
	has, need, cost := p.DepartSoC*p.CapacityKWh, 0.0, 0.0
	if from > 0 {
		c := &p.Chargers[from-1]
		has = c.Power.ReachSoC(c.ReserveSoC)
		if c.CeilingSoC > 0 {
			has = min(has, c.CeilingSoC)
		}
		has *= p.CapacityKWh
		need, cost = c.Out.NeedKWh, c.Out.CostKWh
	}
	for to := from + 1; ; to++ {
		piece := p.Road[0][to-1]
		if math.IsInf(piece.NeedKWh, 1) {
			piece.NeedKWh = piece.CostKWh
		}
		need = max(need, cost+piece.NeedKWh)
		cost += piece.CostKWh
		if need-has > most {
			return
		}
		if to > len(p.Chargers) {
			visit(to, max(need, cost+p.ReserveSoC*p.CapacityKWh)-has)
			return
		}
		if c := &p.Chargers[to-1]; c.Use != MustPass {
			visit(to, max(need, cost+c.In.NeedKWh, cost+c.In.CostKWh+c.ReserveSoC*p.CapacityKWh)-has)
		}
	}
}

package study

import (
	"math"

	"ampleway/route/stops"
)

// gapFinder finds the first stretch of road that cannot be crossed.
type gapFinder struct{ reached []bool }

// stretch is a drive between two places that lacks energy.
type stretch struct {
	from, to   int // a charger, stops.Origin or stops.Destination
	missingKWh float64
}

// first follows all chargers that can be reached, each left as full as it
// fills, and returns the drive beyond the last of them that lacks least; false
// if energy is not what fails. p has no reserves in it.
func (f *gapFinder) first(p *stops.Problem, departSoC float64, a ask) (stretch, bool) {
	n := len(p.Chargers)
	f.reached = append(f.reached[:0], true)
	for range n + 1 {
		f.reached = append(f.reached, false)
	}
	last := 0
	for from := 0; from <= n; from++ {
		if f.reached[from] {
			f.drives(p, from, departSoC, a, 0, func(to int, missing float64) {
				if missing <= 0 {
					f.reached[to], last = true, max(last, to)
				}
			})
		}
	}
	if f.reached[n+1] {
		return stretch{}, false
	}
	best := stretch{missingKWh: math.Inf(1)}
	for from := 0; from <= last; from++ {
		if f.reached[from] {
			f.drives(p, from, departSoC, a, math.Inf(1), func(to int, missing float64) {
				if to > last && missing < best.missingKWh {
					best = stretch{place(from, n), place(to, n), missing}
				}
			})
		}
	}
	return best, true
}

// drives calls visit with what the battery lacks on leaving a node, as full as
// it can be there, to reach each later one with its reserve. It goes on until
// the road alone lacks more than most.
func (f *gapFinder) drives(p *stops.Problem, from int, departSoC float64, a ask, most float64, visit func(to int, missingKWh float64)) {
	n := len(p.Chargers)
	has, need, cost := departSoC*p.CapacityKWh, 0.0, 0.0
	if from > 0 {
		c := &p.Chargers[from-1]
		has = c.Power.ReachSoC(a.reserveSoC)
		if c.CeilingSoC > 0 {
			has = min(has, c.CeilingSoC)
		}
		has *= p.CapacityKWh
		need, cost = c.Out.NeedKWh, c.Out.CostKWh
	}
	floor := a.reserveSoC * p.CapacityKWh
	for to := from + 1; to <= n+1; to++ {
		piece := p.Road[0][to-1]
		if math.IsInf(piece.NeedKWh, 1) {
			piece.NeedKWh = piece.CostKWh
		}
		need = max(need, cost+piece.NeedKWh)
		cost += piece.CostKWh
		if need+floor-has > most {
			return
		}
		if to == n+1 {
			visit(to, max(need+floor, cost+math.Max(a.reserveSoC, a.destSoC)*p.CapacityKWh)-has)
			return
		}
		c := &p.Chargers[to-1]
		if c.Use == stops.MustPass || a.down != nil && a.down[to-1] {
			continue
		}
		visit(to, max(need, cost+c.In.NeedKWh, cost+c.In.CostKWh)+floor-has)
	}
}

func place(node, n int) int {
	if node == n+1 {
		return stops.Destination
	}
	return node - 1
}

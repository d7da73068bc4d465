package study

import (
	"math"

	"ampleway/route/stops"
)

// highestReserve is the highest reserve, as a share of the battery, with which
// a trip can be made: on the road, on reaching every stop, and at the
// destination that or destSoC, whichever is more. p has no reserves in it.
// It is −Inf where the trip cannot be made with none.
//
// Where every stop can charge to the full, the departure from a stop does not
// depend on how it was reached. Then each drive from one stop to the next has
// one highest reserve of its own, and the answer is the widest path: the way
// whose least such figure is greatest. It is exact up to rounding. ok is false
// where a ceiling, a taper that ends early or a limit on stops breaks that
// argument.
func (w *widest) highestReserve(p *stops.Problem, departSoC, destSoC float64) (reserve float64, ok bool) {
	if !splits(p) {
		return 0, false
	}
	n := len(p.Chargers)
	w.best = append(w.best[:0], 1)
	for range n + 1 {
		w.best = append(w.best, math.Inf(-1))
	}
	kWh := p.CapacityKWh
	for j := 0; j <= n; j++ {
		from := span{slack: w.best[j] * kWh, cap: math.Inf(1), depart: departSoC * kWh}
		if w.best[j] < 0 {
			continue
		}
		if j > 0 {
			if p.Chargers[j-1].Use == stops.MustPass {
				continue
			}
			from.depart = kWh
			from.then(p.Chargers[j-1].Out)
		}
		for k := j + 1; k <= n+1 && from.slack >= 0 && from.need <= from.depart; k++ {
			from.then(p.Road[0][k-1])
			w.arrive(p, from, k, destSoC)
		}
	}
	return w.best[n+1], true
}

// widest is memory to be used again.
type widest struct{ best []float64 }

// span is a drive so far, in kWh: what it needs and takes of depart, the most
// that can be there at its end, and the highest reserve it allows.
type span struct{ depart, need, cost, cap, slack float64 }

func (s *span) then(l stops.Leg) {
	limit := l.CapKWh
	if limit == 0 {
		limit = math.Inf(1)
	}
	s.slack = min(s.slack, s.cap-l.NeedKWh)
	s.need = max(s.need, s.cost+l.NeedKWh)
	s.slack = min(s.slack, s.depart-s.need)
	s.cost += l.CostKWh
	s.cap = min(s.cap-l.CostKWh, limit)
}

// arrive enters what a drive to node k allows.
func (w *widest) arrive(p *stops.Problem, s span, k int, destSoC float64) {
	if k <= len(p.Chargers) {
		if p.Chargers[k-1].Use == stops.MustPass {
			return
		}
		s.then(p.Chargers[k-1].In)
	}
	there := min(s.depart-s.cost, s.cap)
	s.slack = min(s.slack, there)
	if k > len(p.Chargers) && there < destSoC*p.CapacityKWh {
		return
	}
	if s.slack >= 0 {
		w.best[k] = max(w.best[k], s.slack/p.CapacityKWh)
	}
}

func splits(p *stops.Problem) bool {
	if p.MostStops > 0 || len(p.Road) != 1 {
		return false
	}
	for i := range p.Chargers {
		c := &p.Chargers[i]
		full := c.CeilingSoC == 0 || c.CeilingSoC == 1
		if !full || c.Use == stops.MustStop || c.Power.ReachSoC(0) < 1 {
			return false
		}
	}
	return true
}

// bisect is the highest share of the battery, to frontierTolerance, for which
// possible holds; −Inf where it does not hold for none.
func bisect(possible func(share float64) bool) float64 {
	if !possible(0) {
		return math.Inf(-1)
	}
	low, high := 0.0, 1.0
	for high-low > frontierTolerance {
		if mid := (low + high) / 2; possible(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// frontierTolerance is how closely a frontier is found where it takes trials,
// as a share of the battery.
const frontierTolerance = 1e-7

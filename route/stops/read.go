package stops

import "math"

// choice is one decision of a plan: the drive to a node and what happens
// there. All else follows from it.
type choice struct {
	node, option int
	leaveSoC     float64 // 0 where nothing is charged
	waits        bool    // until joinS, before joining the queue
	joinS        float64 // on the clock
	stayS        float64 // at least; 0 where charging alone decides
	rest         bool
}

// join is when the queue is joined on arriving at a clock time.
func (c *choice) join(clock float64) float64 {
	if c.waits && c.joinS > clock {
		return c.joinS
	}
	return clock
}

// depart finds the best arc out of a node with soc in the battery, nothing
// being charged there, and r the level of that departure. ok is false where
// no arc leads on.
func (s *Sweep) depart(j, r int, soc float64) (best arc, value float64, ok bool) {
	value = math.Inf(1)
	s.expand(j, soc+rounding)
	for i := range s.arcs {
		a := &s.arcs[i]
		l := s.after(r, a)
		if l == nil {
			continue
		}
		arrive := a.arrive(soc)
		if a.value+l.bound(int(a.to), arrive) >= value {
			continue
		}
		if v := a.value + s.toGo(l, int(a.to), arrive); v < value {
			best, value, ok = *a, v, true
		}
	}
	return best, value, ok
}

// top is the level of a departure from the origin.
func (s *Sweep) top() int {
	if s.limited {
		return len(s.levels)
	}
	return 0
}

// follow appends the choices of the best plan from a departure at node j with
// soc, where r is the level.
func (s *Sweep) follow(out []choice, j, r int, soc float64) ([]choice, bool) {
	a, _, ok := s.depart(j, r, soc)
	for ok {
		l := s.after(r, &a)
		out = s.unroll(out, a.via)
		soc = a.arrive(soc)
		out = append(out, choice{node: int(a.to), option: int(a.option)})
		if int(a.to) == s.n+1 {
			return out, true
		}
		e := s.stepFrom(l, int(a.to), soc)
		if e == nil {
			return out, false
		}
		soc = e.soc
		out[len(out)-1].leaveSoC = soc
		r -= int(a.passed) + 1
		a = s.ways[e.way]
	}
	return out, false
}

// unroll appends the stops without charging of an arc, the first one first.
func (s *Sweep) unroll(out []choice, via int32) []choice {
	if via == noHop {
		return out
	}
	h := s.hops[via]
	out = s.unroll(out, h.before)
	return append(out, choice{node: int(h.node), option: int(h.option)})
}

package stops

import "math"

// choice is one decision of a plan: the drive to a node and what happens
// there. All else follows from it.
type choice struct {
	node, option int
	leaveSoC     float64
	waitS        float64 // before joining the queue
	stayS        float64 // at least; 0 where charging alone decides
	rest         bool
}

// depart finds the best arc out of a node with soc in the battery and
// nothing charged there. ok is false where no arc leads on.
func (s *Sweep) depart(j int, soc float64) (best arc, value float64, ok bool) {
	value = math.Inf(1)
	s.arcs = s.model.direct(j, soc, s.arcs[:0])
	for i := range s.arcs {
		a := &s.arcs[i]
		if v := a.value + s.toGo(int(a.to), a.arrive(soc)); v < value {
			best, value, ok = *a, v, true
		}
	}
	return best, value, ok
}

// follow appends the choices of the best plan from a departure at the origin
// with soc.
func (s *Sweep) follow(out []choice, soc float64) ([]choice, bool) {
	a, _, ok := s.depart(0, soc)
	for ok {
		soc = a.arrive(soc)
		out = append(out, choice{node: int(a.to), option: int(a.option), leaveSoC: soc})
		if int(a.to) == s.n+1 {
			return out, true
		}
		e := s.stepFrom(int(a.to), soc)
		if e == nil {
			return out, false
		}
		soc = e.soc
		out[len(out)-1].leaveSoC = soc
		a = e.arc
	}
	return out, false
}

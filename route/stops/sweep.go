package stops

import (
	"math"
	"sort"
)

// step is one way to leave a charger: with soc, at a total of value from the
// empty battery there, start(a) still to be subtracted. The steps of a
// charger rise in both, so the best on arriving with a is the first with
// soc > a.
type step struct {
	soc, value float64
	arc        arc
}

// Sweep is the cost-to-go of one problem: what it takes to reach the
// destination from every charger, for every SoC on arrival. It is valid until
// its Planner is used again.
type Sweep struct {
	model
	steps   []step
	first   []int // of node j: steps[first[j]:last[j]]
	last    []int
	arcs    []arc
	hops    []hop
	direct  [][]arc
	turns   []float64
	choices []choice
}

// run fills the sweep from the last charger to the first.
func (s *Sweep) run() {
	s.steps = s.steps[:0]
	s.hops = s.hops[:0]
	s.first = resize(s.first, s.n+2)
	s.last = resize(s.last, s.n+2)
	for j := s.n + 1; j >= 1; j-- {
		s.first[j], s.last[j] = len(s.steps), len(s.steps)
		if j <= s.n && s.nodes[j].use != MustPass {
			s.sweepNode(j)
		}
		s.last[j] = len(s.steps)
	}
}

// stepsOf are the ways to leave node j.
func (s *Sweep) stepsOf(j int) []step { return s.steps[s.first[j]:s.last[j]] }

// sweepNode finds the steps of node j from those of the nodes behind it.
func (s *Sweep) sweepNode(j int) {
	s.arcs = s.model.direct(j, s.nodes[j].ceiling, s.arcs[:0])
	for i := range s.arcs {
		s.offerArc(j, &s.arcs[i])
	}
}

// offerArc offers every departure SoC that can be best on an arc.
func (s *Sweep) offerArc(j int, a *arc) {
	from := &s.nodes[j]
	s.offer(j, a, a.need)
	if int(a.to) == s.n+1 {
		return
	}
	high := math.Min(from.ceiling, a.cost+math.Min(a.cap, 1))
	s.turns = turns(s.turns[:0], &s.classes[from.class], &s.classes[s.nodes[a.to].class], a.cost, a.need, high)
	for _, x := range s.turns {
		s.offer(j, a, x)
	}
}

// offer enters a departure from j on arc a with x, if nothing beats it.
func (s *Sweep) offer(j int, a *arc, x float64) {
	from := &s.nodes[j]
	value := from.base + a.value + s.classes[from.class].end(x) + s.toGo(int(a.to), a.arrive(x))
	if !(value < math.Inf(1)) {
		return
	}
	s.steps = insert(s.steps, s.first[j], step{x, value, *a})
}

// insert puts a step among steps[first:], in rising order of soc and value,
// unless it is dominated, and drops what it dominates.
func insert(steps []step, first int, e step) []step {
	own := steps[first:]
	at := sort.Search(len(own), func(i int) bool { return own[i].soc >= e.soc })
	if at < len(own) && own[at].value <= e.value {
		return steps
	}
	end := at
	if end < len(own) && own[end].soc == e.soc {
		end++
	}
	for at > 0 && own[at-1].value >= e.value {
		at--
	}
	if at == end {
		steps = append(steps, step{})
		own = steps[first:]
		copy(own[at+1:], own[at:])
		own[at] = e
		return steps
	}
	own[at] = e
	return append(steps[:first+at+1], own[end:]...)
}

// toGo is the cost-to-go on arriving at node k with a, charging there; 0 at
// the destination, +Inf where charging leads nowhere.
func (s *Sweep) toGo(k int, a float64) float64 {
	if k == s.n+1 {
		return 0
	}
	e := s.stepFrom(k, a)
	if e == nil {
		return math.Inf(1)
	}
	return e.value - s.classes[s.nodes[k].class].start(a)
}

// stepFrom is the best step on arriving at node k with a, or nil.
func (s *Sweep) stepFrom(k int, a float64) *step {
	own := s.stepsOf(k)
	at := sort.Search(len(own), func(i int) bool { return own[i].soc > a })
	if at == len(own) {
		return nil
	}
	c := &s.classes[s.nodes[k].class]
	if c.parted && math.IsInf(c.power.TimeS(a, own[at].soc), 1) {
		return nil
	}
	return &own[at]
}

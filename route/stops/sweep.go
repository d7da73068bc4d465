package stops

import "math"

// step is one way to leave a charger: with soc, at a total of value from the
// empty battery there, start(a) still to be subtracted. The steps of a
// charger fall in both; the best on arriving with a is the last with soc > a.
type step struct {
	soc, value float64
	arc        arc
}

// Sweep is the cost-to-go of one problem: what it takes to reach the
// destination from every charger, for every SoC on arrival. It is valid until
// its Planner is used again.
type Sweep struct {
	model
	steps     []step
	first     []int     // of node k: steps[first[k]:last[k]]
	last      []int     //
	atReserve []float64 // cost-to-go on arriving at node k with its reserve
	bounds    []float64 // no more than the cost-to-go, by node and coarse cell
	arcs      []arc
	hops      []hop
	turns     []float64
	choices   []choice
}

// coarse is how many cells of SoC bound the cost-to-go of a node.
const coarse = 32

// run fills the sweep from the last charger to the first.
func (s *Sweep) run() {
	s.steps = s.steps[:0]
	s.hops = s.hops[:0]
	s.first = resize(s.first, s.n+2)
	s.last = resize(s.last, s.n+2)
	s.atReserve = resize(s.atReserve, s.n+2)
	s.bounds = resize(s.bounds, (s.n+2)*coarse)
	for j := s.n + 1; j >= 1; j-- {
		s.first[j] = len(s.steps)
		if j <= s.n && s.nodes[j].use != MustPass {
			s.sweepNode(j)
		}
		s.last[j] = len(s.steps)
		s.settle(j)
	}
}

// settle tables what the nodes before j look up most.
func (s *Sweep) settle(j int) {
	s.atReserve[j] = s.toGo(j, s.nodes[j].reserve)
	own := s.bounds[j*coarse : (j+1)*coarse]
	if j == s.n+1 {
		clear(own)
		return
	}
	c := &s.classes[max(s.nodes[j].class, 0)]
	steps := s.stepsOf(j)
	at := len(steps) - 1
	for i := range own {
		for at >= 0 && steps[at].soc*coarse <= float64(i) {
			at--
		}
		own[i] = math.Inf(1)
		if at >= 0 {
			own[i] = steps[at].value - c.high[(i+1)*(cells/coarse)-1]
		}
	}
}

// bound returns a value no higher than toGo.
func (s *Sweep) bound(k int, a float64) float64 {
	i := int(a * coarse)
	if i >= coarse {
		i = coarse - 1
	}
	if i < 0 {
		i = 0
	}
	return s.bounds[k*coarse+i]
}

// stepsOf are the ways to leave node j.
func (s *Sweep) stepsOf(j int) []step { return s.steps[s.first[j]:s.last[j]] }

// sweepNode finds the steps of node j from those of the nodes behind it, the
// farthest first: they need most, so that later ones are soon seen to be worse.
func (s *Sweep) sweepNode(j int) {
	s.arcs = s.model.direct(j, s.nodes[j].ceiling, s.arcs[:0])
	for i := len(s.arcs) - 1; i >= 0; i-- {
		s.offerArc(j, &s.arcs[i])
	}
}

// offerArc offers every departure SoC that can be best on an arc.
func (s *Sweep) offerArc(j int, a *arc) {
	from, to := &s.nodes[j], &s.nodes[a.to]
	c := &s.classes[from.class]
	fixed := from.base + a.value
	arrive := a.arrive(a.need)
	if arrive <= to.reserve {
		if v := s.atReserve[a.to]; v < math.Inf(1) {
			s.offer(j, a, a.need, fixed+v, c)
		}
	} else if fixed+c.bound(a.need)+s.bound(int(a.to), arrive) < s.beat(j, a.need) {
		s.offer(j, a, a.need, fixed+s.toGo(int(a.to), arrive), c)
	}
	if to.class < 0 {
		return
	}
	w := anywhere
	if a.cost >= 0 {
		w = s.window(from.class, to.class)
	}
	if w.to <= a.need {
		return
	}
	high := a.cost + min(a.cap, 1)
	if high > from.ceiling {
		high = from.ceiling
	}
	if w.from >= w.to || w.from >= high {
		s.offerTurn(j, a, min(w.to, high), fixed, c)
		return
	}
	low := max(a.need, w.from)
	s.turns = turns(s.turns[:0], c, &s.classes[to.class], a.cost, low, min(w.to, high), low > a.need)
	for _, x := range s.turns {
		s.offerTurn(j, a, x, fixed, c)
	}
}

// offerTurn offers a departure above the least.
func (s *Sweep) offerTurn(j int, a *arc, x, fixed float64, c *class) {
	if x <= a.need {
		return
	}
	arrive := a.arrive(x)
	if fixed+c.bound(x)+s.bound(int(a.to), arrive) < s.beat(j, x) {
		s.offer(j, a, x, fixed+s.toGo(int(a.to), arrive), c)
	}
}

// beat is the value that a departure from j with x must stay under to matter.
func (s *Sweep) beat(j int, x float64) float64 {
	own := s.steps[s.first[j]:]
	for i := len(own) - 1; i >= 0; i-- {
		if own[i].soc >= x {
			return own[i].value
		}
	}
	return math.Inf(1)
}

// offer enters a departure from j on arc a with x, if nothing beats it; rest
// is its value but for the charging at j.
func (s *Sweep) offer(j int, a *arc, x, rest float64, c *class) {
	limit := s.beat(j, x)
	if !(rest+c.bound(x) < limit) {
		return
	}
	value := rest + c.end(x)
	if !(value < limit) {
		return
	}
	s.steps = insert(s.steps, s.first[j], step{x, value, *a})
}

// insert puts a step among steps[first:], which fall in soc and value, and
// drops what it dominates. Nothing there dominates it.
func insert(steps []step, first int, e step) []step {
	end := len(steps) // of those with soc above e's
	for end > first && steps[end-1].soc <= e.soc {
		end--
	}
	keep := end // from here on, of those with less soc, the better ones
	for keep < len(steps) && steps[keep].value >= e.value {
		keep++
	}
	if keep == end {
		steps = append(steps, step{})
		copy(steps[end+1:], steps[end:])
		steps[end] = e
		return steps
	}
	steps[end] = e
	return append(steps[:end+1], steps[keep:]...)
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
	low, high := 0, len(own)
	for low < high {
		mid := (low + high) / 2
		if own[mid].soc > a {
			low = mid + 1
		} else {
			high = mid
		}
	}
	if low == 0 {
		return nil
	}
	e := &own[low-1]
	c := &s.classes[s.nodes[k].class]
	if c.parted && math.IsInf(c.key.power.TimeS(a, e.soc), 1) {
		return nil
	}
	return e
}

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
	steps   []step
	levels  []level
	hops    []hop
	table   table
	arcs    []arc
	onward  []arc
	ownArcs [][]arc
	turns   []float64
	goals   []goal
	choices []choice
}

// level is the cost-to-go where so many more stops are allowed after the one
// at hand; a sweep without a limit has one level only.
type level struct {
	first     []int     // of node k: steps[first[k]:last[k]]
	last      []int     //
	atReserve []float64 // cost-to-go on arriving at node k with its reserve
	bounds    []float64 // no more than the cost-to-go, by node and coarse cell
}

// rounding is how far from the reserve an arrival with just the reserve may be.
const rounding = 1e-12

// coarse is how many cells of SoC bound the cost-to-go of a node.
const coarse = 32

// run fills the sweep from the last charger to the first, for at most so many
// stops (0: any number).
func (s *Sweep) run(most int) {
	s.steps = s.steps[:0]
	s.hops = s.hops[:0]
	count := most
	if most == 0 || most >= s.n {
		count = 1
	}
	s.limited = count == most && most < s.n
	s.levels = resize(s.levels, count)
	for r := range s.levels {
		l := &s.levels[r]
		l.first = resize(l.first, s.n+2)
		l.last = resize(l.last, s.n+2)
		l.atReserve = resize(l.atReserve, s.n+2)
		l.bounds = resize(l.bounds, (s.n+2)*coarse)
	}
	s.table.reset(&s.model)
	for j := s.n + 1; j >= 1; j-- {
		if j <= s.n {
			s.table.back(&s.model, j)
		}
		charging := j <= s.n && s.nodes[j].use != MustPass
		if charging && !(s.whole && !s.limited) {
			s.arcs = s.table.arcs(&s.model, j, s.nodes[j].ceiling, s.arcs[:0])
			s.addPauses(j, s.nodes[j].ceiling)
		}
		for r := range s.levels {
			l := &s.levels[r]
			l.first[j] = len(s.steps)
			if charging {
				s.sweepNode(j, r)
			}
			l.last[j] = len(s.steps)
			s.settle(l, j)
		}
	}
}

// after is the level that holds on arriving at the end of an arc from a stop
// of level r, nil where there are too many stops. At the destination any will
// do.
func (s *Sweep) after(r int, a *arc) *level {
	if !s.limited {
		return &s.levels[0]
	}
	r -= int(a.passed)
	if int(a.to) != s.n+1 {
		r--
	}
	if r < 0 {
		return nil
	}
	return &s.levels[min(r, len(s.levels)-1)]
}

// settle tables what the nodes before j look up most.
func (s *Sweep) settle(l *level, j int) {
	l.atReserve[j] = s.toGo(l, j, s.nodes[j].reserve)
	own := l.bounds[j*coarse : (j+1)*coarse]
	if j == s.n+1 {
		clear(own)
		return
	}
	steps := s.stepsOf(l, j)
	if len(steps) == 0 {
		for i := range own {
			own[i] = math.Inf(1)
		}
		return
	}
	c, perSoC := &s.classes[s.nodes[j].class], s.nodes[j].perSoC/coarse
	at := len(steps) - 1
	for i := range own {
		for at >= 0 && steps[at].soc*coarse <= float64(i) {
			at--
		}
		own[i] = math.Inf(1)
		if at >= 0 {
			own[i] = steps[at].value - c.high[(i+1)*(cells/coarse)-1] - perSoC*float64(i+1)
		}
	}
}

// bound returns a value no higher than toGo.
func (l *level) bound(k int, a float64) float64 {
	i := int(a * coarse)
	if i >= coarse {
		i = coarse - 1
	}
	if i < 0 {
		i = 0
	}
	return l.bounds[k*coarse+i]
}

// stepsOf are the ways to leave node j.
func (s *Sweep) stepsOf(l *level, j int) []step { return s.steps[l.first[j]:l.last[j]] }

// sweepNode finds the steps of node j from those of the nodes behind it, the
// farthest first: they need most, so that later ones are soon seen to be worse.
func (s *Sweep) sweepNode(j, r int) {
	d := &s.nodes[j]
	o := offers{Sweep: s, first: s.levels[r].first[j], node: d, class: &s.classes[d.class]}
	if s.whole && !s.limited {
		o.sift(j, &s.levels[0])
		return
	}
	for i := range s.arcs {
		if l := s.after(r, &s.arcs[i]); l != nil {
			o.arc(&s.arcs[i], l)
		}
	}
}

// offers collects the steps of one node.
type offers struct {
	*Sweep
	first   int // index of its first step
	node    *node
	class   *class
	entered int // steps so far, those dropped again included
}

// arc offers every departure SoC that can be best on an arc, whose end is
// looked up in a level.
func (o *offers) arc(a *arc, l *level) {
	to := &o.nodes[a.to]
	fixed := o.node.base + a.value
	arrive := a.arrive(a.need)
	if arrive <= to.reserve+rounding {
		o.offer(a, a.need, fixed+l.atReserve[a.to])
	} else {
		o.departure(a, l, a.need, fixed)
	}
	if to.class < 0 {
		return
	}
	w := anywhere
	if a.cost >= 0 {
		w = o.window(o.node, to)
	}
	if w.to <= a.need {
		return
	}
	high := a.cost + 1
	if a.cap < 1 {
		high = a.cost + a.cap
	}
	if high > o.node.ceiling {
		high = o.node.ceiling
	}
	if w.from >= w.to || w.from >= high {
		if high > w.to {
			high = w.to
		}
		if high > a.need {
			o.departure(a, l, high, fixed)
		}
		return
	}
	low := max(a.need, w.from)
	o.turns = turns(o.turns[:0], o.class.rate, o.classes[to.class].rate, o.node.perSoC-to.perSoC, a.cost, low, min(w.to, high), low > a.need)
	for _, x := range o.turns {
		o.departure(a, l, x, fixed)
	}
}

// departure offers one departure SoC.
func (o *offers) departure(a *arc, l *level, x, fixed float64) {
	arrive := a.arrive(x)
	if fixed+o.bound(x)+l.bound(int(a.to), arrive) < o.beat(x) {
		o.offer(a, x, fixed+o.toGo(l, int(a.to), arrive))
	}
}

// bound returns a value no higher than that of charging here from empty to x.
func (o *offers) bound(x float64) float64 { return o.class.bound(x) + o.node.perSoC*x }

// beat is the value that a departure with x must stay under to matter.
func (o *offers) beat(x float64) float64 {
	own := o.steps[o.first:]
	for i := len(own) - 1; i >= 0; i-- {
		if own[i].soc >= x {
			return own[i].value
		}
	}
	return math.Inf(1)
}

// offer enters a departure on arc a with x, if nothing beats it; rest is its
// value but for the charging here.
func (o *offers) offer(a *arc, x, rest float64) {
	limit := o.beat(x)
	if !(rest+o.bound(x) < limit) {
		return
	}
	value := rest + o.class.end(x) + o.node.perSoC*x
	if value < limit {
		o.entered++
		o.steps = insert(o.steps, o.first, step{x, value, *a})
	}
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
func (s *Sweep) toGo(l *level, k int, a float64) float64 {
	if k == s.n+1 {
		return 0
	}
	e := s.stepFrom(l, k, a)
	if e == nil {
		return math.Inf(1)
	}
	return e.value - s.start(k, a)
}

// stepFrom is the best step on arriving at node k with a, or nil.
func (s *Sweep) stepFrom(l *level, k int, a float64) *step {
	own := s.stepsOf(l, k)
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
	if c.cut && math.IsInf(c.power.TimeS(a, e.soc), 1) {
		return nil
	}
	return e
}

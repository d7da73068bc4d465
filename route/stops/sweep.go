package stops

import "math"

// step is one way to leave a charger: with soc, at a total value from the
// empty battery there (see Sweep.value), start(a) still to be subtracted. The
// steps of a charger fall in both; the best on arriving with a is the last with
// soc > a.
type step struct {
	soc       float64
	rest      float64 // the value but for the charging here
	low, high float64 // bounds of the value, found without a logarithm
	way       int     // index of Sweep.ways
}

// Sweep is the cost-to-go of one problem: what it takes to reach the
// destination from every charger, for every SoC on arrival. It is valid until
// its Planner is used again.
type Sweep struct {
	model
	stop    func() error // see Planner.Stop; may be nil
	steps   []step
	ways    []arc // of steps, those dropped again included
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

// stopEvery is after how many chargers a sweep asks whether to stop, in trips
// of 100; in longer ones each takes longer.
const stopEvery = 64

// stopped is what stop says.
func (s *Sweep) stopped() error {
	if s.stop == nil {
		return nil
	}
	return s.stop()
}

// run fills the sweep from the last charger to the first, for at most so many
// stops (0: any number).
func (s *Sweep) run(most int) error {
	s.steps, s.ways = s.steps[:0], s.ways[:0]
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
	every := max(stopEvery*100/max(s.n, 100), 1)
	for j := s.n + 1; j >= 1; j-- {
		if j%every == 1%every {
			if err := s.stopped(); err != nil {
				return err
			}
		}
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
	return nil
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
	l.atReserve[j] = s.toGoAtReserve(l, j)
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
			own[i] = steps[at].low - c.high[(i+1)*(cells/coarse)-1] - perSoC*float64(i+1)
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
	o := offers{Sweep: s, first: s.levels[r].first[j], j: j, node: d, class: &s.classes[d.class]}
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
	first int // index of its first step
	j     int
	node  *node
	class *class
}

// arc offers every departure SoC that can be best on an arc, whose end is
// looked up in a level.
func (o *offers) arc(a *arc, l *level) {
	o.enough(a, l)
	o.more(a, l)
}

// enough offers the departure with just what is needed.
func (o *offers) enough(a *arc, l *level) {
	if a.arrive(a.need) <= o.nodes[a.to].reserve+rounding {
		o.offer(a, a.need, o.node.base+a.value+l.atReserve[a.to])
	} else {
		o.departure(a, l, a.need)
	}
}

// more offers the departures with more than that.
func (o *offers) more(a *arc, l *level) {
	to := &o.nodes[a.to]
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
			o.departure(a, l, high)
		}
		return
	}
	low := max(a.need, w.from)
	o.turns = turns(o.turns[:0], o.class.rate, o.classes[to.class].rate, o.node.perSoC-to.perSoC, a.cost, low, min(w.to, high), low > a.need)
	for _, x := range o.turns {
		o.departure(a, l, x)
	}
}

// departure offers one departure SoC.
func (o *offers) departure(a *arc, l *level, x float64) {
	arrive, fixed := a.arrive(x), o.node.base+a.value
	if fixed+l.bound(int(a.to), arrive)+o.bound(x) < o.beat(x) {
		o.offer(a, x, fixed+o.toGo(l, int(a.to), arrive))
	}
}

// bound returns a value no higher than that of charging here from empty to x.
func (o *offers) bound(x float64) float64 { return o.class.bound(x) + o.node.perSoC*x }

// cover is the index of the cheapest step so far with no less than x, one
// before the first where there is none.
func (o *offers) cover(x float64) int {
	i := len(o.steps) - 1
	for i >= o.first && o.steps[i].soc < x {
		i--
	}
	return i
}

// beat is a value that a departure with x must stay under to matter.
func (o *offers) beat(x float64) float64 {
	if i := o.cover(x); i >= o.first {
		return o.steps[i].high
	}
	return math.Inf(1)
}

// beats tells whether the value of a is no more than that of b.
func (o *offers) beats(a, b *step) bool {
	switch {
	case a.high <= b.low:
		return true
	case a.low > b.high:
		return false
	}
	return o.value(o.j, a) <= o.value(o.j, b)
}

// offer enters a departure on arc a with x, if nothing beats it; rest is its
// value but for the charging here.
func (o *offers) offer(a *arc, x, rest float64) {
	at, last := o.cover(x), len(o.steps)
	low, high := o.class.bounds(x)
	rest0 := rest + o.node.perSoC*x
	o.steps = append(o.steps, step{})
	e := &o.steps[last]
	e.soc, e.rest, e.low, e.high, e.way = x, rest, rest0+low, rest0+high, len(o.ways)
	if at >= o.first && o.beats(&o.steps[at], e) || math.IsInf(e.high, 1) && math.IsInf(o.value(o.j, e), 1) {
		o.steps = o.steps[:last]
		return
	}
	o.ways = append(o.ways, *a)
	if at+1 < last || at >= o.first && o.steps[at].soc == x {
		o.place(at)
	}
}

// place moves the last step, which nothing dominates, to where it belongs
// among those of the node, which fall in soc and value, and drops what it
// dominates; at is its cover.
func (o *offers) place(at int) {
	last := len(o.steps) - 1
	e := o.steps[last]
	if at < o.first || o.steps[at].soc > e.soc {
		at++
	}
	keep := at // from here on, of those with no more soc, the better ones
	for keep < last && o.beats(&e, &o.steps[keep]) {
		keep++
	}
	if keep == at {
		copy(o.steps[at+1:], o.steps[at:last])
	} else {
		o.steps = append(o.steps[:at+1], o.steps[keep:last]...)
	}
	o.steps[at] = e
}

// value is the total value of a step of node j from the empty battery there;
// both its bounds are set to it.
func (s *Sweep) value(j int, e *step) float64 {
	if e.low != e.high {
		s.resolve(j, e)
	}
	return e.low
}

func (s *Sweep) resolve(j int, e *step) {
	v := e.rest + s.end(j, e.soc)
	e.low, e.high = v, v
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
	return s.value(k, e) - s.start(k, a)
}

// toGoAtReserve is toGo on arriving with the reserve, which many nodes of a
// class share.
func (s *Sweep) toGoAtReserve(l *level, k int) float64 {
	if k == s.n+1 {
		return 0
	}
	d := &s.nodes[k]
	e := s.stepFrom(l, k, d.reserve)
	if e == nil {
		return math.Inf(1)
	}
	return s.value(k, e) - (s.classes[d.class].startAt(d.reserve) + d.perSoC*d.reserve)
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

package stops

import (
	"cmp"
	"math"
	"slices"
)

// Alternative is one of the best plans, with what it costs over the best.
type Alternative struct {
	Plan     Plan
	OverBest float64 // Plan.Value − the best plan's Value
}

// Best returns the k best plans that stop at different sets of chargers, the
// best first; fewer where there are no more.
//
// It extends sequences of stops from the origin, the most promising first.
// What a sequence can still lead to is known exactly from the sweep, so each
// sequence that arrives is the next best one, and none is built in vain but
// the neighbours of those.
func (pl *Planner) Best(p *Problem, k int) ([]Alternative, error) {
	s, err := pl.Sweep(p)
	if err != nil {
		return nil, err
	}
	if p.coupled() {
		return s.bestCoupled(p, k)
	}
	var out []Alternative
	seen := make(map[string]bool)
	q := newQueue(s)
	for len(out) < k {
		choices, ok := q.next()
		if !ok {
			break
		}
		var a Alternative
		s.replay(choices, p.DepartSoC, &a.Plan)
		if key := stopSet(choices); !seen[key] {
			seen[key] = true
			a.Plan.Bound = a.Plan.Value
			out = append(out, a)
		}
	}
	if len(out) == 0 {
		return nil, s.diagnose(p.DepartSoC)
	}
	return overBest(out), nil
}

func overBest(all []Alternative) []Alternative {
	for i := range all {
		all[i].OverBest = all[i].Plan.Value - all[0].Plan.Value
	}
	return all
}

// bestCoupled lists plans of a trip with limits that the sweep leaves out, as
// its search finds them; a rest by the road is not among them.
func (s *Sweep) bestCoupled(p *Problem, k int) ([]Alternative, error) {
	if p.restsOnly() {
		return s.bestRests(p, k)
	}
	_, bound, _ := s.depart(0, s.top(), p.DepartSoC)
	var out []Alternative
	q := newSearch(s, p, slacks[0])
	err := q.sequences(k+polished, func(choices []choice, value float64) float64 {
		if value < math.Inf(1) {
			var a Alternative
			s.replay(choices, p.DepartSoC, &a.Plan)
			a.Plan.Bound = math.Min(bound, a.Plan.Value)
			out = append(out, a)
		}
		slices.SortStableFunc(out, func(a, b Alternative) int { return cmp.Compare(a.Plan.Value, b.Plan.Value) })
		if len(out) < k {
			return math.Inf(1)
		}
		return out[k-1].Plan.Value
	})
	if err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, s.none(p, q.exhausted())
	}
	return overBest(out[:min(k, len(out))]), nil
}

// bestRests is bestCoupled where a rest is all that ties the trip to the clock.
func (s *Sweep) bestRests(p *Problem, k int) ([]Alternative, error) {
	q, err := newRestPlan(s, p)
	if err != nil {
		return nil, err
	}
	var out []Alternative
	for _, r := range q.alternatives(k) {
		var a Alternative
		s.replay(r.choices, p.DepartSoC, &a.Plan)
		a.Plan.Bound = math.Min(q.bound, a.Plan.Value)
		out = append(out, a)
	}
	if len(out) == 0 {
		return nil, s.none(p, q.cut)
	}
	return overBest(out), nil
}

func stopSet(choices []choice) string {
	key := make([]byte, 0, 2*len(choices))
	for _, c := range choices {
		key = append(key, byte(c.node), byte(c.node>>8), byte(c.node>>16))
	}
	return string(key)
}

// prefix is a sequence of stops up to one at a node, reached by an arc from
// another prefix.
type prefix struct {
	node, level int
	before      int // index of the prefix before
	arc         arc
	endings     []ending
	least       float64 // value of the best plan that begins so
}

// ending is one way to arrive at the end of a prefix.
type ending struct {
	soc, value float64
	leftWith   float64 // SoC on leaving the stop before
	from       int     // ending of the prefix before
}

// queue gives sequences of stops in order of the value of their best plan.
type queue struct {
	s        *Sweep
	prefixes []prefix
	heap     []int
}

func newQueue(s *Sweep) *queue {
	q := &queue{s: s}
	q.prefixes = append(q.prefixes, prefix{node: 0, level: s.top(), before: -1, endings: []ending{{soc: s.problem.DepartSoC, from: -1}}})
	q.heap = append(q.heap, 0)
	return q
}

// next is the next best complete sequence.
func (q *queue) next() ([]choice, bool) {
	for len(q.heap) > 0 {
		at := q.pop()
		if q.prefixes[at].node == q.s.n+1 {
			return q.choices(at), true
		}
		q.extend(at)
	}
	return nil, false
}

// extend adds every prefix that is one arc longer.
func (q *queue) extend(at int) {
	s := q.s
	from := q.prefixes[at]
	most := s.nodes[from.node].ceiling
	s.expand(from.node, most)
	arcs := slices.Clone(s.arcs)
	for i := range arcs {
		a := &arcs[i]
		l := s.after(from.level, a)
		if l == nil {
			continue
		}
		child := prefix{node: int(a.to), level: from.level - int(a.passed) - 1, before: at, arc: *a, least: math.Inf(1)}
		for _, x := range s.departures(from.node, a) {
			q.arrive(&child, &from, a, l, x)
		}
		if child.least < math.Inf(1) {
			q.prefixes = append(q.prefixes, child)
			q.push(len(q.prefixes) - 1)
		}
	}
}

// departures lists the SoCs with which it can be best to leave a node on an
// arc.
func (s *Sweep) departures(node int, a *arc) []float64 {
	if node == 0 {
		return []float64{s.problem.DepartSoC}
	}
	out := []float64{a.need}
	if to := &s.nodes[a.to]; to.class >= 0 {
		high := min(s.nodes[node].ceiling, a.cost+min(a.cap, 1))
		out = turns(out, s.classes[s.nodes[node].class].rate, s.classes[to.class].rate, s.nodes[node].perSoC-to.perSoC, a.cost, a.need, high, false)
	}
	return out
}

// arrive adds the best way to leave the prefix from with x to its child.
func (q *queue) arrive(child, from *prefix, a *arc, l *level, x float64) {
	s := q.s
	best := ending{value: math.Inf(1)}
	for i := range from.endings {
		b := &from.endings[i]
		value := b.value + a.value
		if from.node > 0 {
			c := &s.classes[s.nodes[from.node].class]
			if !(x > b.soc) || c.cut && math.IsInf(c.power.TimeS(b.soc, x), 1) {
				continue
			}
			value += s.nodes[from.node].base + s.end(from.node, x) - s.start(from.node, b.soc)
		}
		if value < best.value {
			best = ending{a.arrive(x), value, x, i}
		}
	}
	least := best.value + s.toGo(l, int(a.to), best.soc)
	if !(least < math.Inf(1)) {
		return
	}
	child.endings = append(child.endings, best)
	child.least = math.Min(child.least, least)
}

// choices are the decisions of a complete sequence.
func (q *queue) choices(at int) []choice {
	p := &q.prefixes[at]
	best := 0
	for i := range p.endings {
		if p.endings[i].value < p.endings[best].value {
			best = i
		}
	}
	return q.trace(at, best)
}

func (q *queue) trace(at, ending int) []choice {
	p := &q.prefixes[at]
	if p.before < 0 {
		return nil
	}
	l := &p.endings[ending]
	out := q.trace(p.before, l.from)
	if len(out) > 0 {
		out[len(out)-1].leaveSoC = l.leftWith
	}
	out = q.s.unroll(out, p.arc.via)
	return append(out, choice{node: p.node, option: int(p.arc.option)})
}

func (q *queue) less(a, b int) bool {
	x, y := q.prefixes[a].least, q.prefixes[b].least
	return x < y || x == y && a < b
}

func (q *queue) push(at int) { q.heap = pushHeap(q.heap, at, q.less) }

func (q *queue) pop() (top int) {
	top, q.heap = popHeap(q.heap, q.less)
	return top
}

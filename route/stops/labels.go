package stops

import (
	"math"
	"slices"
)

// coupled tells whether a problem has limits that tie the arrival at a stop to
// the departure from it, or any of them to the clock: then charging times no
// longer split and the sweep alone is not enough.
func (p *Problem) coupled() bool {
	if p.Rest.LeastS > 0 {
		return true
	}
	for i := range p.Chargers {
		if p.Chargers[i].coupled() {
			return true
		}
	}
	return false
}

func (c *Charger) coupled() bool {
	return c.LeastStayS > 0 || c.MostStayS > 0 || c.Price.IdlePerMinute > 0 || len(c.Periods) > 0
}

// label is one way to arrive at a node.
type label struct {
	soc, clock  float64
	value       float64 // so far
	least       float64 // value, and no more than what is to come
	node, stops int
	rested      bool
	before      int    // index of the label it comes from
	left        choice // what was done at that label's node, but for its drive
	option      int    // of the drive that leads here
}

// search extends labels in order of what they can still become. What is to
// come is bounded by the sweep of the same trip without the coupled limits:
// at the cheapest prices, with no queues, always open, any stay, no rest. Every
// true plan costs at least that much from any label on, so the bound is
// admissible, and the first label to reach the destination is the best that
// the departure SoCs tried can give.
type search struct {
	s          *Sweep
	p          *Problem
	w          weights
	clocked    bool // the time of day matters
	needs      bool // a rest is to be taken at a stop
	labels     []label
	fronts     [][]int // of each node: labels that none dominates
	heap       []int
	atOnce     []float64 // by node and cell: no more than the value of leaving at once
	known      []bool    // of atOnce, by node
	arcs       []arc
	socs       []float64
	rates      [][]tariff  // of each node, filled when asked for
	onward     [][]float64 // of each node: what drives out of it need
	starts     []float64
	front      []moment // of a stage that is thinned
	slack      slack
	slackValue float64
	most       int // work that may be done
	work       int // labels and knots compared or tried so far
	asked      int // work when Stop was last asked
	err        error
}

// slack is how much worse a label may be than another and still rule it out:
// by nothing in the first search, by more in those that follow where its work
// was used up before it found anything.
type slack struct {
	soc, s float64
	money  float64 // share of the least that the trip can cost by the sweep, where money counts
}

// The coarsest finds a plan by cost of a trip with a long free stay, for which the
// others' work does not do.
var slacks = [...]slack{{}, {0.01, 60, 0.002}, {0.04, 300, 0.01}, {0.1, 900, 0.04}}

const (
	mostWork  = 10_000_000 // of one search, comparisons; a fraction of a second
	extraWork = 1_000_000  // of a search for something better than what is at hand
	askEvery  = 5_000      // comparisons
)

// spend counts work and asks now and then whether to stop; it reports whether
// to go on.
func (q *search) spend(work int) bool {
	q.work += work
	if q.work-q.asked >= askEvery && q.err == nil {
		q.asked = q.work
		q.err = q.s.stopped()
	}
	return q.err == nil
}

func (q *search) exhausted() bool { return q.work >= q.most }

// Sequences beyond the first are polished as well while they may still turn
// out better than it.
const (
	polished  = 12
	gridSteps = 40
)

// newSearch begins a search for plans that rest at a stop, if a rest is asked
// for.
func newSearch(s *Sweep, p *Problem, slack slack) *search {
	rest := p.Rest.LeastS > 0
	q := &search{s: s, p: p, w: s.weights, needs: rest, slack: slack, most: mostWork}
	q.clocked = rest && p.Rest.timed()
	for i := range p.Chargers {
		q.clocked = q.clocked || len(p.Chargers[i].Periods) > 0
	}
	q.fronts = make([][]int, s.n+2)
	q.atOnce = make([]float64, (s.n+2)*coarse)
	q.known = make([]bool, s.n+2)
	q.rates = make([][]tariff, s.n+2)
	q.onward = make([][]float64, s.n+2)
	q.slackValue = slack.s * q.w.perS
	if q.w.perMoney > 0 {
		if _, bound, ok := s.depart(0, s.top(), p.DepartSoC); ok {
			q.slackValue = math.Max(q.slackValue, slack.money*bound)
		}
	}
	q.add(label{soc: p.DepartSoC, clock: p.DepartS, before: -1, rested: !rest})
	return q
}

// next is the next label at the destination; none where there are no more, or
// the work is used up or ended.
func (q *search) next() (int, bool) {
	for len(q.heap) > 0 && q.err == nil && !q.exhausted() {
		at := q.pop()
		l := &q.labels[at]
		if l.node == q.s.n+1 {
			if l.rested {
				return at, true
			}
			continue
		}
		if !q.beaten(l, at) {
			q.extend(at)
		}
	}
	return 0, false
}

// add enters a label unless another makes it needless.
func (q *search) add(l label) {
	if q.beaten(&l, -1) {
		return
	}
	l.least = l.value + q.toCome(&l)
	if !(l.least < math.Inf(1)) {
		return
	}
	q.labels = append(q.labels, l)
	at := len(q.labels) - 1
	if l.node <= q.s.n {
		front := q.fronts[l.node]
		keep := front[:0]
		for _, i := range front {
			if !q.dominates(&l, &q.labels[i]) {
				keep = append(keep, i)
			}
		}
		q.fronts[l.node] = append(keep, at)
	}
	q.push(at)
}

func (q *search) beaten(l *label, self int) bool {
	q.spend(1 + len(q.fronts[l.node]))
	for _, i := range q.fronts[l.node] {
		if i != self && q.dominates(&q.labels[i], l) {
			return true
		}
	}
	return false
}

// dominates: with no less in the battery, no dearer, no later and after no more
// stops, whatever b can do a can do as well. By the clock, being early must not
// count as being cheap: it is worth nothing where a has to wait for a period
// that b comes to in time.
func (q *search) dominates(a, b *label) bool {
	return a.soc >= b.soc-q.slack.soc && q.spent(a.value, a.clock) <= q.spent(b.value, b.clock)+1e-9+q.slackValue && (!q.clocked || a.clock <= b.clock+q.slack.s) &&
		(!q.s.limited || a.stops <= b.stops) && (a.rested || !b.rested)
}

// spent is a value without that of the time in it where the clock counts.
func (q *search) spent(value, clock float64) float64 {
	if q.clocked {
		return value - q.w.perS*clock
	}
	return value
}

// toCome bounds the value from a label to the destination from below.
func (q *search) toCome(l *label) float64 {
	s := q.s
	if l.node == s.n+1 {
		return 0
	}
	r := s.top()
	if s.limited {
		r -= l.stops
	}
	if l.node == 0 {
		_, v, ok := s.depart(0, r, l.soc)
		if !ok {
			return math.Inf(1)
		}
		return v
	}
	level := &s.levels[0]
	if s.limited {
		if r < 0 {
			return math.Inf(1)
		}
		level = &s.levels[min(r, len(s.levels)-1)]
	}
	return math.Min(s.toGo(level, l.node, l.soc), q.leaveAtOnce(l.node, l.soc))
}

// leaveAtOnce bounds the value of a stop that charges nothing from below.
func (q *search) leaveAtOnce(j int, soc float64) float64 {
	s := q.s
	own := q.atOnce[j*coarse : (j+1)*coarse]
	if !q.known[j] {
		q.known[j] = true
		for i := range own {
			_, v, _ := s.depart(j, s.top(), float64(i+1)/coarse)
			own[i] = s.nodes[j].base + v
		}
	}
	return own[min(max(int(soc*coarse), 0), coarse-1)]
}

// extend adds every label that is one stop further.
func (q *search) extend(at int) {
	l := q.labels[at]
	if l.node == 0 {
		q.arcs = q.s.model.direct(0, l.soc, q.arcs[:0])
		for i := range q.arcs {
			q.drive(at, &l, &q.arcs[i], choice{}, l.clock, l.value, l.soc)
		}
		return
	}
	c := &q.p.Chargers[l.node-1]
	if q.s.limited && l.stops > q.p.MostStops {
		return
	}
	q.arcs = q.s.model.direct(l.node, math.Max(l.soc, q.s.full(l.node, l.soc)), q.arcs[:0])
	for _, rest := range [...]bool{false, true} {
		if rest && l.rested {
			continue
		}
		for _, joinS := range q.joins(c, &l, rest) {
			q.stay(at, &l, c, choice{node: l.node, waits: joinS > l.clock, joinS: joinS, rest: rest})
		}
	}
}

// joins lists when it can make sense to join the queue: at once, when a later
// period begins, or so that the rest may.
func (q *search) joins(c *Charger, l *label, rest bool) []float64 {
	out := append(q.starts[:0], l.clock)
	for i := range c.Periods {
		if c.Periods[i].FromS > l.clock && !c.Periods[i].Closed {
			out = append(out, c.Periods[i].FromS)
		}
	}
	if r := &q.p.Rest; rest && r.FromS > l.clock {
		queueS, _ := c.at(r.FromS)
		if at := r.FromS - queueS - c.OverheadS; at > l.clock {
			out = append(out, at)
		}
	}
	q.starts = out
	return out
}

// stay tries every departure SoC of a stop.
func (q *search) stay(at int, l *label, c *Charger, do choice) {
	join := do.join(l.clock)
	if c.closedAt(join) {
		return
	}
	queueS, _ := c.at(join)
	begins := join + queueS + c.OverheadS
	if do.rest {
		if !q.p.Rest.holds(c, join) {
			return
		}
		do.stayS = q.p.Rest.LeastS
	}
	common := q.thresholds(c, l, begins, do.stayS)
	for i := range q.arcs {
		a := &q.arcs[i]
		q.socs = append(q.socs[:0], common...)
		q.socs = append(q.socs, a.need)
		if to := &q.s.nodes[a.to]; to.class >= 0 {
			from := &q.s.nodes[l.node]
			high := min(from.ceiling, a.cost+min(a.cap, 1))
			for _, here := range q.tariffs(l.node) {
				for _, there := range q.tariffs(int(a.to)) {
					q.socs = turns(q.socs, here.rate, there.rate, here.perSoC-there.perSoC, a.cost, a.need, high, false)
				}
			}
			q.socs = q.onTime(q.socs, c, l, a, begins)
		}
		for _, x := range q.socs {
			if x < l.soc || x < a.need || x > math.Max(l.soc, q.s.nodes[l.node].ceiling) {
				continue
			}
			do.leaveSoC = x
			q.leave(at, l, c, a, do)
		}
	}
}

// tariff is what a little more charge is worth at some moment of a stay.
type tariff struct {
	rate
	perSoC float64
}

// tariffs lists those of a charger: at each of its prices, before and after
// the idle fee sets in.
func (q *search) tariffs(node int) []tariff {
	if q.rates[node] != nil {
		return q.rates[node]
	}
	c := &q.p.Chargers[node-1]
	var out []tariff
	add := func(price *Price) {
		perS := q.w.perS + q.w.perMoney*price.PerMinute/60
		perSoC := q.w.perMoney * price.PerKWh * q.p.CapacityKWh
		for _, idle := range [...]float64{0, price.IdlePerMinute} {
			t := tariff{rate{c.Power, perS + q.w.perMoney*idle/60}, perSoC}
			if !slices.Contains(out, t) {
				out = append(out, t)
			}
		}
	}
	add(&c.Price)
	for i := range c.Periods {
		add(&c.Periods[i].Price)
	}
	q.rates[node] = out
	return out
}

// thresholds lists the departure SoCs at which something about the stop
// changes, and a grid between arrival and ceiling.
func (q *search) thresholds(c *Charger, l *label, begins, restS float64) []float64 {
	top := q.s.nodes[l.node].ceiling
	out := []float64{l.soc, top}
	for _, seconds := range [...]float64{c.LeastStayS, c.MostStayS, c.Price.IdleAfterS, restS, c.closesAfter(begins) - begins} {
		if seconds > 0 && seconds < math.Inf(1) {
			out = append(out, c.Power.SoCAfter(l.soc, seconds))
		}
	}
	for i := range c.Periods {
		if after := c.Periods[i].Price.IdleAfterS; after > 0 {
			out = append(out, c.Power.SoCAfter(l.soc, after))
		}
	}
	for i := 1; i < gridSteps; i++ {
		if x := float64(i) / gridSteps; x > l.soc && x < top {
			out = append(out, x)
		}
	}
	return out
}

// onTime appends the departure SoCs that lead to the next charger with just
// enough for its longest stay to do, or just when one of its periods, or the
// time of the rest, begins or ends.
func (q *search) onTime(out []float64, c *Charger, l *label, a *arc, begins float64) []float64 {
	next := &q.p.Chargers[a.to-1]
	if next.MostStayS > 0 {
		for _, need := range q.needsOf(int(a.to)) {
			out = append(out, next.Power.SoCBefore(need, next.MostStayS)+a.cost)
		}
	}
	driveS := q.s.driveS(l.node, int(a.to), int(a.option))
	for i := range next.Periods {
		out = q.chargeUntil(out, c, l, begins, next.Periods[i].FromS-driveS)
	}
	if r := &q.p.Rest; q.needs && q.clocked {
		queueS, _ := next.at(r.FromS)
		out = q.chargeUntil(out, c, l, begins, r.FromS-driveS-next.OverheadS-queueS)
		out = q.chargeUntil(out, c, l, begins, r.ToS-driveS-next.OverheadS-queueS)
	}
	return out
}

// needsOf lists what the drives out of a charger need.
func (q *search) needsOf(node int) []float64 {
	if q.onward[node] == nil {
		q.onward[node] = []float64{}
		for _, a := range q.s.model.direct(node, q.s.nodes[node].ceiling, nil) {
			q.onward[node] = append(q.onward[node], a.need)
		}
	}
	return q.onward[node]
}

func (q *search) chargeUntil(out []float64, c *Charger, l *label, begins, until float64) []float64 {
	if until <= begins {
		return out
	}
	x := c.Power.SoCAfter(l.soc, until-begins)
	return append(out, math.Max(l.soc, x-1e-12))
}

// leave finishes a stop and drives on.
func (q *search) leave(at int, l *label, c *Charger, a *arc, do choice) {
	clock, money, ok := q.p.stop(c, l.clock, l.soc, &do)
	if !ok {
		return
	}
	value := l.value + q.w.perS*(clock-l.clock) + q.w.perMoney*money + q.w.stop(c)
	if do.rest {
		value += q.w.rest(c)
	}
	next := *l
	next.rested = l.rested || do.rest
	q.drive(at, &next, a, do, clock, value, do.leaveSoC)
}

// stop plays one stop: the clock on leaving and the money. ok is false where
// a limit of the charger is broken.
func (p *Problem) stop(c *Charger, clock, soc float64, do *choice) (leaves, money float64, ok bool) {
	join := do.join(clock)
	queueS, price := c.at(join)
	begins := join + queueS + c.OverheadS
	chargeS := c.Power.TimeS(soc, do.leaveSoC)
	stayS := math.Max(chargeS, math.Max(c.LeastStayS, do.stayS))
	if !(stayS < math.Inf(1)) || c.closedAt(join) || begins+stayS > c.closesAfter(join)+1e-6 {
		return 0, 0, false
	}
	if c.MostStayS > 0 && stayS > c.MostStayS+1e-6 {
		return 0, 0, false
	}
	return begins + stayS, price.Due((do.leaveSoC-soc)*p.CapacityKWh, chargeS, stayS), true
}

func (c *Charger) closedAt(clock float64) bool {
	closed := false
	for i := range c.Periods {
		if c.Periods[i].FromS > clock {
			break
		}
		closed = c.Periods[i].Closed
	}
	return closed
}

// closesAfter is when the next closed period begins, +Inf for never.
func (c *Charger) closesAfter(clock float64) float64 {
	for i := range c.Periods {
		if c.Periods[i].Closed && c.Periods[i].FromS > clock {
			return c.Periods[i].FromS
		}
	}
	return math.Inf(1)
}

// drive adds the label at the end of an arc.
func (q *search) drive(at int, l *label, a *arc, do choice, clock, value, soc float64) {
	next := label{
		soc: a.arrive(soc), value: value + a.value, clock: clock + q.s.driveS(l.node, int(a.to), int(a.option)),
		node: int(a.to), stops: l.stops, rested: l.rested, before: at, left: do, option: int(a.option),
	}
	if next.node <= q.s.n {
		next.stops++
		if q.s.limited && next.stops > q.p.MostStops {
			return
		}
	}
	q.add(next)
}

// trace lists the choices that lead to a label at the destination.
func (q *search) trace(at int) []choice {
	l := &q.labels[at]
	if l.before < 0 {
		return nil
	}
	out := q.trace(l.before)
	if len(out) > 0 {
		node, option := out[len(out)-1].node, out[len(out)-1].option
		out[len(out)-1] = l.left
		out[len(out)-1].node, out[len(out)-1].option = node, option
	}
	return append(out, choice{node: l.node, option: l.option})
}

func (q *search) less(a, b int) bool {
	x, y := q.labels[a].least, q.labels[b].least
	return x < y || x == y && a < b
}

func (q *search) push(at int) { q.heap = pushHeap(q.heap, at, q.less) }

func (q *search) pop() (top int) {
	top, q.heap = popHeap(q.heap, q.less)
	return top
}

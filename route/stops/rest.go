package stops

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// restPlan finds where to rest in a trip that nothing but the rest ties to the
// clock. Such a plan is three things on end: a best plan that arrives at a
// charger j with at least a, the rest there, and a best plan from there on.
// The first, T_j(a), is the exact plan of the road up to j with a as its
// reserve, and never falls in a. The rest and what follows, R_j(a), is read
// from the sweep of the whole trip and never rises in a: whoever has more can
// do what whoever has less does. So on [a, b] no plan is better than T_j(a) +
// R_j(b), and cells of arrivals are halved, the most promising first, until
// none can be better than the best plan found by more than a tolerance, or
// mostPrefixes plans of the first kind were made. What is then left open is the
// Bound. A cell is opened, by the first such plan, when its turn comes; until
// then the drive there and the wait for the rest stand for T_j.
type restPlan struct {
	s        *Sweep
	p        *Problem
	w        weights
	planner  Planner // of the road up to the rest
	prefix   Problem
	way      Plan
	cells    []restCell
	heap     []int
	seeds    map[int][]float64
	found    []resting
	best     float64
	bound    float64
	prefixes int
	most     int  // prefixes
	cut      bool // cells were left that may hold a better plan
	arcs     []arc
	onto     []float64
}

// restCell is the arrivals lo to hi at a charger after at most most stops.
type restCell struct {
	charger, most int
	lo, hi        float64
	before        float64 // no plan arrives with lo or more at a lower value, the wait for the rest included
	least         float64 // value of any plan of the cell
	opened        bool    // before is that of a plan
}

// resting is a plan that was found.
type resting struct {
	choices []choice
	value   float64
}

// mostPrefixes bounds the work of one restPlan; where money counts its bounds
// are too weak for more to close the gap.
const (
	mostPrefixes      = 1500
	mostMoneyPrefixes = 300
	mostBriefPrefixes = 120 // where Rest.Brief is set
)

// restRounding is a difference on arrival that is none.
const restRounding = 1e-9

// unlimited is a number of stops without a limit.
const unlimited = -1

// restsOnly tells whether a rest is all that ties a trip to the clock or an
// arrival to a departure.
func (p *Problem) restsOnly() bool {
	if p.Rest.LeastS == 0 {
		return false
	}
	for i := range p.Chargers {
		if p.Chargers[i].coupled() {
			return false
		}
	}
	return true
}

// newRestPlan finds the best plans of a problem that restsOnly.
func newRestPlan(s *Sweep, p *Problem) (*restPlan, error) {
	q := &restPlan{s: s, p: p, w: s.weights, planner: Planner{Stop: s.stop}, seeds: map[int][]float64{}, best: math.Inf(1), bound: math.Inf(1)}
	switch {
	case p.Rest.Brief:
		q.most = mostBriefPrefixes
	case q.w.perMoney > 0:
		q.most = mostMoneyPrefixes
	default:
		q.most = mostPrefixes
	}
	q.prefix = Problem{CapacityKWh: p.CapacityKWh, DepartSoC: p.DepartSoC, DepartS: p.DepartS, Road: make([][]Leg, len(p.Road))}
	for j := range p.Chargers {
		if p.Chargers[j].Use != MustPass {
			q.begin(j)
		}
	}
	return q, q.refine()
}

// begin enters the cells of a charger, but where a rest would begin too late
// there even without any stop before it.
func (q *restPlan) begin(j int) {
	r, c := &q.p.Rest, &q.p.Chargers[j]
	driveS := math.Inf(1)
	for option := range q.p.Road {
		driveS = math.Min(driveS, q.s.driveS(0, j+1, option))
	}
	if r.timed() {
		if q.p.DepartS+driveS+c.OverheadS > r.ToS {
			return
		}
		driveS = math.Max(driveS, r.FromS-c.OverheadS-q.p.DepartS)
	}
	cell := restCell{charger: j, most: unlimited, lo: c.ReserveSoC, hi: 1, before: q.w.perS * driveS}
	if !q.s.limited {
		q.enter(cell)
		return
	}
	for cell.most = range q.p.MostStops {
		q.enter(cell)
	}
}

// open makes the plan that arrives with the least of a cell and enters what is
// left of the cell above it.
func (q *restPlan) open(c restCell) error {
	arrive, before, err := q.arriving(&c, c.lo)
	if err != nil || math.IsInf(before, 1) || arrive >= c.hi {
		return err
	}
	c.lo, c.before, c.opened = arrive, before, true
	q.enter(c)
	return nil
}

func (q *restPlan) enter(c restCell) {
	c.least = c.before + q.onwardLeast(&c, c.hi)
	if !(c.least < q.best-q.tolerance()) {
		q.bound = math.Min(q.bound, c.least)
		return
	}
	q.cells = append(q.cells, c)
	q.heap = pushHeap(q.heap, len(q.cells)-1, q.less)
}

func (q *restPlan) less(a, b int) bool {
	x, y := q.cells[a].least, q.cells[b].least
	return x < y || x == y && a < b
}

// tolerance is half a second, or what it is worth, or a thousandth of a unit
// of money.
func (q *restPlan) tolerance() float64 { return 0.5*q.w.perS + 0.001*q.w.perMoney }

func (q *restPlan) refine() error {
	for len(q.heap) > 0 {
		var at int
		at, q.heap = popHeap(q.heap, q.less)
		c := q.cells[at]
		if open := c.least < q.best-q.tolerance(); !open || q.prefixes >= q.most || c.hi-c.lo < 1e-6 {
			q.cut = q.cut || open && q.prefixes >= q.most
			q.bound = math.Min(q.bound, c.least)
			continue
		}
		if !c.opened {
			if err := q.open(c); err != nil {
				return err
			}
			continue
		}
		mid := q.between(&c)
		arrive, before, err := q.arriving(&c, mid)
		if err != nil {
			return err
		}
		if !math.IsInf(before, 1) && arrive < c.hi {
			above := c
			above.lo, above.before = arrive, before
			q.enter(above)
		}
		c.hi = mid - restRounding // at mid itself R may fall by a stop
		if c.hi > c.lo {
			q.enter(c)
		}
	}
	q.bound = math.Min(q.bound, q.best)
	return nil
}

// between is where to part a cell: at an arrival from which the rest charges
// just enough for a drive or for a step of the sweep, else in the middle.
func (q *restPlan) between(c *restCell) float64 {
	seeds, known := q.seeds[c.charger]
	if !known {
		charger := &q.p.Chargers[c.charger]
		q.arcs = q.s.model.direct(c.charger+1, q.s.nodes[c.charger+1].ceiling, q.arcs[:0])
		for i := range q.arcs {
			seeds = append(seeds, charger.Power.SoCBefore(q.arcs[i].need, q.p.Rest.LeastS))
		}
		for i := range q.s.levels {
			for _, e := range q.s.stepsOf(&q.s.levels[i], c.charger+1) {
				seeds = append(seeds, charger.Power.SoCBefore(e.soc, q.p.Rest.LeastS))
			}
		}
		slices.Sort(seeds)
		q.seeds[c.charger] = seeds
	}
	const apart = 1e-6
	mid := (c.lo + c.hi) / 2
	from := sort.SearchFloat64s(seeds, c.lo+apart)
	to := sort.SearchFloat64s(seeds, c.hi-apart)
	if from >= to {
		return mid
	}
	at := min(max(sort.SearchFloat64s(seeds, mid), from), to-1)
	return seeds[at]
}

// arriving plans the road up to the charger of a cell so that it arrives with
// soc or more, and all that follows. It returns with how much it arrives and
// the least value of arriving so, the wait included; +Inf where that cannot be
// done in time.
func (q *restPlan) arriving(c *restCell, soc float64) (arrive, before float64, err error) {
	way, err := q.plan(c, soc, asWanted)
	if way == nil {
		return 0, math.Inf(1), err
	}
	arrive, before = way.ArriveSoC, way.Value
	waits := q.p.Rest.timed() && way.ArriveS+q.p.Chargers[c.charger].OverheadS < q.p.Rest.FromS
	if q.complete(c, way) {
		if waits {
			before, err = q.waiting(c, soc)
		}
		if q.w.perMoney > 0 { // else what was found is the best that arrives with soc to arrive
			q.bound = math.Min(q.bound, before+q.onwardLeast(c, arrive))
		}
		return arrive, before, err
	}
	late, err := q.late(c, soc)
	return soc, math.Max(before, late), err
}

// waiting is the least value of arriving with soc where whoever arrives as
// wanted waits for the rest: that of the wanted plan, or of the end of the wait
// after the least burden. The plan with the least burden is completed as well.
// Where money counts, and the gap stays open in any case, the burden is left out.
func (q *restPlan) waiting(c *restCell, soc float64) (float64, error) {
	least, few := q.way.Value, float64(len(q.way.Stops))
	restS := q.p.Rest.FromS - q.p.Chargers[c.charger].OverheadS - q.p.DepartS
	if q.w.perMoney > 0 {
		return math.Max(least, q.w.perS*restS), nil
	}
	calm, err := q.plan(c, soc, calmly)
	if calm == nil || err != nil {
		return least, err
	}
	burdenS := 0.0
	for i := range calm.Stops {
		burdenS += q.p.Chargers[calm.Stops[i].Charger].BurdenS
	}
	q.complete(c, calm)
	// In calmly a second of burden outweighs calmPerS seconds: of plans of up to
	// a day none has less burden by more than a hundredth of a second.
	return math.Max(least, q.w.perStop*few+q.w.perS*restS+q.w.perBurdenS*math.Max(burdenS-0.01, 0)), nil
}

// late is the least value of arriving with soc where whoever arrives as wanted
// comes too late to rest; +Inf where every plan does.
func (q *restPlan) late(c *restCell, soc float64) (float64, error) {
	quick, err := q.plan(c, soc, quickly)
	if quick == nil || !q.complete(c, quick) {
		return math.Inf(1), err
	}
	if q.p.Objective.Goal != FewestStops {
		return 0, nil
	}
	quickS := quick.TimeS
	few, err := q.plan(c, soc, quicklyWithFew)
	if few == nil || few.ArriveS+q.p.Chargers[c.charger].OverheadS <= q.p.Rest.ToS {
		return 0, err
	}
	return q.w.perStop*float64(len(few.Stops)+1) + q.w.perS*quickS, nil
}

// manner is what the plan up to a rest is best at.
type manner int

const (
	asWanted       manner = iota // the problem's objective
	quickly                      // time alone, without burdens
	quicklyWithFew               // the fewest stops, then time without burdens
	calmly                       // the least burden, then time
)

// calmPerS is what a second of burden counts, in s, for calmly.
const calmPerS = 1e7

// plan is the best plan of the road up to a charger, valued as the problem
// has it; nil where there is none.
func (q *restPlan) plan(c *restCell, soc float64, by manner) (*Plan, error) {
	q.prefixes++
	p, j := &q.prefix, c.charger
	p.ReserveSoC, p.Objective, p.MostStops = soc, q.p.Objective, max(c.most, 0)
	p.Chargers = append(p.Chargers[:0], q.p.Chargers[:j]...)
	burden := 1.0
	switch by {
	case quickly:
		p.Objective, burden = Objective{}, 0
	case quicklyWithFew:
		p.Objective, burden = Objective{Goal: FewestStops}, 0
	case calmly:
		p.Objective, burden = Objective{}, calmPerS
	}
	for i := range p.Chargers {
		p.Chargers[i].BurdenS *= burden
		if c.most == 0 {
			if p.Chargers[i].Use == MustStop {
				return nil, nil
			}
			p.Chargers[i].Use = MustPass
		}
	}
	for o := range p.Road {
		p.Road[o] = append(append(p.Road[o][:0], q.p.Road[o][:j]...), q.p.Road[o][j].Then(q.p.Chargers[j].In))
	}
	s, err := q.planner.Sweep(p)
	if err != nil {
		return nil, err
	}
	mark := len(s.hops)
	choices, ok := s.follow(s.choices[:0], 0, s.top(), p.DepartSoC)
	s.hops, s.choices = s.hops[:mark], choices
	if !ok {
		return nil, nil
	}
	s.replay(choices, p.DepartSoC, &q.way)
	q.way.Revalue(q.p)
	return &q.way, nil
}

// complete rests and goes on after a plan of the road up to a charger; false
// where it comes too late to rest.
func (q *restPlan) complete(c *restCell, way *Plan) bool {
	r, charger := &q.p.Rest, &q.p.Chargers[c.charger]
	do := choice{node: c.charger + 1, option: way.Option, rest: true, stayS: r.LeastS}
	begins := way.ArriveS + charger.OverheadS
	waitS := 0.0
	if r.timed() {
		if begins > r.ToS {
			return false
		}
		if waitS = math.Max(r.FromS-begins, 0); waitS > 0 {
			do.waits, do.joinS = true, r.FromS-charger.OverheadS
		}
	}
	value, level := way.Value+q.w.perS*waitS, q.level(c, len(way.Stops))
	if level < 0 {
		return true
	}
	onward, leave := q.onward(c.charger, level, way.ArriveSoC)
	if value += onward; !(value < math.Inf(1)) {
		return true
	}
	leave = q.enough(c.charger, level, way.ArriveSoC, leave, onward)
	do.leaveSoC = leave
	choices := make([]choice, 0, len(way.Stops)+4)
	for i := range way.Stops {
		choices = append(choices, choice{node: way.Stops[i].Charger + 1, option: way.Stops[i].Option, leaveSoC: way.Stops[i].LeaveSoC})
	}
	mark := len(q.s.hops)
	choices, ok := q.s.follow(append(choices, do), c.charger+1, level, leave)
	q.s.hops = q.s.hops[:mark]
	if ok {
		q.best = math.Min(q.best, value)
		q.found = append(q.found, resting{choices, value})
	}
	return true
}

// level is that of leaving the rest after so many stops before it; below 0
// where those are too many.
func (q *restPlan) level(c *restCell, stops int) int {
	if !q.s.limited {
		return q.s.top()
	}
	return q.p.MostStops - stops - 1
}

// onward is the least value found for a rest on arriving with soc and all that
// follows, and the SoC to leave with.
func (q *restPlan) onward(j, level int, soc float64) (value, leave float64) {
	c, node := &q.p.Chargers[j], &q.s.nodes[j+1]
	top := math.Max(soc, node.ceiling)
	rested := math.Min(math.Max(c.Power.SoCAfter(soc, q.p.Rest.LeastS), soc), top)
	q.onto = append(q.onto[:0], rested)
	if e := q.s.stepFrom(q.s.levelOf(level), j+1, rested); e != nil {
		q.onto = append(q.onto, e.soc)
	}
	if q.w.perMoney > 0 {
		q.onto = q.cheaper(q.onto, j, level, soc)
	}
	value = math.Inf(1)
	for _, x := range q.onto {
		if x < soc || x > top {
			continue
		}
		if v := q.leaving(j, level, soc, x); v < value {
			value, leave = v, x
		}
	}
	return value, leave
}

// enough is the least to leave a rest with that is worth no more than leave is:
// where the rest takes longer than the charging, more would be charged for
// nothing.
func (q *restPlan) enough(j, level int, soc, leave, value float64) float64 {
	for _, x := range q.needs(q.onto[:0], j, level, soc) {
		if x >= soc && x < leave && q.leaving(j, level, soc, x) <= value+1e-9 {
			leave = x
		}
	}
	return leave
}

// needs appends the departures at which something about what follows changes.
func (q *restPlan) needs(out []float64, j, level int, soc float64) []float64 {
	out = append(out, soc)
	for _, e := range q.s.stepsOf(q.s.levelOf(level), j+1) {
		out = append(out, e.soc)
	}
	q.arcs = q.s.model.direct(j+1, math.Max(soc, q.s.nodes[j+1].ceiling), q.arcs[:0])
	for i := range q.arcs {
		out = append(out, q.arcs[i].need)
	}
	return out
}

// cheaper appends the departures with less than the rest would charge.
func (q *restPlan) cheaper(out []float64, j, level int, soc float64) []float64 {
	c := &q.p.Chargers[j]
	rested := out[0]
	out = q.needs(out, j, level, soc)
	free := rate{c.Power, q.w.perMoney * c.Price.PerMinute / 60}
	for i := range q.arcs {
		a := &q.arcs[i]
		if to := &q.s.nodes[a.to]; to.class >= 0 {
			high := min(rested, a.cost+min(a.cap, 1))
			out = turns(out, free, q.s.classes[to.class].rate, q.s.nodes[j+1].perSoC-to.perSoC, a.cost, a.need, high, false)
		}
	}
	return out
}

// leaving is the value of a rest from one SoC to another and all that follows.
func (q *restPlan) leaving(j, level int, soc, leave float64) float64 {
	c := &q.p.Chargers[j]
	chargeS := c.Power.TimeS(soc, leave)
	stayS := math.Max(chargeS, q.p.Rest.LeastS)
	if !(stayS < math.Inf(1)) {
		return math.Inf(1)
	}
	money := c.Price.Due((leave-soc)*q.p.CapacityKWh, chargeS, stayS)
	return q.w.perS*(c.OverheadS+stayS) + q.w.perMoney*money + q.w.stop(c) + q.w.rest(c) + q.depart(j, level, leave)
}

// onwardLeast is no more than the value of a rest on arriving with soc or less
// in a cell and all that follows. Where money does not count that is what
// onward gives. Else it is the more of two: the value of a stop without the
// rest, and that of one at which time is free but for the rest's.
func (q *restPlan) onwardLeast(c *restCell, soc float64) float64 {
	level := q.level(c, 0)
	if q.w.perMoney == 0 {
		value, _ := q.onward(c.charger, level, soc)
		return value
	}
	atOnce := q.depart(c.charger, level, soc)
	stop := math.Min(q.s.toGo(q.s.levelOf(level), c.charger+1, soc), q.s.nodes[c.charger+1].base+atOnce)
	const steps = 20
	charger := &q.p.Chargers[c.charger]
	top := math.Max(soc, q.s.nodes[c.charger+1].ceiling)
	free, from := atOnce, soc
	for i := 1; i <= steps; i++ {
		to := soc + (top-soc)*float64(i)/steps
		money := charger.Price.PerKWh*(from-soc)*q.p.CapacityKWh + charger.Price.PerMinute*charger.Power.TimeS(soc, from)/60
		free = math.Min(free, q.w.perMoney*money+q.depart(c.charger, level, to))
		from = to
	}
	rest := q.w.perS*(charger.OverheadS+q.p.Rest.LeastS) + q.w.perMoney*charger.Price.PerSession + q.w.stop(charger) + free
	return math.Max(stop, rest) + q.w.rest(charger)
}

// depart is the least value of driving on from a charger with soc.
func (q *restPlan) depart(j, level int, soc float64) float64 {
	mark := len(q.s.hops)
	_, value, _ := q.s.depart(j+1, level, soc)
	q.s.hops = q.s.hops[:mark]
	return value
}

// levelOf is the cost-to-go where so many more stops are allowed.
func (s *Sweep) levelOf(more int) *level { return &s.levels[min(more, len(s.levels)-1)] }

// alternatives are the best plans found for different sets of stops, the best
// first, polished.
func (q *restPlan) alternatives(k int) []resting {
	byValue := func(a, b resting) int { return cmp.Compare(a.value, b.value) }
	slices.SortStableFunc(q.found, byValue)
	seen := map[string]bool{}
	var out []resting
	for _, f := range q.found {
		key := stopSet(f.choices)
		if seen[key] {
			continue
		}
		if seen[key] = true; len(out) == k {
			break
		}
		o := polish{s: q.s, p: q.p, w: q.w}
		if v := o.improve(f.choices); v < f.value {
			f.value = v
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, byValue)
	return out
}

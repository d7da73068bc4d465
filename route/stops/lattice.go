package stops

import (
	"cmp"
	"math"
	"slices"
)

// knot is one way to arrive at a stop of a fixed sequence.
type knot struct {
	soc, clock, value float64
	left              float64 // SoC on leaving the stop before
	from              int     // knot at the stop before
}

const (
	latticeSteps  = 100 // of the first, coarsest lattice
	latticeRounds = 4   // each ten times finer, around the best of the one before
	mostKnots     = 2000
	fewKnots      = 100 // where the work is used up
)

// lattice plays a fixed sequence of stops over many departure SoCs of each:
// everything at which something changes at this stop, at the next or at those
// tied to it, and a grid. It leaves the best in the choices and returns their
// value, +Inf where none keeps every limit.
func (q *search) lattice(choices []choice) float64 {
	stops := len(choices) - 1
	windows := make([][]float64, stops)
	for i := range windows {
		for k := 1; k <= latticeSteps; k++ {
			windows[i] = append(windows[i], float64(k)/latticeSteps)
		}
	}
	exact := q.exact(choices)
	best := math.Inf(1)
	step := 1.0 / latticeSteps
	for range latticeRounds {
		for i := range windows {
			windows[i] = append(windows[i], exact[i]...)
		}
		value := q.play(choices, windows)
		if !(value <= best) || q.err != nil {
			return best
		}
		best = value
		if q.exhausted() {
			return best
		}
		for i := range windows {
			x := choices[i].leaveSoC
			windows[i] = windows[i][:0]
			for k := -10; k <= 10; k++ {
				windows[i] = append(windows[i], x+float64(k)*step/10)
			}
		}
		step /= 10
	}
	return best
}

// exact lists, for each stop, the departures that only just do for the next
// drive, for those after it where a stay is as short or long as it may be, and
// where power here falls to what it is at the next stop.
func (q *search) exact(choices []choice) [][]float64 {
	const most = 64
	out := make([][]float64, len(choices)-1)
	for i := len(out) - 1; i >= 0; i-- {
		from, to := choices[i].node, choices[i+1]
		way := q.s.way(from, to.node, to.option)
		need := math.Max(way.need, way.cost+q.s.nodes[to.node].reserve)
		out[i] = append(out[i], need, need+rounding)
		if i+1 == len(out) {
			continue
		}
		next := &q.p.Chargers[to.node-1]
		for _, t := range next.stays(q.p.Rest.LeastS) {
			for _, y := range out[i+1] {
				if len(out[i]) < most {
					out[i] = append(out[i], next.Power.SoCBefore(y, t)+way.cost)
				}
			}
		}
		high := math.Min(q.s.nodes[from].ceiling, way.cost+math.Min(way.cap, 1))
		for _, here := range q.tariffs(from) {
			for _, there := range q.tariffs(to.node) {
				out[i] = turns(out[i], here.rate, there.rate, here.perSoC-there.perSoC, way.cost, need, high, false)
			}
		}
	}
	return out
}

// stays lists the charging times at which something about a stop changes.
func (c *Charger) stays(restS float64) []float64 {
	var out []float64
	for _, t := range [...]float64{c.LeastStayS, c.MostStayS, c.Price.IdleAfterS, restS} {
		if t > 0 {
			out = append(out, t)
		}
	}
	for i := range c.Periods {
		if t := c.Periods[i].Price.IdleAfterS; t > 0 {
			out = append(out, t)
		}
	}
	return out
}

// play finds the best departures from the windows.
func (q *search) play(choices []choice, windows [][]float64) float64 {
	stages := make([][]knot, len(choices))
	stages[0] = q.reachNext(nil, knot{soc: q.p.DepartSoC, clock: q.p.DepartS, from: -1}, 0, choices, 0)
	for i := range windows {
		c := &q.p.Chargers[choices[i].node-1]
		top := c.ceiling()
		ties := c.stays(choices[i].stayS)
		for at, k := range stages[i] {
			if q.spend(len(windows[i])); q.err != nil {
				return math.Inf(1)
			}
			try := func(x float64) {
				if x < k.soc || x > math.Max(k.soc, top) {
					return
				}
				do := choices[i]
				do.leaveSoC = x
				clock, money, ok := q.p.stop(c, k.clock, k.soc, &do)
				if !ok || !q.restInTime(c, &do, k.clock) {
					return
				}
				value := k.value + q.w.perS*(clock-k.clock) + q.w.perMoney*money + q.w.stop(c)
				stages[i+1] = q.reachNext(stages[i+1], knot{x, clock, value, x, at}, choices[i].node, choices, i+1)
			}
			for _, x := range windows[i] {
				try(x)
			}
			try(k.soc)
			for _, t := range ties {
				try(c.Power.SoCAfter(k.soc, t))
			}
		}
		stages[i+1] = q.thin(stages[i+1])
	}
	return q.readBack(choices, stages)
}

// timed tells whether the rest has a time of its own.
func (r *Rest) timed() bool { return r.FromS != 0 || r.ToS != 0 }

// holds tells whether a stay lies in the time of the rest, if the queue is
// joined at a clock time.
func (r *Rest) holds(c *Charger, join float64) bool {
	queueS, _ := c.at(join)
	begins := join + queueS + c.OverheadS
	return !r.timed() || begins >= r.FromS-1e-6 && begins <= r.ToS
}

func (q *search) restInTime(c *Charger, do *choice, clock float64) bool {
	r := &q.p.Rest
	if !do.rest {
		return true
	}
	return r.holds(c, do.join(clock))
}

// reachNext appends the arrival that follows from a departure, if the drive
// can be made.
func (q *search) reachNext(out []knot, k knot, from int, choices []choice, i int) []knot {
	to := choices[i]
	way := q.s.way(from, to.node, to.option)
	reserve := q.s.nodes[to.node].reserve
	if k.soc < math.Max(way.need, way.cost+reserve)-rounding || way.cap < reserve {
		return out
	}
	driveS := q.s.driveS(from, to.node, to.option)
	k.soc, k.clock, k.value = way.arrive(k.soc), k.clock+driveS, k.value+q.w.perS*driveS
	return append(out, k)
}

// thin drops the knots that another beats in every respect: with no less in the
// battery, no more spent and, where the clock matters, no later. Where more
// than mostKnots are left, being some seconds later, or as much dearer, counts
// as being beaten too: the lattice only has to come near.
func (q *search) thin(in []knot) []knot {
	slices.SortFunc(in, func(a, b knot) int {
		return cmp.Or(cmp.Compare(b.soc, a.soc), cmp.Compare(a.value, b.value))
	})
	out, most := q.kept(in, 0), mostKnots
	if q.exhausted() {
		most = fewKnots
	}
	for slackS := 1.0; len(out) > most && slackS < 3600; slackS *= 2 {
		out = q.kept(out, slackS)
	}
	return out
}

// kept goes through knots in falling order of SoC, where only the front of what
// is spent against the clock must be at hand, and keeps what is not beaten by
// more than a slack.
func (q *search) kept(in []knot, slackS float64) []knot {
	out := in[:0]
	q.front = q.front[:0]
	for _, k := range in {
		if q.enter(moment{q.spent(k.value, k.clock), k.clock}, slackS) {
			out = append(out, k)
		}
	}
	return out
}

// moment is what has been spent by a time of the clock.
type moment struct{ spent, clock float64 }

// enter adds a moment to the front, which rises in what is spent and falls in
// the clock, unless one in it is no dearer and no later, give or take a slack.
func (q *search) enter(m moment, slackS float64) bool {
	if !q.clocked {
		m.clock = 0
	}
	at, _ := slices.BinarySearchFunc(q.front, m.spent+1e-9+slackS*q.w.perS, func(f moment, spent float64) int {
		if f.spent <= spent {
			return -1
		}
		return 1
	})
	if at > 0 && q.front[at-1].clock <= m.clock+slackS {
		return false
	}
	from := at
	for from > 0 && q.front[from-1].spent >= m.spent {
		from--
	}
	to := at
	for to < len(q.front) && q.front[to].clock >= m.clock {
		to++
	}
	q.front = slices.Replace(q.front, from, to, m)
	return true
}

// readBack writes the departures of the best arrival into the choices.
func (q *search) readBack(choices []choice, stages [][]knot) float64 {
	last := stages[len(stages)-1]
	if len(last) == 0 {
		return math.Inf(1)
	}
	best := 0
	for i := range last {
		if last[i].value < last[best].value {
			best = i
		}
	}
	value := last[best].value
	for i := len(stages) - 1; i > 0; i-- {
		k := stages[i][best]
		choices[i-1].leaveSoC, best = k.left, k.from
	}
	return value
}

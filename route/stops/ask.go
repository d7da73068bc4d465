package stops

import "math"

// Decision is what to do on arriving at a charger.
type Decision struct {
	LeaveSoC float64 // charge to this; the SoC on arrival where leaving at once is best
	Next     int     // where to drive: a charger, or Destination
	Option   int     // speed option of that drive
	Value    float64 // the objective from here to the destination, the overhead of this stop included
	Rest     bool    // the rest is taken here
}

// Decide returns the best thing to do on arriving at a charger with any SoC,
// planned or not. ok is false where nothing leads to the destination. It
// allocates nothing. In a problem with MostStops this stop counts as the
// first.
//
// Leaving at once is weighed against charging with the overhead counted either
// way, as in the plan that led here.
func (s *Sweep) Decide(charger int, arriveSoC float64) (d Decision, ok bool) {
	j := charger + 1
	r := len(s.levels) - 1
	mark := len(s.hops)
	defer func() { s.hops = s.hops[:mark] }()
	d.Value = math.Inf(1)
	if e := s.stepFrom(&s.levels[r], j, arriveSoC); e != nil {
		d = Decision{LeaveSoC: e.soc, Value: s.value(j, e) - s.start(j, arriveSoC)}
		d.Next, d.Option = s.firstOf(&s.ways[e.way])
	}
	if a, v, any := s.depart(j, r, arriveSoC); any && s.nodes[j].base+v <= d.Value {
		d = Decision{LeaveSoC: arriveSoC, Value: s.nodes[j].base + v}
		d.Next, d.Option = s.firstOf(&a)
	}
	return d, d.Value < math.Inf(1)
}

// Depart returns the first drive of the best way from the origin with a SoC there.
func (s *Sweep) Depart(soc float64) (d Decision, ok bool) {
	mark := len(s.hops)
	defer func() { s.hops = s.hops[:mark] }()
	a, value, ok := s.depart(0, s.top(), soc)
	if !ok {
		return d, false
	}
	d = Decision{LeaveSoC: soc, Value: value}
	d.Next, d.Option = s.firstOf(&a)
	return d, true
}

// firstOf is the first stop on an arc and the option that leads there.
func (s *Sweep) firstOf(a *arc) (place, option int) {
	place, option = s.place(int(a.to)), int(a.option)
	for via := a.via; via != noHop; via = s.hops[via].before {
		place, option = s.place(int(s.hops[via].node)), int(s.hops[via].option)
	}
	return place, option
}

// CostToGo returns the least value from arriving at a charger to the
// destination, the overhead of this stop included; +Inf where there is no way.
func (s *Sweep) CostToGo(charger int, arriveSoC float64) float64 {
	d, ok := s.Decide(charger, arriveSoC)
	if !ok {
		return math.Inf(1)
	}
	return d.Value
}

// Rule is one line of a leave rule: whoever arrives with a SoC of FromSoC or
// more, but less than ToSoC, charges to LeaveSoC and drives to Next.
type Rule struct {
	FromSoC, ToSoC float64
	LeaveSoC       float64 // 0: leave at once
	Next           int     // where to drive; of several, the one at FromSoC
}

// LeaveRule returns the rule for every SoC on arrival at a charger, in rising
// order. SoCs from which nothing leads on are left out.
func (s *Sweep) LeaveRule(charger int) []Rule {
	var rules []Rule
	add := func(from, to float64) {
		d, ok := s.Decide(charger, math.Min(from+nearby, (from+to)/2))
		if !ok || to-from < nearby {
			return
		}
		if d.LeaveSoC <= from+nearby {
			d.LeaveSoC = 0
		}
		rules = append(rules, Rule{from, to, d.LeaveSoC, d.Next})
	}
	atOnce := func(soc float64) bool {
		d, ok := s.Decide(charger, soc)
		return ok && d.LeaveSoC <= soc
	}
	stuck := func(soc float64) bool {
		_, ok := s.Decide(charger, soc)
		return !ok
	}
	steps := s.stepsOf(&s.levels[len(s.levels)-1], charger+1)
	from := 0.0
	for i := len(steps) - 1; i >= -1; i-- {
		top := math.Nextafter(1, 2)
		if i >= 0 {
			top = steps[i].soc
		}
		free := holdsUntil(from, top, stuck)
		split := holdsUntil(free, top, atOnce)
		add(free, split)
		add(split, top)
		from = top
	}
	return rules
}

// nearby is how closely the limits of a rule are found.
const nearby = 1e-9

// holdsUntil finds the SoC in [from, to] up to which something holds that
// holds no longer once it does not. Between two steps that is so for having
// no way on, and then for leaving at once: just above a step nothing is left
// to charge for its sake, and a second time would be a step of its own.
func holdsUntil(from, to float64, holds func(float64) bool) float64 {
	if !holds(from + nearby) {
		return from
	}
	low, high := from, to
	for high-low > nearby {
		if mid := (low + high) / 2; holds(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	if to-high < 2*nearby {
		return to
	}
	return high
}

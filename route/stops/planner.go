package stops

import "math"

// Planner solves problems one after another in the same memory: after the
// first few of a size it allocates nothing. It is not safe for use by several
// goroutines at once; give each its own.
type Planner struct {
	// Stop, where it is set, is asked again and again, every 50 to 500 µs of
	// work; an error ends the work and is returned. How often it is asked
	// depends on the problem alone, so that it can also count the work.
	Stop func() error

	sweep Sweep
}

// Solve returns a best plan. The error is an [*InputError] for a problem that
// makes no sense and an [*Infeasible] for one without a plan.
func Solve(p *Problem) (*Plan, error) {
	plan := new(Plan)
	if err := new(Planner).Solve(p, plan); err != nil {
		return nil, err
	}
	return plan, nil
}

// Solve is the function Solve into memory of the caller: plan.Stops is reused.
func (pl *Planner) Solve(p *Problem, plan *Plan) error {
	s, err := pl.Sweep(p)
	if err != nil {
		return err
	}
	return s.Plan(p.DepartSoC, plan)
}

// Sweep computes the cost-to-go of a problem. It is valid until the Planner
// is used again, and as long as the problem is not changed. It leaves out what
// ties charging times to arrivals or to the clock (stays, idle fees, periods,
// rests) and counts the cheapest prices: with any of those it is a lower
// bound.
func (pl *Planner) Sweep(p *Problem) (*Sweep, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	pl.sweep.stop = pl.Stop
	pl.sweep.load(p, p.Objective.weights())
	return &pl.sweep, pl.sweep.run(p.MostStops)
}

// solveCoupled plans a trip with limits that the sweep leaves out.
func (s *Sweep) solveCoupled(p *Problem, plan *Plan) error {
	_, bound, ok := s.depart(0, s.top(), p.DepartSoC)
	if !ok {
		return s.diagnose(p.DepartSoC)
	}
	if p.restsOnly() {
		return s.solveRest(p, plan)
	}
	choices, _, cut, err := s.search(p, mostWork)
	if err != nil {
		return err
	}
	if choices == nil {
		return s.none(p, cut)
	}
	s.replay(choices, p.DepartSoC, plan)
	plan.Bound = math.Min(bound, plan.Value)
	return nil
}

// polishedRests is how many sets of stops with a rest are polished.
const polishedRests = 4

// solveRest plans a trip that nothing but a rest at a charger ties to the clock.
func (s *Sweep) solveRest(p *Problem, plan *Plan) error {
	q, err := newRestPlan(s, p)
	if err != nil {
		return err
	}
	best := q.alternatives(polishedRests)
	if q.w.perMoney > 0 && !p.Rest.Brief && !(q.bound >= q.best-q.tolerance()) {
		choices, value, _, err := s.search(p, extraWork)
		if err != nil {
			return err
		}
		if choices != nil && (len(best) == 0 || value < best[0].value) {
			best = []resting{{choices, value}}
		}
	}
	if len(best) == 0 {
		return s.none(p, q.cut)
	}
	s.replay(best[0].choices, p.DepartSoC, plan)
	plan.Bound = math.Min(q.bound, plan.Value)
	return nil
}

// none is why no plan was found: the work was cut, or there is none.
func (s *Sweep) none(p *Problem, cut bool) error {
	if cut {
		return ErrGivenUp
	}
	return s.diagnose(p.DepartSoC)
}

// search polishes the best sequences of stops and returns the best of them;
// no choices where there is none. Where the work of a search is used up before
// any was found, which cut says, a coarser one follows.
func (s *Sweep) search(p *Problem, most int) (choices []choice, value float64, cut bool, err error) {
	value = math.Inf(1)
	for _, slack := range slacks {
		q := newSearch(s, p, slack)
		q.most = most
		err := q.sequences(polished, func(c []choice, v float64) float64 {
			if v < value {
				choices, value = c, v
			}
			return value
		})
		if cut = cut || q.exhausted(); err != nil || choices != nil || !q.exhausted() {
			return choices, value, cut, err
		}
	}
	return choices, value, cut, nil
}

// sequences finds sequences of stops in order of what they promise, polishes
// each and hands it to found, which says below what value another one is still
// of interest; it ends where none can be, after most of them, or where the
// work is used up.
func (q *search) sequences(most int, found func([]choice, float64) (limit float64)) error {
	limit := math.Inf(1)
	for seen := make(map[string]bool); len(seen) < most; {
		at, ok := q.next()
		if q.err != nil {
			return q.err
		}
		if !ok || q.labels[at].least >= limit+q.coarseness() {
			return nil
		}
		choices := q.trace(at)
		key := stopSet(choices)
		if seen[key] {
			continue
		}
		seen[key] = true
		q.lattice(choices)
		if q.err != nil {
			return q.err
		}
		o := polish{s: q.s, p: q.p, w: q.w}
		limit = found(choices, o.improve(choices))
	}
	return nil
}

// coarseness is what the grid of departures may hide at one stop: two minutes
// of charging and two steps of energy, at the dearest charger.
func (q *search) coarseness() float64 {
	perS, perSoC := q.w.perS, 0.0
	for node := 1; node <= q.s.n; node++ {
		for _, t := range q.tariffs(node) {
			perS, perSoC = math.Max(perS, t.perS), math.Max(perSoC, t.perSoC)
		}
	}
	return 120*perS + 2*perSoC/gridSteps
}

// Plan reads the best plan for a departure with departSoC from the sweep. The
// error is an [*Infeasible]. In a trip with limits that the sweep leaves out it
// is found by a search that the sweep guides.
func (s *Sweep) Plan(departSoC float64, plan *Plan) error {
	if s.coupled {
		p := *s.problem
		p.DepartSoC = departSoC
		return s.solveCoupled(&p, plan)
	}
	mark := len(s.hops)
	choices, ok := s.follow(s.choices[:0], 0, s.top(), departSoC)
	s.hops = s.hops[:mark]
	s.choices = choices
	if !ok {
		return s.diagnose(departSoC)
	}
	s.replay(choices, departSoC, plan)
	plan.Bound = plan.Value
	return nil
}

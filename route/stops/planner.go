package stops

// Planner solves problems one after another in the same memory: after the
// first few of a size it allocates nothing. It is not safe for use by several
// goroutines at once; give each its own.
type Planner struct {
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
// is used again, and as long as the problem is not changed.
func (pl *Planner) Sweep(p *Problem) (*Sweep, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	pl.sweep.load(p, p.Objective.weights())
	pl.sweep.run(p.MostStops)
	return &pl.sweep, nil
}

// Plan reads the best plan for a departure with departSoC from the sweep.
func (s *Sweep) Plan(departSoC float64, plan *Plan) error {
	choices, ok := s.follow(s.choices[:0], 0, s.top(), departSoC)
	s.choices = choices
	if !ok {
		return s.diagnose(departSoC)
	}
	s.replay(choices, departSoC, plan)
	plan.Bound = plan.Value
	return nil
}

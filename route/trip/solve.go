package trip

import (
	"errors"
	"slices"

	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
)

// Plan is Journey.Plan for this drive alone.
func (d *Drive) Plan(planner *stops.Planner, g Goal) (*Plan, error) {
	p, err := (&Journey{Drives: []*Drive{d}, Goal: g}).Plan(planner)
	if err != nil {
		return nil, err
	}
	return p.Plans[0], nil
}

// planAsWanted is Plan for a goal that makes sense.
func (d *Drive) planAsWanted(planner *stops.Planner, g Goal) (*Plan, error) {
	switch {
	case g.Depart.IsZero() && !g.ArriveBy.IsZero() && len(g.TempByHour) > 0:
		return d.planArrivingByHour(planner, g)
	case g.Depart.IsZero() && !g.ArriveBy.IsZero():
		return d.planArriving(planner, g)
	case len(g.TempByHour) > 0:
		return d.planByHour(planner, g)
	case g.Confidence > 0:
		return d.planSurelyBest(planner, g)
	}
	return d.plan(planner, g)
}

// plan finds the best plan at the goal's excess of consumption. With an excess
// the clock is left out, and stations that may be shut when the car comes by
// are not used; where the plan stops for longer than was allowed for, more is.
func (d *Drive) plan(planner *stops.Planner, g Goal) (*Plan, error) {
	if !(g.Excess > 0) {
		return d.planWith(planner, g, d.Problem(g), nil)
	}
	for stopS := steadySlackS; ; stopS *= 2 {
		closed := d.shut(g, stopS)
		if err := d.mustStand(g, closed); err != nil {
			return nil, err
		}
		p, err := d.planWith(planner, g, d.untimed(g, closed), closed)
		var broken *stops.Broken
		if !errors.As(err, &broken) || stopS > horizon.Seconds() {
			return p, err
		}
	}
}

func (d *Drive) planWith(planner *stops.Planner, g Goal, problem *stops.Problem, closed shut) (*Plan, error) {
	var exact stops.Plan
	if len(problem.Relief) > 0 {
		p, err := d.asEstimated(planner, g, &exact, closed)
		if p != nil {
			p.allowedLegs = len(p.Legs)
		}
		return p, err
	}
	err := solve(planner, problem, &exact)
	var infeasible *stops.Infeasible
	if errors.As(err, &infeasible) && !g.terse {
		return nil, d.why(g, infeasible, closed)
	}
	if err != nil {
		return nil, err
	}
	if err := stops.Verify(problem, &exact); err != nil {
		return nil, err
	}
	if g.Excess > 0 {
		return d.asEstimated(planner, g, &exact, closed)
	}
	return d.build(g, &exact)
}

// solve is planner.Solve, but tries first whether the best plan without the
// clock keeps the opening hours: nothing that heeds them can be better, unless
// it is for a price by the hour.
func solve(planner *stops.Planner, problem *stops.Problem, exact *stops.Plan) error {
	if problem.Objective.Goal != stops.TimeAndMoney {
		free := *problem
		free.Chargers = slices.Clone(problem.Chargers)
		for i := range free.Chargers {
			free.Chargers[i].Periods = nil
		}
		if planner.Solve(&free, exact) == nil && stops.Verify(problem, exact) == nil {
			return nil
		}
	}
	return planner.Solve(problem, exact)
}

// possible reports whether a goal can be met on a drive.
func (d *Drive) possible(g Goal) bool {
	planner := stops.Planner{Stop: g.stop}
	g.brief = true
	return planner.Solve(d.Problem(g), &stops.Plan{}) == nil
}

// Prepare puts a question's corridor, drive and goal together.
func Prepare(r *route.Route, index *stations.Index, car *energy.Car, ask question.Question) (*Drive, Goal, error) {
	if err := judge(r); err != nil {
		return nil, Goal{}, err
	}
	cond, options, goal, err := Parts(&ask)
	if err != nil {
		return nil, Goal{}, err
	}
	if goal.Night, err = nightOf(&ask, car, goal); err != nil {
		return nil, Goal{}, err
	}
	if goal.Night != nil {
		goal.DepartSoC = goal.Night.Result.DepartSoC
	}
	drive, err := NewDrive(NewCorridor(r, index, CorridorOptionsOf(&ask)), car, cond, options)
	return drive, goal, err
}

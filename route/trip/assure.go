package trip

import (
	"slices"

	"ampleway/route/stops"
)

// Defaults of AssureOptions.
const (
	DefaultTrips = 1000
	DefaultSeed  = 1
)

// AssureOptions says how much is asked of Assure.
type AssureOptions struct {
	Trips int    // simulated; 0: DefaultTrips
	Seed  uint64 // of the simulation; 0: DefaultSeed
}

func (o AssureOptions) withDefaults() AssureOptions {
	if o.Trips == 0 {
		o.Trips = DefaultTrips
	}
	if o.Seed == 0 {
		o.Seed = DefaultSeed
	}
	return o
}

// Assure adds to a plan what to do, and what happens, when things go otherwise
// than estimated: Rules, Risk, Fallbacks, Stresses and Choices. planner may be
// nil. The same plan and options give the same result.
func (p *Plan) Assure(planner *stops.Planner, o AssureOptions) error {
	if planner == nil {
		planner = &stops.Planner{}
	}
	o = o.withDefaults()
	sweep, err := planner.Sweep(p.steady(p.Drive.Problem(p.Goal)))
	if err != nil {
		return err
	}
	p.Rules = p.rules(sweep)
	p.Risk = p.simulate(sweep, o)
	if err := p.fallBack(planner); err != nil {
		return err
	}
	if err := p.stress(planner); err != nil {
		return err
	}
	return p.choose(planner)
}

// steadySlackS is how much later than planned, or than without a stop, a
// driver may be for what was open to count as open still.
const steadySlackS = 2 * 3600.0

// steady takes the clock out of a problem: whoever comes earlier or later than
// planned must find a station open, so those that close at any time from
// passing them without a stop to being stopS + steadySlackS behind that are
// left out. Idle fees are left out too. A charger in keep stays.
func (d *Drive) steady(problem *stops.Problem, stopS float64, keep ...int) *stops.Problem {
	for i := range problem.Chargers {
		c := &problem.Chargers[i]
		c.Price.IdlePerMinute = 0
		if len(c.Periods) == 0 {
			continue
		}
		firstS := problem.DepartS + d.Profile.TimeS(d.Chargers[i].ChainageM)
		if !slices.Contains(keep, i) && closes(c.Periods, firstS, firstS+stopS+steadySlackS) {
			c.Use = stops.MustPass
		}
		c.Periods = nil
	}
	return problem
}

func (p *Plan) steady(problem *stops.Problem) *stops.Problem {
	var keep []int
	for i := range p.Exact.Stops {
		keep = append(keep, p.Exact.Stops[i].Charger)
	}
	return p.Drive.steady(problem, p.StopS, keep...)
}

// closes reports whether any time between two is in a closed period.
func closes(periods []stops.Period, fromS, toS float64) bool {
	for i, q := range periods {
		ends := i+1 == len(periods) || periods[i+1].FromS > fromS
		if q.Closed && q.FromS < toS && ends {
			return true
		}
	}
	return false
}

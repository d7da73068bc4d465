package trip

import "ampleway/route/stops"

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
	problem := p.Drive.Problem(p.Goal)
	sweep, err := planner.Sweep(problem)
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

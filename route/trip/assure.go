package trip

import (
	"fmt"

	"ampleway/route/stops"
	"ampleway/stations"
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

// Assure is JourneyPlan.Assure for this drive alone.
func (p *Plan) Assure(planner *stops.Planner, o AssureOptions) error {
	return p.alone().Assure(planner, o)
}

// Assure adds to a plan what to do, and what happens, when things go otherwise
// than estimated: to each drive its Rules, Fallbacks, Stresses and Choices, and to
// the whole its Risk, which for a journey of one drive is also that of its plan.
// planner may be nil. The same plan and options give the same result.
func (p *JourneyPlan) Assure(planner *stops.Planner, o AssureOptions) error {
	if planner == nil {
		planner = &stops.Planner{}
	}
	sweeps, closed := make([]*stops.Sweep, len(p.Plans)), make([]shut, len(p.Plans))
	for i, plan := range p.Plans {
		plan.Goal.stop = planner.Stop
		closed[i] = plan.shut()
		var err error
		if sweeps[i], err = plan.sweep(&stops.Planner{Stop: planner.Stop}); err != nil {
			return err
		}
		if plan.Goal.keeps() {
			plan.keepRules()
		} else {
			plan.Rules = plan.rules(sweeps[i])
		}
	}
	var err error
	if p.Risk, err = p.simulate(sweeps, o.withDefaults()); err != nil {
		return err
	}
	if len(p.Plans) == 1 {
		p.Plans[0].Risk = p.Risk
	}
	for i, plan := range p.Plans {
		if err := plan.fallBack(planner, closed[i]); err != nil {
			return err
		}
	}
	if err := p.stress(planner, closed); err != nil {
		return err
	}
	for i, plan := range p.Plans {
		if err := plan.choose(planner, closed[i]); err != nil {
			return err
		}
	}
	return p.Plans[0].Goal.stopped()
}

// sweep is what the leave rules of a plan are read from.
func (p *Plan) sweep(planner *stops.Planner) (*stops.Sweep, error) {
	g := p.Goal
	if p.course != nil {
		g = *p.course
	}
	return planner.Sweep(p.Drive.untimed(g, p.shut()))
}

// steadySlackS is how much later than planned, or than without a stop, a
// driver may be for what was open to count as open still.
const steadySlackS = 2 * 3600.0

// shut are sites that may be closed when the car comes by.
type shut map[*stations.Site]bool

// shut finds the sites that are closed at any time from passing them without
// a stop to being stopS + steadySlackS behind that.
func (d *Drive) shut(g Goal, stopS float64) shut {
	out := shut{}
	for i := range d.Chargers {
		c := &d.Chargers[i]
		if c.Site.Hours == "" {
			continue
		}
		firstS := d.Profile.TimeS(c.ChainageM)
		if closes(d.periods(c, g), firstS, firstS+stopS+steadySlackS) {
			out[c.Site] = true
		}
	}
	return out
}

// shut leaves out the sites that the plan itself stops at.
func (p *Plan) shut() shut {
	out := p.Drive.shut(p.Goal, p.StopS)
	for i := range p.Stops {
		delete(out, p.Stops[i].Charger.Site)
	}
	return out
}

// untimed is the problem without the clock: whoever comes earlier or later
// than planned must find a station open, so those that may be shut are not
// used. Idle fees, which bind a stay to its arrival, are left out too.
func (d *Drive) untimed(g Goal, closed shut) *stops.Problem {
	g.untimed = true
	problem := d.Problem(g)
	if g.relief > 0 {
		problem.Relief = d.relief(g.relief * g.Excess)
	}
	for i := range problem.Chargers {
		problem.Chargers[i].Price.IdlePerMinute = 0
		if closed[d.Chargers[i].Site] {
			problem.Chargers[i].Use = stops.MustPass
		}
	}
	return problem
}

// relief is what each piece of the road takes less than with so much more excess.
func (d *Drive) relief(excess float64) []float64 {
	out := make([]float64, 0, len(d.Chargers)+1)
	before := 0.0
	add := func(toM float64) {
		now := d.drawn().upTo(toM)
		out = append(out, excess*(now-before))
		before = now
	}
	for i := range d.Chargers {
		add(d.Chargers[i].ChainageM)
	}
	add(d.Profile.LengthM())
	return out
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

// assuredAssumptions says what the answers of Assure rest on.
func (p *Plan) assuredAssumptions() []string {
	if p.Risk == nil {
		return nil
	}
	out := []string{spreadAssumption(p.Drive.Car)}
	if len(p.Stops) > 0 {
		out = append(out,
			"Leaving: percents are rounded up so that the reserve holds even where the gauge rounds to the nearest.",
			fmt.Sprintf("Other stations: reached with at least %.0f %%, by the estimate; turning round is taken to be possible.", 100*p.Goal.fallbackFloorSoC()))
	}
	return out
}

package trip

import "ampleway/route/stops"

// Choice is another plan worth knowing, and what it gains and costs over the
// plan at hand.
type Choice struct {
	Name     string // what is different, in a few words
	Plan     *Plan
	MoreS    float64 // longer than the plan; negative: shorter
	Stops    int     // more stops; negative: fewer
	Headroom float64 // more headroom, as a share; negative: less
}

func (p *Plan) choose(planner *stops.Planner) error { return nil }

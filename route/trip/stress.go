package trip

import "ampleway/route/stops"

// Stress is one thing that makes the trip harder than estimated, and what
// comes of it.
type Stress struct {
	Name      string
	Known     bool    // false: this car or day cannot be judged for it
	ArriveSoC float64 // at the destination, with the same stops left with the same states of charge; below 0: not reached
	LeastSoC  float64 // lowest on the way
	Holds     bool    // every reserve is kept
	BreaksLeg int     // the first leg that breaks one; −1: none
	Plan      *Plan   // the best plan then, where a reserve breaks; nil where there is none
}

func (p *Plan) stress(planner *stops.Planner) error { return nil }

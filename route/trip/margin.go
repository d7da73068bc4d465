package trip

import (
	"fmt"
	"math"

	"ampleway/energy"
)

// ProbabilityBasis says in half a sentence what the probabilities of a car rest
// on; empty where none is known.
func ProbabilityBasis(c *energy.Car) string {
	switch {
	case c.OwnSpread:
		return "by the spread in the car file"
	case c.MadeFrom == energy.FromClass:
		return "by how far cars of the US test list lie from the class nearest to them"
	case c.MadeFrom == energy.FromLabel:
		return "by how far cars of the US test list lie from their label"
	}
	return ""
}

// NotKnown says of a margin, in half a sentence, that no probability is known
// for it, and why.
func NotKnown(c *energy.Car) string {
	const text = "how often that suffices is not known for this car"
	switch c.MadeFrom {
	case energy.FromTables:
		return text + ", made from government tables"
	case energy.FromLog:
		return text + ", fitted to a log"
	}
	return text + ", whose file does not say what it was made from"
}

// spreadAssumption says what a plan allows for, and where that is from.
func spreadAssumption(c *energy.Car) string {
	s := c.PlanSpread()
	text := fmt.Sprintf("by %.0f %% over a whole trip and by %.0f %% from leg to leg (standard deviations)", 100*s.Trip, 100*s.Leg)
	const braking = "; what braking brings back does not rise with it."
	switch {
	case c.Calibrated():
		return "Spread: consumption strays from the estimate " + text + ", " + ProbabilityBasis(c) + braking
	case c.MadeFrom == energy.FromLog:
		return "Spread: the margin is that of consumption straying " + text + ", twice what the fit measured or more; " + NotKnown(c) + braking
	}
	return "Spread: the margin is that of consumption straying " + text + ", the widest that is supported for any car; " + NotKnown(c) + braking
}

// MarginPct is an excess of consumption in whole percents, rounded down: no
// more is promised than was planned for.
func MarginPct(excess float64) float64 { return math.Floor(100*excess + 1e-6) }

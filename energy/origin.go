package energy

import "math"

// Origin is what a car was made from. How far its consumption may lie from the
// estimate, and whether that can be put as a probability, follows from it.
type Origin string

// Origins. The empty Origin is a car whose file does not say.
const (
	FromClass  Origin = "class"  // a built-in class: no figure of the car itself
	FromLabel  Origin = "label"  // a rated range or consumption, of a label or a brochure
	FromTables Origin = "tables" // figures of the two US government tables
	FromLog    Origin = "log"    // a fit to logged drives
)

// Origins lists those that a car file can name, in a fixed order.
func Origins() []Origin { return []Origin{FromClass, FromLabel, FromTables, FromLog} }

// Spreads of cars whose own is not known. The 95 % margin of one leg is 40 %
// for a class and 29 % for a label. The cars of the US EPA test car list of
// 2023 at 110 km/h need 39 % and 27 % for 95 in 100 of them (measured on 113
// cars on 27 November 2026; a test measures it again on the whole list). Of
// what changes from one day to the next no more is in them than LegSpread.
const (
	ClassTripSpread = 0.22
	LabelTripSpread = 0.16
	LegSpread       = 0.04
)

// DayTripSpread is how far a car that is known strays from one trip to the
// next; common practice.
const DayTripSpread = 0.08

// fitWidening is how much wider than a fit measures it the spread is taken to
// be. Planned from the model's climate on a profile with a point each kilometre
// 67 % of drives lay within ±1.96 of the fit's standard deviations (27 November
// 2026); of a normal spread 67 % lie within 0.97 of them.
const fitWidening = 2.0

// spreadOf is the spread of a car whose file has none. Where no probability is
// supported it is the widest of those that are.
func spreadOf(o Origin) Spread {
	switch o {
	case FromLabel:
		return Spread{Trip: LabelTripSpread, Leg: LegSpread}
	case FromLog:
		return Spread{Trip: DayTripSpread, Leg: LegSpread}
	}
	return Spread{Trip: ClassTripSpread, Leg: LegSpread}
}

// PlanSpread is the spread that a plan allows for: the owner's own or that of
// the origin as it stands in Spread, that of a fit widened.
func (c *Car) PlanSpread() Spread {
	if c.MadeFrom != FromLog || c.OwnSpread {
		return c.Spread
	}
	return Spread{
		Trip: math.Max(fitWidening*c.Spread.Trip, DayTripSpread),
		Leg:  math.Max(fitWidening*c.Spread.Leg, LegSpread),
	}
}

// DaySpread is how far consumption strays from one trip of a car to the next
// once its own mean is known: the spread in its file where a log or the owner
// gives one, else common practice.
func (c *Car) DaySpread() Spread {
	if c.OwnSpread || c.MadeFrom == FromLog {
		return c.Spread
	}
	return Spread{Trip: DayTripSpread, Leg: LegSpread}
}

// Calibrated reports whether the spread can be put as a probability: by the
// cars that a class or a label was compared with, or because the owner answers
// for it. For every other car a plan has a margin, but how often that suffices
// is not known.
func (c *Car) Calibrated() bool {
	return c.OwnSpread || c.MadeFrom == FromClass || c.MadeFrom == FromLabel
}

package stops

import (
	"errors"
	"fmt"
)

// ErrNoPlan is what every [*Infeasible] wraps.
var ErrNoPlan = errors.New("stops: no plan reaches the destination")

// ErrGivenUp is returned where the work that is allowed ended before any plan
// was found: there may be one.
var ErrGivenUp = errors.New("given up after the allowed work; no plan found, which does not mean there is none")

// Places that are not chargers, where an index of Problem.Chargers is expected.
const (
	Origin      = -1
	Destination = -2
)

// Infeasible says where a trip fails. It is returned, as an error that wraps
// [ErrNoPlan], when no plan keeps every limit.
type Infeasible struct {
	// Farthest is the last charger (or Origin) that can be reached.
	Farthest int
	// From and To bound the first stretch that cannot be crossed: of all
	// drives from a place that can be reached to one beyond Farthest, the one
	// that fails by least. To may be Destination.
	From, To int
	// MissingKWh is what the battery lacks, at the most it can hold on leaving
	// From, to reach To with its reserve. It is 0 where energy is not what
	// fails: see Why.
	MissingKWh float64
	Why        string // set where a limit other than energy is in the way
}

// Error gives the message on one line.
func (e *Infeasible) Error() string {
	if e.Why != "" {
		return ErrNoPlan.Error() + ": " + e.Why
	}
	return fmt.Sprintf("%v: %.2f kWh short from %s to %s", ErrNoPlan, e.MissingKWh, place(e.From), place(e.To))
}

// Unwrap returns ErrNoPlan.
func (e *Infeasible) Unwrap() error { return ErrNoPlan }

func place(i int) string {
	switch i {
	case Origin:
		return "the origin"
	case Destination:
		return "the destination"
	}
	return fmt.Sprintf("charger %d", i)
}

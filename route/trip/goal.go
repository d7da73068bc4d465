package trip

import (
	"fmt"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/route/stops"
)

// DefaultFallbackFloorSoC is what may be left on reaching another station
// because the planned one fails: common practice for a careful driver.
const DefaultFallbackFloorSoC = 0.05

const mostStopWorthS = 24 * 3600.0

// MostConfidence is the highest Confidence: beyond it the spread is not known.
const MostConfidence = 0.999

// Goal is what one plan is asked for.
type Goal struct {
	DepartSoC          float64         // at the start, 0..1
	ReserveSoC         float64         // least on reaching a charger and anywhere on the road, 0..1
	ArriveReserveSoC   float64         // least at the destination, 0..1
	CeilingSoC         float64         // charge no further than this; 0: 1
	Objective          stops.Objective // what counts; the zero value is least time
	MostStops          int             // 0: no limit
	StopWorthS         float64         // a stop counts so much more than its time, s, and one that may mean waiting more still (see burdenS); 0: only the clock counts
	Depart             time.Time       // zero: the clock does not count
	ArriveBy           time.Time       // the wanted arrival; where Depart is zero, Plan finds the latest that does it
	TempByHour         HourlyTemp      // the air by the clock, instead of the drive's; needs a time of day
	Meal               Meal            // a rest by the clock; needs Depart
	Night              *Night          // the charging at home before; nil: none was asked for
	Must, MustNot      []string        // IDs of sites to stop at, and not to
	UnknownPricePerKWh *float64        // price of a kWh where none is known, for objectives that count money; nil: no stop there
	Fuel               *FuelCar        // to compare with; nil: none
	Rates              money.Rates     // between currencies, as the user states them
	Confidence         float64         // probability, 0..1, that every reserve holds although consumption strays; 0: by the estimate alone
	Excess             float64         // plan as if every drive took this share more than estimated; Plan sets it from Confidence
	Unpolished         bool            // the best plan at Excess, as it is: see Drive.polish
	Fallback           bool            // reach every stop with enough for another station
	untimed            bool            // no clock: see Drive.untimed
	advised            bool            // MostStops is a course to try, no limit that was asked for
	relief             float64         // a course to try: the share of Excess that is not counted on beyond the drive at hand, 0..1
	terse              bool            // where there is no plan, the reason is not wanted
	waitPerHour        float64         // what an hour counts beside money because of a meal; see countWaiting
	brief              bool            // a fraction of the work to place a meal will do
	FallbackFloorSoC   *float64        // least on reaching that one; nil: DefaultFallbackFloorSoC, or the reserve where that is less

	part       *part        // of a journey of several drives; nil: a trip
	stop       func() error // of the planner at work; nil: it is not to be stopped
	pricedOnly bool         // no stop where the price is not known; Priced sets it
}

// Validate returns a *fault.Input for a share outside 0..1.
func (g Goal) Validate() error {
	for _, f := range []struct {
		field string
		value float64
	}{
		{"state of charge at departure", g.DepartSoC},
		{"reserve", g.ReserveSoC},
		{"reserve at the destination", g.ArriveReserveSoC},
		{"highest state of charge", g.CeilingSoC},
		{"floor at a fallback", g.fallbackFloorSoC()},
	} {
		if !(f.value >= 0 && f.value <= 1) {
			return &fault.Input{Field: f.field, Found: fmt.Sprintf("%g %%", 100*f.value), Expected: "0 to 100 %"}
		}
	}
	if g.CeilingSoC > 0 && g.CeilingSoC < g.ReserveSoC {
		return &fault.Input{Field: "highest state of charge", Found: fmt.Sprintf("%g %%", 100*g.CeilingSoC), Expected: fmt.Sprintf("at least the reserve of %g %%", 100*g.ReserveSoC)}
	}
	if !(g.Confidence >= 0 && g.Confidence <= MostConfidence+1e-9) {
		return &fault.Input{Field: "confidence", Found: fmt.Sprintf("%g %%", 100*g.Confidence), Expected: fmt.Sprintf("0 to %g %%", 100*MostConfidence)}
	}
	if !(g.StopWorthS >= 0 && g.StopWorthS <= mostStopWorthS) {
		return &fault.Input{Field: "stop_worth_min", Found: fmt.Sprintf("%g minutes", g.StopWorthS/60), Expected: fmt.Sprintf("0 to %g minutes", mostStopWorthS/60)}
	}
	return nil
}

// stopped is why the work is to end, nil where it is not.
func (g Goal) stopped() error {
	if g.stop == nil {
		return nil
	}
	return g.stop()
}

// timed reports whether the trip has a time of day.
func (g Goal) timed() bool { return !g.Depart.IsZero() || !g.ArriveBy.IsZero() }

// keeps reports whether the driver keeps to the plan's stops and departures,
// because a rule for every gauge could lead to more stops or past the rest.
func (g Goal) keeps() bool { return g.MostStops > 0 && !g.advised || g.Meal.LeastS > 0 }

// floorSoC is the least SoC anywhere on the road.
func (g Goal) floorSoC() float64 { return min(g.ReserveSoC, g.ArriveReserveSoC) }

// ReserveText names what a trip must not fall below, and which is which where
// the reserves differ.
func (g Goal) ReserveText() string {
	if g.ReserveSoC == g.ArriveReserveSoC {
		return fmt.Sprintf("your reserve of %.0f %%", 100*g.ReserveSoC)
	}
	return g.LegReserveText(false) + " and " + g.LegReserveText(true)
}

// LegReserveText names what one leg must arrive with.
func (g Goal) LegReserveText(last bool) string {
	switch {
	case g.ReserveSoC == g.ArriveReserveSoC:
		return g.ReserveText()
	case last:
		return fmt.Sprintf("the %.0f %% you want on arrival", 100*g.ArriveReserveSoC)
	case g.ReserveSoC > g.ArriveReserveSoC:
		return fmt.Sprintf("the %.0f %% you want at each stop", 100*g.ReserveSoC)
	}
	return fmt.Sprintf("your reserve of %.0f %% on the way", 100*g.ReserveSoC)
}

func (g Goal) withoutFallback() Goal {
	g.Fallback = false
	return g
}

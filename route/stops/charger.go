package stops

import "ampleway/energy/taper"

// Use says whether a plan may stop at a charger.
type Use uint8

const (
	MayStop  Use = iota // as the planner likes
	MustStop            // every plan stops here
	MustPass            // no plan stops here
)

// Price is what a stop costs, in one currency for the whole problem.
type Price struct {
	PerKWh     float64 // per kWh put into the battery, ≥ 0
	PerMinute  float64 // per minute of charging, ≥ 0
	PerSession float64 // per stop, ≥ 0

	// IdlePerMinute (≥ 0) is due for every minute of the stay beyond
	// IdleAfterS seconds (≥ 0).
	IdlePerMinute float64
	IdleAfterS    float64
}

// Period is a part of the day at a charger: it lasts from FromS to the next
// period's FromS.
type Period struct {
	FromS  float64 // the problem's clock, s
	Closed bool    // no stay may begin or go on
	WaitS  float64 // expected queue for whoever arrives in this period, s, ≥ 0
	Price  Price   // for a stay that begins in this period
}

// Charger is a place to charge beside the road. Chargers stand in the order
// in which their turn-offs are passed.
type Charger struct {
	In  Leg // from the road to the stall
	Out Leg // from the stall back to the same point of the road

	OverheadS  float64     // leaving the road, parking, plugging in, paying, expected queue, s, ≥ 0
	BurdenS    float64     // what a stop here counts besides its time: in the value, never on the clock, s, ≥ 0
	Power      *taper.Func // this car's power at this charger, for a battery of the problem's capacity
	CeilingSoC float64     // highest SoC to charge to; 0 means 1
	ReserveSoC float64     // least SoC on arrival
	Price      Price
	Use        Use

	// RestBurdenS is what a rest here counts besides the stop: in the value,
	// never on the clock, s, ≥ 0.
	RestBurdenS float64

	// A stay is the time at the stall: charging, and waiting unplugged or
	// full where that is asked for. LeastStayS (0: none) and MostStayS (0: no
	// limit) bound it.
	LeastStayS float64
	MostStayS  float64

	// Periods, in rising order of FromS, replace Price and add a queue or
	// closing time by the clock. Before the first of them, and where there
	// are none, the charger is open at Price with no further queue.
	Periods []Period
}

func (c *Charger) ceiling() float64 {
	if c.CeilingSoC == 0 {
		return 1
	}
	return c.CeilingSoC
}

// cheapest is the lowest price, item by item, that any arrival can meet.
func (c *Charger) cheapest() Price {
	best := c.Price
	for i := range c.Periods {
		q := &c.Periods[i]
		if q.Closed {
			continue
		}
		best.PerKWh = min(best.PerKWh, q.Price.PerKWh)
		best.PerMinute = min(best.PerMinute, q.Price.PerMinute)
		best.PerSession = min(best.PerSession, q.Price.PerSession)
	}
	return best
}

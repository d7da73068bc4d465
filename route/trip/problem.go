package trip

import (
	"math"
	"slices"
	"time"

	"ampleway/energy"
	"ampleway/route/stops"
	"ampleway/stations"
)

// Problem puts a goal on a drive into numbers for the exact planner. The
// reserve holds all along the road, not only on arrival: the need of every
// piece is raised by it.
func (d *Drive) Problem(g Goal) *stops.Problem {
	p := &stops.Problem{
		CapacityKWh: d.Profile.CapacityKWh(),
		DepartSoC:   g.startSoC(),
		ReserveSoC:  g.endSoC(),
		Objective:   g.Objective,
		MostStops:   g.MostStops,
		Road:        [][]stops.Leg{make([]stops.Leg, 0, len(d.Chargers)+1)},
		Chargers:    make([]stops.Charger, len(d.Chargers)),
		Rest:        g.rest(len(d.Chargers)),
	}
	floorKWh := g.floorSoC() * p.CapacityKWh
	fromM := 0.0
	for i := range d.Chargers {
		c := &d.Chargers[i]
		p.Road[0] = append(p.Road[0], plannerLeg(d.roadLeg(fromM, c.ChainageM, g.Excess), floorKWh))
		p.Chargers[i] = d.plannerCharger(c, g, floorKWh)
		fromM = c.ChainageM
	}
	p.Road[0] = append(p.Road[0], plannerLeg(d.roadLeg(fromM, d.Profile.LengthM(), g.Excess), floorKWh))
	if g.Fallback {
		d.demandFallbacks(g, p)
	}
	return p
}

func (d *Drive) plannerCharger(c *Charger, g Goal, floorKWh float64) stops.Charger {
	out := stops.Charger{
		In:         plannerLeg(strayedOff(c.In, g.Excess), floorKWh),
		Out:        plannerLeg(strayedOff(c.Out, g.Excess), floorKWh),
		OverheadS:  d.Options.overheadS(),
		BurdenS:    g.burdenS(c),
		Power:      c.Charge,
		CeilingSoC: g.CeilingSoC,
		ReserveSoC: g.ReserveSoC,
		Price:      d.plannerPriceAt(c, g, d.passes(c, g)),
		Periods:    d.periods(c, g),

		RestBurdenS: g.mealBurdenS(c),
	}
	switch {
	case slices.Contains(g.Must, c.Site.ID):
		out.Use = stops.MustStop
	case slices.Contains(g.MustNot, c.Site.ID), g.pricedOnly && c.Site.Price == nil:
		out.Use = stops.MustPass
	}
	return out
}

// roadLeg is a leg of the main road on which consumption is above the
// estimate by a share of excess.
func (d *Drive) roadLeg(fromM, toM, excess float64) energy.Leg {
	l := d.Profile.Leg(fromM, toM)
	if excess == 0 {
		return l
	}
	return strayed(l, d.drawn().upTo(toM)-d.drawn().upTo(fromM), excess)
}

// passes is when the car would reach a charger without any stop before it.
func (d *Drive) passes(c *Charger, g Goal) time.Time {
	depart := g.Depart
	if depart.IsZero() {
		depart = time.Date(2000, 1, 3, 12, 0, 0, 0, time.UTC) // a Monday noon
	}
	return depart.Add(seconds(d.Profile.TimeS(c.ChainageM)))
}

// plannerLeg raises a leg's need by the floor. A leg that takes more than the
// whole battery has a cap below nothing; the planner wants a positive one, and
// such a leg cannot be driven in any case.
func plannerLeg(l energy.Leg, floorKWh float64) stops.Leg {
	return stops.Leg{
		TimeS:   l.TimeS,
		NeedKWh: l.NeedKWh + floorKWh,
		CostKWh: l.CostKWh,
		CapKWh:  max(l.CapKWh, math.SmallestNonzeroFloat64),
	}
}

// plannerPriceAt is a charger's price at one time. Where money does not count
// there is no idle fee: it would bind stays to arrivals for nothing.
func (d *Drive) plannerPriceAt(c *Charger, g Goal, at time.Time) stops.Price {
	p := c.Site.Price
	if p == nil {
		return stops.Price{PerKWh: energy.GridKWh(orZero(g.UnknownPricePerKWh))}
	}
	price := plannerPrice(p, inZone(at, c.Site), c.Charge.PowerKW(0.5), g.worth(p.Currency))
	if !g.countsMoney() {
		price.IdlePerMinute = 0
	}
	return price
}

// plannerPrice is a site's price at one time as the planner counts it: by kWh
// in the battery, where the station bills what it draws, in the currency that
// counts, in which a unit of the price's own is worth so much. A price by
// bands of power counts as that of typicalKW; the plan's own cost is worked
// out exactly from the session afterwards.
func plannerPrice(p *stations.Price, at time.Time, typicalKW, worth float64) stops.Price {
	rates := p.At(at)
	return stops.Price{
		PerKWh:        worth * energy.GridKWh(rates.PerKWh),
		PerMinute:     worth * rates.MinuteRate(typicalKW),
		PerSession:    worth * p.SessionFee,
		IdlePerMinute: worth * rates.IdlePerMinute,
		IdleAfterS:    60 * p.IdleAfterMinutes,
	}
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

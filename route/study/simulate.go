package study

import (
	"math"
	"math/rand/v2"

	"ampleway/route/stops"
	"ampleway/route/trip"
)

// simulate drives a case's plan study.Draws times with consumption that strays,
// the driver reading the gauge at each stop and doing what the leave rule says.
// Every case meets the same draws, so that cases can be compared.
func (e *evaluator) simulate(o *outcome, a ask) {
	p := &stops.Problem{}
	fill(p, e.n.at(o.excess), a)
	p.DepartSoC = o.departSoC
	sweep, err := e.planner.Sweep(p)
	if err != nil {
		return
	}
	first := stops.Destination
	if len(o.visits) > 0 {
		first = o.visits[0].charger
	}
	rng := rand.New(rand.NewPCG(e.study.Seed, 1))
	below := 0
	for range e.study.Draws {
		day := rng.NormFloat64()
		if e.breaksReserve(sweep, a, o.departSoC, first, func() float64 { return e.n.spread.Factor(day, rng.NormFloat64()) }) {
			below++
		}
	}
	share := trip.NewShare(below, e.study.Draws)
	o.row.SimBelowPct, o.row.SimErrorPct = e.figures.keep(100*share.Value), e.figures.keep(100*share.Error)
}

// breaksReserve drives one trip with a factor of consumption for each leg.
func (e *evaluator) breaksReserve(sweep *stops.Sweep, a ask, departSoC float64, next int, factor func() float64) bool {
	const slackKWh = 1e-6
	p := e.n.estimate
	floor, arrive := a.reserveSoC*p.CapacityKWh, math.Max(a.reserveSoC, a.destSoC)*p.CapacityKWh
	kWh, at := departSoC*p.CapacityKWh, stops.Origin
	for {
		leg, doubled := hop(p, at, next), hop(e.n.more, at, next)
		more := (factor() - 1) * (doubled.CostKWh - leg.CostKWh)
		reserve := floor
		if next < 0 {
			reserve = arrive
		}
		if kWh-floor < leg.NeedKWh+more-slackKWh {
			return true
		}
		leg.CostKWh += more
		kWh, _ = leg.ArriveKWh(kWh)
		if kWh < reserve-slackKWh {
			return true
		}
		if next < 0 {
			return false
		}
		d, ok := sweep.Decide(next, kWh/p.CapacityKWh)
		if !ok {
			return true
		}
		kWh = math.Max(d.LeaveSoC*p.CapacityKWh, kWh)
		at, next = next, d.Next
	}
}

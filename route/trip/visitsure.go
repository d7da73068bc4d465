package trip

import (
	"errors"
	"math"
	"math/rand/v2"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// A visit held at a confidence is planned like a trip: as if every drive took a
// share of excess more than estimated, chosen so that no leg of the whole visit
// takes more with that probability.
//
// The factor shared by a whole trip is drawn anew for every drive. Weather,
// wind and traffic of another day are others; what stays the same, the car and
// who drives it, would tie the drives together, and with that make it only more
// likely that all of them hold (Slepian's inequality). So this is the safe side.

// excessOver is excess for several drives of so many legs each.
func (s spread) excessOver(confidence float64, legs []int) float64 {
	if s.trip == 0 && s.leg == 0 {
		return 0
	}
	low, high := -10*(s.trip+s.leg), 10*(s.trip+s.leg)
	for range 50 {
		m, all := (low+high)/2, 1.0
		for _, n := range legs {
			all *= s.within(m, n)
		}
		if all < confidence {
			low = m
		} else {
			high = m
		}
	}
	return math.Max(math.Expm1(high-(s.trip*s.trip+s.leg*s.leg)/2), 0)
}

// planSurely plans for the goal's confidence: the number of legs and the excess
// are raised until they agree; see Drive.planSurely.
func (j *Journey) planSurely(planner *stops.Planner) (*JourneyPlan, error) {
	s := newSpread(j.Drives[0].Car.PlanSpread())
	legs := make([]int, len(j.Drives))
	for i := range legs {
		legs[i] = 1
	}
	for {
		at := *j
		at.Goal.Excess = s.excessOver(j.Goal.Confidence, legs)
		p, err := at.planAtExcess(planner)
		if err != nil {
			return nil, err
		}
		agree := true
		for i, plan := range p.Plans {
			if len(plan.Legs) > legs[i] {
				legs[i], agree = len(plan.Legs), false
			}
		}
		if agree || at.Goal.Excess == 0 {
			return p, nil
		}
	}
}

// planAtExcess plans for the goal's excess and drives that plan's stops and
// departures as estimated. Stations that may be shut when the car comes by are
// not used; where the plan stops for longer than was allowed for, more is.
func (j *Journey) planAtExcess(planner *stops.Planner) (*JourneyPlan, error) {
	if j.Goal.Excess == 0 {
		exact, _, err := j.solve(planner, 0)
		if err != nil {
			return nil, err
		}
		return j.build(exact)
	}
	for stopS := steadySlackS; ; stopS *= 2 {
		sure, _, err := j.solve(planner, stopS)
		if err != nil {
			return nil, err
		}
		p, err := j.asEstimated(sure)
		var broken *stops.Broken
		if !errors.As(err, &broken) || stopS > horizon.Seconds() {
			return p, err
		}
	}
}

// asEstimated keeps the stops and departures of sure at the estimated
// consumption. In a stay the car takes what it can get.
func (j *Journey) asEstimated(sure *stops.Plan) (*JourneyPlan, error) {
	estimate := *j
	estimate.Goal.Excess = 0
	problem, err := estimate.problem(0)
	if err != nil {
		return nil, err
	}
	f := follower{problem: problem, exact: &stops.Plan{}, clockS: problem.DepartS, soc: j.Goal.DepartSoC, at: stops.Origin}
	for i := range sure.Stops {
		s := &sure.Stops[i]
		f.drive(s.Charger)
		c := &problem.Chargers[s.Charger]
		leaveSoC := s.LeaveSoC
		if c.LeastStayS > 0 {
			leaveSoC = math.Max(leaveSoC, c.Power.SoCAfter(f.soc, c.LeastStayS))
		}
		f.charge(leaveSoC, s.Rest)
	}
	f.drive(stops.Destination)
	f.finish()
	if err := stops.Verify(problem, f.exact); err != nil {
		return nil, err
	}
	p, err := j.build(f.exact)
	if err != nil {
		return nil, err
	}
	for _, drive := range p.Plans {
		drive.openBy = sure.Value - sure.Bound
	}
	return p, nil
}

// driveProblem is the problem of one drive, on the visit's clock; stopS is as in
// Drive.plan.
func (j *Journey) driveProblem(i int, stopS float64) *stops.Problem {
	d, g := j.Drives[i], j.goal(i, j.Goal.DepartSoC, 0)
	if g.Excess == 0 {
		return d.Problem(g)
	}
	beforeS := 0.0
	for k := range i {
		beforeS += j.Drives[k].Profile.TimeS(j.Drives[k].Profile.LengthM()) + j.Stays[k].TimeS
	}
	return d.untimed(g, d.shut(j.goal(i, j.Goal.DepartSoC, beforeS), stopS*float64(i+1)))
}

// Assure adds to a journey what to do, and what happens, when things go otherwise
// than estimated: for each stop what to leave with, whatever the gauge shows on
// arrival, and another station; and Risk, from simulated visits whose driver
// leaves every stop with what the plan says, or with what is there if that is
// more. For a journey of one drive it is Plan.Assure. planner may be nil.
func (p *JourneyPlan) Assure(planner *stops.Planner, o AssureOptions) error {
	if len(p.Plans) == 1 {
		err := p.Plans[0].Assure(planner, o)
		p.Risk = p.Plans[0].Risk
		return err
	}
	if planner == nil {
		planner = &stops.Planner{}
	}
	for i, plan := range p.Plans {
		plan.keepRules()
		fallBack := plan.fallBack
		if i < len(p.Stays) {
			fallBack = plan.fallBackAsPlanned
		}
		if err := fallBack(planner, plan.shut()); err != nil {
			return err
		}
	}
	return p.simulate(o.withDefaults())
}

// fallBackAsPlanned is fallBack for a drive that others follow: it ends with
// what the plan ends with, so that they can be driven as planned. A stop from
// which no station leads to that has the fallback of the drive alone.
func (p *Plan) fallBackAsPlanned(planner *stops.Planner, closed shut) error {
	followed := *p
	followed.Goal.ArriveReserveSoC = math.Max(p.Goal.ArriveReserveSoC, p.ArriveSoC)
	if err := followed.fallBack(planner, closed); err != nil {
		return err
	}
	p.Fallbacks = followed.Fallbacks
	for i := range p.Fallbacks {
		if !p.Fallbacks[i].None {
			continue
		}
		f, err := p.fallbackAt(planner, i, closed)
		if err != nil {
			return err
		}
		f.Anew = !f.None
		p.Fallbacks[i] = f
	}
	return nil
}

// keepRules is a leave rule of one line a stop.
func (p *Plan) keepRules() {
	p.Rules = make([][]LeaveRow, len(p.Stops))
	for i := range p.Stops {
		row := LeaveRow{ToPct: 101, LeavePct: min(roundUp(p.Stops[i].LeaveSoC), p.Goal.ceilingPct()), NextName: p.Legs[i+1].To, AsPlanned: true}
		if i+1 < len(p.Stops) {
			row.Next = p.Stops[i+1].Charger
		}
		p.Rules[i] = []LeaveRow{row}
	}
}

// keep decides as the plan does.
func (p *Plan) keep(charger int, arriveSoC float64) (stops.Decision, bool) {
	for i := range p.Exact.Stops {
		if p.Exact.Stops[i].Charger != charger {
			continue
		}
		d := stops.Decision{LeaveSoC: math.Max(arriveSoC, p.Exact.Stops[i].LeaveSoC), Next: stops.Destination}
		if i+1 < len(p.Exact.Stops) {
			d.Next = p.Exact.Stops[i+1].Charger
		}
		return d, arriveSoC >= 0
	}
	return stops.Decision{}, false
}

// simulate drives the whole visit o.Trips times.
func (p *JourneyPlan) simulate(o AssureOptions) error {
	car := p.Plans[0].Drive.Car
	if !car.Calibrated() {
		p.Risk = &Risk{Spread: car.PlanSpread()}
		return nil
	}
	simulators := make([]*simulator, len(p.Plans))
	for i, plan := range p.Plans {
		simulators[i] = newSimulator(plan, nil)
	}
	powers := make([]*taper.Func, len(p.Stays))
	for i, stay := range p.Stays {
		charger, err := p.journey.stayCharger(i, stay.Stay)
		if err != nil {
			return err
		}
		powers[i] = charger.Power
	}
	rng := rand.New(rand.NewPCG(o.Seed, 0))
	t := tally{objective: p.journey.Goal.Objective}
	for range o.Trips {
		whole := outcome{}
		soc := p.journey.Goal.DepartSoC
		for i, s := range simulators {
			shared := rng.NormFloat64()
			drive := s.followFrom(soc, func() float64 { return s.spread.factor(shared, rng.NormFloat64()) }, p.Plans[i].keep)
			whole.timeS += drive.timeS
			whole.below, whole.empty = whole.below || drive.below, whole.empty || drive.empty
			if whole.empty {
				break
			}
			if i < len(powers) {
				whole.timeS += p.Stays[i].TimeS
				soc = powers[i].SoCAfter(math.Min(math.Max(drive.kWh/s.capacity, 0), 1), p.Stays[i].TimeS)
			}
		}
		t.add(whole, 0)
	}
	p.Risk = t.risk(car.PlanSpread(), o.Seed)
	return nil
}

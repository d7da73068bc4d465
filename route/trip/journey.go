package trip

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"ampleway/energy/taper"
	"ampleway/route"
	"ampleway/route/stops"
)

// Journey is one drive, or several with a stay after each but the last, planned
// as one: a stop on the way out may charge for the way back, and what is plugged
// in during a stay counts for what follows. Its goal's reserve at the destination
// holds at the end of every drive.
type Journey struct {
	Drives []*Drive
	Stays  []Stay // one fewer than Drives
	Goal   Goal

	temps []HourlyTemp // of each drive, where they are not Goal's
}

// JourneyPlan is a plan for each drive and what happens in the stays.
type JourneyPlan struct {
	Plans []*Plan
	Stays []StayPlan
	Risk  *Risk // of the whole journey, the stays in its times; see Assure

	journey *Journey
}

// StayPlan is what a stay does to the battery.
type StayPlan struct {
	Stay
	At         string  // where, the name of the road that ends there
	AfterS     float64 // after the departure of the journey, at the beginning
	ArriveSoC  float64
	LeaveSoC   float64
	BatteryKWh float64
}

// WayBack is a route the other way.
func WayBack(out *route.Route) *route.Route {
	back := out.Reverse()
	back.Name += ", the way back"
	return back
}

// PlanOptions says how a journey is planned. The zero value is by estimates of
// the detours, and nothing but the plan.
type PlanOptions struct {
	Roads   Roads // a road router that is asked for the detours; nil: none
	Asking  AskOptions
	Assured bool // with what Assure adds
	Assure  AssureOptions

	answers *answers // of Roads, shared by the cases of a comparison
}

// PlanWith is Plan and what the options ask for besides.
func (j *Journey) PlanWith(ctx context.Context, planner *stops.Planner, o PlanOptions) (*JourneyPlan, error) {
	if o.Roads != nil {
		return j.planAsking(ctx, planner, o)
	}
	p, err := j.Plan(planner)
	if err != nil || !o.Assured {
		return p, err
	}
	return p, p.Assure(planner, o.Assure)
}

// Several drives are planned together, then each as a trip of its own. The day
// that the whole is planned for, on which every drive takes the excess more,
// says what each drive is left with and ends with (part). A drive that keeps to
// this, whatever is left with more, lets all others go as planned: so it has its
// own leave rules, another station for each stop, harder days and other choices,
// like a trip.
//
// The excess is chosen so that no leg of the whole journey takes more with the
// goal's confidence. The factor shared by a whole trip is drawn anew for every
// drive. Weather, wind and traffic of another day are others; what stays the
// same, the car and who drives it, would tie the drives together, and with that
// make it only more likely that all of them hold (Slepian's inequality). So this
// is the safe side.

// part is what ties a drive to the others of its journey.
type part struct {
	legs     []int   // of every drive on the day that is planned for
	index    int     // of this one
	stops    int     // that it has on that day
	sureSoC  float64 // what it is left with on that day
	carrySoC float64 // what it ends with on that day
	value    float64 // of the whole on that day, without the clock; see stops.Plan
	bound    float64 // no plan for the whole is better than this
}

// slackSoC is more than rounding may take from what a drive is left with.
const slackSoC = 1e-9

// startSoC is what a goal's drive is left with: for an excess, on that day.
func (g Goal) startSoC() float64 {
	if g.part == nil || g.Excess == 0 {
		return g.DepartSoC
	}
	return math.Min(g.part.sureSoC, g.DepartSoC)
}

// endSoC is what a drive must end with, for the drives after it too.
func (g Goal) endSoC() float64 {
	if g.part == nil {
		return g.ArriveReserveSoC
	}
	return math.Max(g.ArriveReserveSoC, g.part.carrySoC)
}

// ForLater reports whether a drive must end with more than its reserve because of
// the drives after it.
func (p *Plan) ForLater() bool {
	return p.Goal.endSoC() > p.Goal.ArriveReserveSoC+slackSoC
}

// Plan finds the best plan for the whole journey. planner may be nil; a caller
// with many journeys hands in its own to save memory. A wanted arrival is that at
// the end of the first drive. The error is a *fault.Input for a goal that makes
// no sense and a *NoPlan where the journey cannot be made, about the first drive
// that cannot; what planner.Stop returns ends the work.
func (j *Journey) Plan(planner *stops.Planner) (*JourneyPlan, error) {
	if err := j.Goal.Validate(); err != nil {
		return nil, err
	}
	for i, d := range j.Drives {
		if err := d.mustStand(j.goal(j.Goal, i, nil, 0, 0), nil); err != nil {
			return nil, j.onDrive(i, err)
		}
	}
	g, err := j.Goal.pricedOn(j.Drives...)
	if err != nil {
		return nil, err
	}
	if planner == nil {
		planner = &stops.Planner{}
	}
	g.stop = planner.Stop
	g = j.Drives[0].countWaiting(planner, g)
	plan := j.plan
	if len(j.Drives) > 1 && g.Depart.IsZero() && !g.ArriveBy.IsZero() {
		plan = j.planArriving
	}
	p, err := plan(planner, g)
	if stopped := g.stopped(); stopped != nil {
		return nil, stopped
	}
	return p, err
}

// plan is Plan for a goal that makes sense. Where a drive cannot be made with
// what the day of the whole leaves it, because a station may be shut when the car
// comes by or the air is harder than without a stop, more time is allowed for, and
// the hardest air of the day; where it has more legs than that day, the excess is
// raised.
func (j *Journey) plan(planner *stops.Planner, g Goal) (*JourneyPlan, error) {
	legs := slices.Repeat([]int{1}, len(j.Drives))
	for stopS := steadySlackS; ; {
		parts, err := j.parts(planner, g, legs, stopS)
		if err != nil {
			return nil, err
		}
		p, err := j.planParts(planner, g, parts)
		switch {
		case len(parts) > 1 && errors.Is(err, stops.ErrNoPlan) && stopS <= horizon.Seconds():
			stopS *= 2
		case err != nil || !raised(legs, p.Plans):
			return p, err
		}
	}
}

// raised raises the number of legs of each drive to those of its plan, and
// reports whether any rose.
func raised(legs []int, plans []*Plan) (any bool) {
	if len(plans) == 1 {
		return false
	}
	for i, p := range plans {
		if p.allowedLegs > legs[i] {
			legs[i], any = p.allowedLegs, true
		}
	}
	return any
}

// parts are those of the best plan for the whole, without the clock. The numbers
// of legs and the excess are raised until they agree. A journey of one drive has
// none.
func (j *Journey) parts(planner *stops.Planner, g Goal, legs []int, stopS float64) ([]*part, error) {
	if len(j.Drives) == 1 {
		return []*part{nil}, nil
	}
	s := NewSpread(j.Drives[0].Car.PlanSpread())
	for {
		if g.Confidence > 0 {
			g.Excess = s.excess(g.Confidence, legs...)
		}
		exact, err := j.solve(planner, g, stopS)
		if err != nil {
			return nil, err
		}
		parts, err := j.cut(g, exact)
		if err != nil {
			return nil, err
		}
		agree := true
		for i, p := range parts {
			if p.stops+1 > legs[i] {
				legs[i], agree = p.stops+1, false
			}
		}
		if !agree && g.Excess > 0 {
			continue
		}
		for _, p := range parts {
			p.legs, p.value, p.bound = slices.Clone(legs), exact.Value, exact.Bound
		}
		return parts, nil
	}
}

// solve finds the best plan for the whole at the goal's excess. Stations that may
// be shut when the car comes by, stopS later than without a stop, are not used.
func (j *Journey) solve(planner *stops.Planner, g Goal, stopS float64) (*stops.Plan, error) {
	problem, err := j.problem(g, stopS)
	if err != nil {
		return nil, err
	}
	var exact stops.Plan
	err = planner.Solve(problem, &exact)
	var infeasible *stops.Infeasible
	if errors.As(err, &infeasible) && !g.terse {
		return nil, j.why(g, infeasible)
	}
	if err != nil {
		return nil, err
	}
	if err := stops.Verify(problem, &exact); err != nil {
		return nil, err
	}
	bound, err := j.bound(planner, problem)
	exact.Bound = math.Max(exact.Bound, bound)
	return &exact, err
}

// bound is a value that no plan for the whole is better than: that of the best one
// where what is plugged in during a stay charges at once, and the stays.
func (j *Journey) bound(planner *stops.Planner, whole *stops.Problem) (float64, error) {
	const atOnceKW = 1e6
	quick := *whole
	quick.Chargers = slices.Clone(whole.Chargers)
	at, staysS := -1, 0.0
	for i, stay := range j.Stays {
		at += len(j.Drives[i].Chargers) + 1
		staysS += stay.TimeS
		if stay.Plug == (Plug{}) {
			continue
		}
		var err error
		if quick.Chargers[at].Power, err = taper.New(taper.Flat(atOnceKW), whole.CapacityKWh); err != nil {
			return 0, err
		}
	}
	sweep, err := planner.Sweep(&quick)
	if err != nil {
		return 0, err
	}
	best, _ := sweep.Depart(whole.DepartSoC)
	return best.Value + whole.Objective.Value(staysS, 0, 0, 0), nil
}

// problem strings the drives' problems together; a stay is a charger that must
// be stopped at, for as long as the stay.
func (j *Journey) problem(g Goal, stopS float64) (*stops.Problem, error) {
	var whole *stops.Problem
	beforeS := 0.0
	for i, d := range j.Drives {
		own := j.goal(g, i, nil, g.DepartSoC, beforeS)
		d, err := d.inAir(own, stopS > steadySlackS)
		if err != nil {
			return nil, err
		}
		var closed shut
		if g.Excess > 0 {
			closed = d.shut(own, stopS*float64(i+1))
		}
		next := d.untimed(own, closed)
		if i == 0 {
			whole = next
		} else {
			whole.Chargers = append(whole.Chargers, next.Chargers...)
			whole.Road[0] = append(whole.Road[0], next.Road[0]...)
		}
		if i == len(j.Stays) {
			break
		}
		charger, err := j.stayCharger(i)
		if err != nil {
			return nil, err
		}
		whole.Chargers = append(whole.Chargers, charger)
		if whole.MostStops > 0 {
			whole.MostStops++
		}
		beforeS += d.Profile.TimeS(d.Profile.LengthM()) + j.Stays[i].TimeS
	}
	return whole, nil
}

func (j *Journey) stayCharger(i int) (stops.Charger, error) {
	d, stay := j.Drives[i], j.Stays[i]
	curve, err := stay.Plug.curve(d.Car, d.Conditions.TempC)
	if err != nil {
		return stops.Charger{}, err
	}
	power, err := taper.New(curve, d.Profile.CapacityKWh())
	if err != nil {
		return stops.Charger{}, err
	}
	return stops.Charger{
		Power: power, Use: stops.MustStop, ReserveSoC: j.Goal.ArriveReserveSoC,
		LeastStayS: stay.TimeS, MostStayS: stay.TimeS,
	}, nil
}

// afterStay is what stay i leaves of what it finds: the car takes what it can get.
func (j *Journey) afterStay(i int) (func(soc float64) float64, error) {
	charger, err := j.stayCharger(i)
	if err != nil {
		return nil, err
	}
	return func(soc float64) float64 {
		return math.Max(soc, charger.Power.SoCAfter(math.Min(math.Max(soc, 0), 1), j.Stays[i].TimeS))
	}, nil
}

// cut reads from the best plan for the whole what ties each drive to the others.
func (j *Journey) cut(g Goal, exact *stops.Plan) (parts []*part, err error) {
	at := &part{sureSoC: g.DepartSoC}
	first := 0
	for _, s := range exact.Stops {
		if s.Charger < first+len(j.Drives[at.index].Chargers) {
			at.stops++
			continue
		}
		at.carrySoC = s.ArriveSoC - slackSoC
		parts = append(parts, at)
		after, err := j.afterStay(at.index)
		if err != nil {
			return nil, err
		}
		at = &part{index: at.index + 1, sureSoC: math.Min(after(s.ArriveSoC)+slackSoC, 1)}
		first = s.Charger + 1
	}
	return append(parts, at), nil
}

// planParts plans one drive after the other.
func (j *Journey) planParts(planner *stops.Planner, g Goal, parts []*part) (*JourneyPlan, error) {
	out := &JourneyPlan{journey: j}
	departSoC, clockS := g.DepartSoC, 0.0
	for i, d := range j.Drives {
		plan, err := d.planAsWanted(planner, j.goal(g, i, parts[i], departSoC, clockS))
		if err != nil {
			return nil, j.onDrive(i, err)
		}
		out.Plans = append(out.Plans, plan)
		if i == len(j.Stays) {
			break
		}
		if plan.Goal.Excess == 0 { // the next drive counts on all that is left
			parts[i].carrySoC = plan.ArriveSoC - slackSoC
		}
		after, err := j.afterStay(i)
		if err != nil {
			return nil, err
		}
		stay := StayPlan{Stay: j.Stays[i], At: d.Corridor.Route.Name, AfterS: clockS + plan.TimeS, ArriveSoC: plan.ArriveSoC, LeaveSoC: after(plan.ArriveSoC)}
		if short := parts[i+1].sureSoC - stay.LeaveSoC; short > 0 && short < 3*slackSoC {
			stay.LeaveSoC += short
		}
		stay.BatteryKWh = (stay.LeaveSoC - stay.ArriveSoC) * d.Profile.CapacityKWh()
		out.Stays = append(out.Stays, stay)
		departSoC, clockS = stay.LeaveSoC, stay.AfterS+stay.TimeS
	}
	out.open(parts)
	return out, nil
}

// open leaves open in each of several plans what is open in the whole: by the
// estimate, the clock makes it worse than it is without.
func (p *JourneyPlan) open(parts []*part) {
	if len(parts) == 1 {
		return
	}
	openBy, whole := parts[0].value-parts[0].bound, 0.0
	for i, plan := range p.Plans {
		whole += plan.Exact.Value
		if i < len(p.Stays) {
			whole += plan.Goal.Objective.Value(p.Stays[i].TimeS, 0, 0, 0)
		}
	}
	if p.Plans[0].Goal.Excess == 0 {
		openBy = math.Max(openBy, whole-parts[0].bound)
	}
	for _, plan := range p.Plans {
		plan.openBy = math.Max(plan.openBy, openBy)
		plan.Exact.Bound = math.Min(plan.Exact.Bound, plan.Exact.Value-plan.openBy)
	}
}

// goal is that of drive i, which leaves with a state of charge, so many seconds
// after the journey's departure. A stop that was asked for is made on the first
// drive that passes it, a meal and a wanted arrival are the first drive's.
func (j *Journey) goal(g Goal, i int, p *part, departSoC, afterS float64) Goal {
	if len(j.Drives) == 1 {
		return g
	}
	g.part, g.DepartSoC, g.Must = p, departSoC, j.must(g.Must, i)
	if !g.Depart.IsZero() {
		g.Depart = g.Depart.Add(seconds(afterS))
	}
	if i < len(j.temps) {
		g.TempByHour = j.temps[i]
	}
	if i > 0 {
		g.Meal, g.Night, g.ArriveBy = Meal{}, nil, time.Time{}
	}
	if p == nil || g.MostStops == 0 {
		return g
	}
	if g.MostStops = p.stops; g.MostStops == 0 {
		for k := range j.Drives[i].Chargers {
			g.MustNot = append(g.MustNot[:len(g.MustNot):len(g.MustNot)], j.Drives[i].Chargers[k].Site.ID)
		}
	}
	return g
}

// must are the stops asked for on drive i: those that no drive before passes,
// and on the first also those that none does.
func (j *Journey) must(all []string, i int) (own []string) {
	for _, id := range all {
		at := slices.IndexFunc(j.Drives, func(d *Drive) bool {
			return slices.ContainsFunc(d.Chargers, func(c Charger) bool { return c.Site.ID == id })
		})
		if max(at, 0) == i {
			own = append(own, id)
		}
	}
	return own
}

// planArriving finds the latest departure from which the first drive arrives in
// time: by what the day of the whole leaves it without a clock and then, until it
// is in time, with that of the departure found.
func (j *Journey) planArriving(planner *stops.Planner, g Goal) (*JourneyPlan, error) {
	parts, err := j.parts(planner, g, slices.Repeat([]int{1}, len(j.Drives)), steadySlackS)
	if err != nil {
		return nil, err
	}
	for range mostSchedules {
		first, err := j.Drives[0].planAsWanted(planner, j.goal(g, 0, parts[0], g.DepartSoC, 0))
		if err != nil {
			return nil, j.onDrive(0, err)
		}
		at := g
		at.Depart, at.DepartSoC, at.Night = first.Goal.Depart, first.Goal.DepartSoC, first.Goal.Night
		p, err := j.plan(planner, at)
		if err != nil {
			return nil, err
		}
		const slackS = 1e-6
		if wantedS, _ := p.Plans[0].wantedS(); p.Plans[0].TimeS <= wantedS+slackS {
			return p, nil
		}
		parts[0] = p.Plans[0].Goal.part
	}
	return nil, g.neverThere()
}

// inAir is a drive in the air of its hours, where those are asked for: that of
// driving without a stop, or the hardest of the day.
func (d *Drive) inAir(g Goal, hardest bool) (*Drive, error) {
	if len(g.TempByHour) == 0 {
		return d, nil
	}
	at := g
	if at.Depart.IsZero() {
		at.Depart = g.ArriveBy.Add(-seconds(d.Profile.TimeS(d.Profile.LengthM())))
	}
	if hardest {
		return d.hardest(g.TempByHour, at)
	}
	return d.underAir(g.TempByHour, at, d.nonstop())
}

// onDrive says of a reason which drive of several it is about; without one, where
// in the whole.
func (j *Journey) onDrive(i int, err error) error {
	var gap *stops.Infeasible
	if errors.As(err, &gap) {
		whole := *gap
		for _, d := range j.Drives[:i] {
			for _, end := range []*int{&whole.From, &whole.To} {
				if *end >= 0 {
					*end += len(d.Chargers) + 1
				}
			}
		}
		return &whole
	}
	var n *NoPlan
	if errors.As(err, &n) && len(j.Drives) > 1 {
		n.Drive = i + 1
	}
	return err
}

// why finds the first drive that fails when everything before it is done to
// leave as full as possible.
func (j *Journey) why(g Goal, e *stops.Infeasible) error {
	departSoC := g.DepartSoC
	for i, d := range j.Drives {
		own := j.goal(g, i, nil, departSoC, 0)
		most, ok := least(0, 1-own.ArriveReserveSoC, func(lower float64) bool {
			h := own
			h.ArriveReserveSoC = 1 - lower
			return d.possible(h)
		})
		if !ok && !d.possible(own) {
			return j.onDrive(i, d.why(own, e, nil))
		}
		if i == len(j.Stays) {
			break
		}
		after, err := j.afterStay(i)
		if err != nil {
			return err
		}
		departSoC = after(1 - most)
	}
	return e
}

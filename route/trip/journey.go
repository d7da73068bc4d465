package trip

import (
	"context"
	"errors"
	"time"

	"ampleway/data/fault"
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
	AfterS     float64 // after the departure of the visit, at the beginning
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
}

// PlanWith is Plan and what the options ask for besides.
func (j *Journey) PlanWith(ctx context.Context, planner *stops.Planner, o PlanOptions) (*JourneyPlan, error) {
	if o.Roads != nil && len(j.Drives) == 1 {
		p, err := j.Drives[0].PlanAsking(ctx, planner, j.Goal, o.Roads, o.Asking, o.Assure)
		if err != nil {
			return nil, err
		}
		return &JourneyPlan{Plans: []*Plan{p}, Risk: p.Risk, journey: j}, nil
	}
	p, err := j.Plan(planner)
	if err != nil || !o.Assured {
		return p, err
	}
	return p, p.Assure(planner, o.Assure)
}

// Plan finds the best plan for the whole journey. Errors are those of
// Drive.Plan; of several drives, a *NoPlan is about the first that cannot be
// made.
func (j *Journey) Plan(planner *stops.Planner) (*JourneyPlan, error) {
	if len(j.Drives) == 1 {
		p, err := j.Drives[0].Plan(planner, j.Goal)
		if err != nil {
			return nil, err
		}
		return &JourneyPlan{Plans: []*Plan{p}, journey: j}, nil
	}
	if err := j.Goal.Validate(); err != nil {
		return nil, err
	}
	if j.Goal.Depart.IsZero() && !j.Goal.ArriveBy.IsZero() {
		return nil, &fault.Input{Field: "arrive_by", Found: j.Goal.ArriveBy.Format(time.RFC3339), Expected: "a time of departure, for several drives with stays"}
	}
	if len(j.Goal.TempByHour) > 0 {
		return nil, &fault.Input{Field: "temp_by_hour", Found: "temperatures by the hour", Expected: "one temperature each way, for several drives with stays"}
	}
	if err := j.mustStand(); err != nil {
		return nil, err
	}
	goal, err := j.Goal.pricedOn(j.Drives...)
	if err != nil {
		return nil, err
	}
	if planner == nil {
		planner = &stops.Planner{}
	}
	priced := *j
	priced.Goal = goal
	if goal.Confidence > 0 {
		return priced.planSurely(planner)
	}
	exact, _, err := priced.solve(planner, 0)
	if err != nil {
		return nil, err
	}
	return priced.build(exact)
}

// mustStand is Drive.mustStand for the drive that the stops are asked for on,
// the first.
func (j *Journey) mustStand() error {
	var closed shut
	if j.Goal.Confidence > 0 {
		closed = j.Drives[0].shut(j.Goal, steadySlackS)
	}
	err := j.Drives[0].mustStand(j.Goal, closed)
	var n *NoPlan
	if errors.As(err, &n) {
		n.Drive = 1
	}
	return err
}

// solve finds the best plan for the visit at its goal's excess; stopS is as in
// Drive.plan.
func (j *Journey) solve(planner *stops.Planner, stopS float64) (*stops.Plan, *stops.Problem, error) {
	problem, err := j.problem(stopS)
	if err != nil {
		return nil, nil, err
	}
	var exact stops.Plan
	err = planner.Solve(problem, &exact)
	var infeasible *stops.Infeasible
	if errors.As(err, &infeasible) {
		return nil, nil, j.why(infeasible)
	}
	if err != nil {
		return nil, nil, err
	}
	return &exact, problem, stops.Verify(problem, &exact)
}

// problem strings the drives' problems together; a stay is a charger that must
// be stopped at, for as long as the stay.
func (j *Journey) problem(stopS float64) (*stops.Problem, error) {
	whole := j.driveProblem(0, stopS)
	for i, stay := range j.Stays {
		charger, err := j.stayCharger(i, stay)
		if err != nil {
			return nil, err
		}
		next := j.driveProblem(i+1, stopS)
		whole.Chargers = append(append(whole.Chargers, charger), next.Chargers...)
		whole.Road[0] = append(whole.Road[0], next.Road[0]...)
		if whole.MostStops > 0 {
			whole.MostStops++
		}
	}
	return whole, nil
}

func (j *Journey) stayCharger(i int, stay Stay) (stops.Charger, error) {
	d := j.Drives[i]
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

// goal is that of drive i, which leaves with a state of charge, so many
// seconds after the visit's departure.
func (j *Journey) goal(i int, departSoC, afterS float64) Goal {
	g := j.Goal
	g.DepartSoC = departSoC
	if !g.Depart.IsZero() {
		g.Depart = g.Depart.Add(seconds(afterS))
	}
	for _, stay := range j.Stays {
		g.staysS += stay.TimeS
	}
	if i > 0 {
		g.Must, g.Meal, g.Night = nil, Meal{}, nil
	}
	return g
}

// build cuts the planner's answer at the stays. Value and Bound of each drive
// are those of the whole visit.
func (j *Journey) build(exact *stops.Plan) (*JourneyPlan, error) {
	out := &JourneyPlan{journey: j}
	departSoC, departS, first := j.Goal.DepartSoC, 0.0, 0
	part := stops.Plan{Value: exact.Value, Bound: exact.Bound}
	for _, s := range exact.Stops {
		drive := len(out.Plans)
		if s.Charger < first+len(j.Drives[drive].Chargers) {
			s.Charger -= first
			part.Stops = append(part.Stops, s)
			continue
		}
		part.TimeS, part.ArriveSoC = s.ArriveS-departS, s.ArriveSoC
		if err := out.add(j, &part, departSoC, departS); err != nil {
			return nil, err
		}
		d := j.Drives[drive]
		out.Stays = append(out.Stays, StayPlan{
			Stay: j.Stays[drive], At: d.Corridor.Route.Name, AfterS: s.ArriveS,
			ArriveSoC: s.ArriveSoC, LeaveSoC: s.LeaveSoC, BatteryKWh: (s.LeaveSoC - s.ArriveSoC) * d.Profile.CapacityKWh(),
		})
		departSoC, departS, first = s.LeaveSoC, s.LeaveS, s.Charger+1
		part = stops.Plan{Value: exact.Value, Bound: exact.Bound}
	}
	part.TimeS, part.ArriveSoC = exact.ArriveS-departS, exact.ArriveSoC
	return out, out.add(j, &part, departSoC, departS)
}

func (p *JourneyPlan) add(j *Journey, part *stops.Plan, departSoC, departS float64) error {
	i := len(p.Plans)
	plan, err := j.Drives[i].build(j.goal(i, departSoC, departS), part)
	if err != nil {
		return err
	}
	p.Plans = append(p.Plans, plan)
	return nil
}

// whyOn is why for a drive of a visit.
func (d *Drive) whyOn(drive int, g Goal, e *stops.Infeasible) error {
	err := d.why(g, e, nil)
	var n *NoPlan
	if errors.As(err, &n) {
		n.Drive = drive
	}
	return err
}

// why finds the first drive that fails when everything before it is done to
// leave as full as possible.
func (j *Journey) why(e *stops.Infeasible) error {
	departSoC := j.Goal.DepartSoC
	for i, d := range j.Drives {
		g := j.goal(i, departSoC, 0)
		most, ok := least(0, 1-g.ArriveReserveSoC, func(lower float64) bool {
			h := g
			h.ArriveReserveSoC = 1 - lower
			return d.possible(h)
		})
		if !ok && !d.possible(g) {
			return d.whyOn(i+1, g, e)
		}
		if i == len(j.Stays) {
			break
		}
		charger, err := j.stayCharger(i, j.Stays[i])
		if err != nil {
			return err
		}
		departSoC = charger.Power.SoCAfter(1-most, j.Stays[i].TimeS)
	}
	return e
}

package trip

import (
	"errors"
	"time"

	"ampleway/data/fault"
	"ampleway/energy/taper"
	"ampleway/route"
	"ampleway/route/stops"
)

// Visit is several drives with a stay after each but the last, planned as one:
// a stop on the way out may charge for the way back, and what is plugged in
// during a stay counts for what follows. Its goal's reserve at the destination
// holds at the end of every drive.
type Visit struct {
	Drives []*Drive
	Stays  []Stay // one fewer than Drives
	Goal   Goal
}

// VisitPlan is a plan for each drive and what happens in the stays.
type VisitPlan struct {
	Plans []*Plan
	Stays []StayPlan
	Risk  *Risk // of the whole visit, the stays in its times; see Assure

	visit *Visit
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

// Plan finds the best plan for the whole visit. Errors are those of
// Drive.Plan; a *NoPlan is about the first drive that cannot be made.
func (v *Visit) Plan(planner *stops.Planner) (*VisitPlan, error) {
	if err := v.Goal.Validate(); err != nil {
		return nil, err
	}
	if v.Goal.Depart.IsZero() && !v.Goal.ArriveBy.IsZero() {
		return nil, &fault.Input{Field: "arrive_by", Found: v.Goal.ArriveBy.Format(time.RFC3339), Expected: "a time of departure, for several drives with stays"}
	}
	if len(v.Goal.TempByHour) > 0 {
		return nil, &fault.Input{Field: "temp_by_hour", Found: "temperatures by the hour", Expected: "one temperature each way, for several drives with stays"}
	}
	if err := v.mustStand(); err != nil {
		return nil, err
	}
	goal, err := v.Goal.pricedOn(v.Drives...)
	if err != nil {
		return nil, err
	}
	if planner == nil {
		planner = &stops.Planner{}
	}
	priced := *v
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
func (v *Visit) mustStand() error {
	var closed shut
	if v.Goal.Confidence > 0 {
		closed = v.Drives[0].shut(v.Goal, steadySlackS)
	}
	err := v.Drives[0].mustStand(v.Goal, closed)
	var n *NoPlan
	if errors.As(err, &n) {
		n.Drive = 1
	}
	return err
}

// solve finds the best plan for the visit at its goal's excess; stopS is as in
// Drive.plan.
func (v *Visit) solve(planner *stops.Planner, stopS float64) (*stops.Plan, *stops.Problem, error) {
	problem, err := v.problem(stopS)
	if err != nil {
		return nil, nil, err
	}
	var exact stops.Plan
	err = planner.Solve(problem, &exact)
	var infeasible *stops.Infeasible
	if errors.As(err, &infeasible) {
		return nil, nil, v.why(infeasible)
	}
	if err != nil {
		return nil, nil, err
	}
	return &exact, problem, stops.Verify(problem, &exact)
}

// problem strings the drives' problems together; a stay is a charger that must
// be stopped at, for as long as the stay.
func (v *Visit) problem(stopS float64) (*stops.Problem, error) {
	whole := v.driveProblem(0, stopS)
	for i, stay := range v.Stays {
		charger, err := v.stayCharger(i, stay)
		if err != nil {
			return nil, err
		}
		next := v.driveProblem(i+1, stopS)
		whole.Chargers = append(append(whole.Chargers, charger), next.Chargers...)
		whole.Road[0] = append(whole.Road[0], next.Road[0]...)
		if whole.MostStops > 0 {
			whole.MostStops++
		}
	}
	return whole, nil
}

func (v *Visit) stayCharger(i int, stay Stay) (stops.Charger, error) {
	d := v.Drives[i]
	curve, err := stay.Plug.curve(d.Car, d.Conditions.TempC)
	if err != nil {
		return stops.Charger{}, err
	}
	power, err := taper.New(curve, d.Profile.CapacityKWh())
	if err != nil {
		return stops.Charger{}, err
	}
	return stops.Charger{
		Power: power, Use: stops.MustStop, ReserveSoC: v.Goal.ArriveReserveSoC,
		LeastStayS: stay.TimeS, MostStayS: stay.TimeS,
	}, nil
}

// goal is that of drive i, which leaves with a state of charge, so many
// seconds after the visit's departure.
func (v *Visit) goal(i int, departSoC, afterS float64) Goal {
	g := v.Goal
	g.DepartSoC = departSoC
	if !g.Depart.IsZero() {
		g.Depart = g.Depart.Add(seconds(afterS))
	}
	for _, stay := range v.Stays {
		g.staysS += stay.TimeS
	}
	if i > 0 {
		g.Must, g.Meal, g.Night = nil, Meal{}, nil
	}
	return g
}

// build cuts the planner's answer at the stays. Value and Bound of each drive
// are those of the whole visit.
func (v *Visit) build(exact *stops.Plan) (*VisitPlan, error) {
	out := &VisitPlan{visit: v}
	departSoC, departS, first := v.Goal.DepartSoC, 0.0, 0
	part := stops.Plan{Value: exact.Value, Bound: exact.Bound}
	for _, s := range exact.Stops {
		drive := len(out.Plans)
		if s.Charger < first+len(v.Drives[drive].Chargers) {
			s.Charger -= first
			part.Stops = append(part.Stops, s)
			continue
		}
		part.TimeS, part.ArriveSoC = s.ArriveS-departS, s.ArriveSoC
		if err := out.add(v, &part, departSoC, departS); err != nil {
			return nil, err
		}
		d := v.Drives[drive]
		out.Stays = append(out.Stays, StayPlan{
			Stay: v.Stays[drive], At: d.Corridor.Route.Name, AfterS: s.ArriveS,
			ArriveSoC: s.ArriveSoC, LeaveSoC: s.LeaveSoC, BatteryKWh: (s.LeaveSoC - s.ArriveSoC) * d.Profile.CapacityKWh(),
		})
		departSoC, departS, first = s.LeaveSoC, s.LeaveS, s.Charger+1
		part = stops.Plan{Value: exact.Value, Bound: exact.Bound}
	}
	part.TimeS, part.ArriveSoC = exact.ArriveS-departS, exact.ArriveSoC
	return out, out.add(v, &part, departSoC, departS)
}

func (p *VisitPlan) add(v *Visit, part *stops.Plan, departSoC, departS float64) error {
	i := len(p.Plans)
	plan, err := v.Drives[i].build(v.goal(i, departSoC, departS), part)
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
func (v *Visit) why(e *stops.Infeasible) error {
	departSoC := v.Goal.DepartSoC
	for i, d := range v.Drives {
		g := v.goal(i, departSoC, 0)
		most, ok := least(0, 1-g.ArriveReserveSoC, func(lower float64) bool {
			h := g
			h.ArriveReserveSoC = 1 - lower
			return d.possible(h)
		})
		if !ok && !d.possible(g) {
			return d.whyOn(i+1, g, e)
		}
		if i == len(v.Stays) {
			break
		}
		charger, err := v.stayCharger(i, v.Stays[i])
		if err != nil {
			return err
		}
		departSoC = charger.Power.SoCAfter(1-most, v.Stays[i].TimeS)
	}
	return e
}

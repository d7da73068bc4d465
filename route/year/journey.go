package year

import (
	"fmt"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/route/trip"
)

// Journey is a trip of the year, planned there and back.
type Journey struct {
	Trip
	Name  string
	Visit *trip.VisitPlan

	Stops     int
	KM        float64
	FastKWh   float64 // into the battery at fast chargers
	FastH     float64 // hours at them, detours and overheads included
	Cost      float64
	ArriveSoC float64 // back at home

	trip home.Trip
}

// journeyHour is when a journey sets out.
const journeyHour = 9

// journey plans one trip of the household: with a full battery, in the mean
// weather of its month, on its second Saturday.
func (in *Inputs) journey(i int) (*Journey, error) {
	own := in.Household.Trips[i]
	where := fmt.Sprintf("trip %d", i+1)
	if own.Car < 1 || own.Car > len(in.Cars) {
		return nil, &fault.Input{Where: where, Field: "car", Found: fmt.Sprint(own.Car), Expected: fmt.Sprintf("1 to %d", len(in.Cars))}
	}
	if own.Month < 1 || own.Month > 12 {
		return nil, &fault.Input{Where: where, Field: "month", Found: fmt.Sprint(own.Month), Expected: "1 to 12"}
	}
	if own.StayDays < 0 || own.StayDays > 60 {
		return nil, &fault.Input{Where: where, Field: "stay_days", Found: fmt.Sprint(own.StayDays), Expected: "0 to 60"}
	}
	plug, err := trip.ParsePlug(orNone(own.Plug))
	if err != nil {
		return nil, err
	}
	date := secondSaturday(in.Year, time.Month(own.Month))
	visit, err := in.visit(i, date, plug)
	if err != nil {
		return nil, err
	}
	plan, err := visit.Plan(nil)
	if err != nil {
		return nil, fmt.Errorf("%s, %s in month %d: %w", where, in.Routes[i].Name, own.Month, err)
	}
	return in.sum(i, date, plan), nil
}

func orNone(plug string) string {
	if plug == "" {
		return "none"
	}
	return plug
}

func (in *Inputs) visit(i int, date time.Time, plug trip.Plug) (*trip.Visit, error) {
	own := in.Household.Trips[i]
	w := in.Climate.Months[own.Month-1]
	cond := w.conditions()
	ask := trip.NewRequest()
	ask.DepartSoCPct = 100
	ask.TempC, ask.WindKMH, ask.WindFromDeg = cond.TempC, w.WindKMH, w.WindFromDeg
	if w.WetShare > 0.5 {
		ask.Surface = string(energy.Wet)
	}
	const hoursADay = 24
	visit := &trip.Visit{Stays: []trip.Stay{{TimeS: float64(own.StayDays) * hoursADay * 3600, Plug: plug}}}
	r := in.Routes[i]
	out, goal, err := trip.Prepare(r, in.Index, in.Cars[own.Car-1], ask)
	if err != nil {
		return nil, err
	}
	back, _, err := trip.Prepare(r.Reverse(), in.Index, in.Cars[own.Car-1], ask)
	if err != nil {
		return nil, err
	}
	goal.Depart = date.Add(journeyHour * time.Hour)
	visit.Drives, visit.Goal = []*trip.Drive{out, back}, goal
	return visit, nil
}

// sum adds up what a journey means for the year.
func (in *Inputs) sum(i int, date time.Time, plan *trip.VisitPlan) *Journey {
	own := in.Household.Trips[i]
	j := &Journey{Trip: own, Name: in.Routes[i].Name, Visit: plan}
	drawn := 0.0
	for _, p := range plan.Plans {
		j.KM += p.DistanceM / 1000
		j.Stops += len(p.Stops)
		j.FastKWh += p.ChargedKWh
		drawn += p.DrivenKWh
		for k := range p.Stops {
			j.FastH += p.Stops[k].DwellS / 3600
		}
		for _, c := range p.Cost.Amounts() {
			j.Cost += c.Float()
		}
	}
	stay := plan.Stays[0]
	if stay.Plug.DCKW > 0 {
		j.FastKWh += stay.BatteryKWh
	} else {
		drawn -= stay.BatteryKWh // given by the host
	}
	j.ArriveSoC = plan.Plans[len(plan.Plans)-1].ArriveSoC
	j.trip = home.Trip{
		Car: own.Car - 1, Date: date, NightsAway: own.StayDays, Km: j.KM,
		HomeKWh: drawn - j.FastKWh, FastKWh: j.FastKWh, FastH: j.FastH, FastCost: j.Cost,
	}
	return j
}

func secondSaturday(year int, month time.Month) time.Time {
	first := time.Date(year, month, 1, 0, 0, 0, 0, time.UTC)
	days := (int(time.Saturday-first.Weekday())+7)%7 + 7
	return first.AddDate(0, 0, days)
}

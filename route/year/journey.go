package year

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/trip"
	"ampleway/stations"
)

// Journey is a trip of the household, made once or several times a year.
type Journey struct {
	Trip
	Name string
	Runs []Run // in order of date
}

// Level says whether it is a distance, driven on the level without a road.
func (j *Journey) Level() bool { return j.DistanceKM > 0 }

// Run is one journey there and back.
type Run struct {
	Date  time.Time         // the day it starts
	Visit *trip.JourneyPlan // nil for one by distance

	Stops     int
	KM        float64
	DrivenKWh float64
	FastKWh   float64   // into the battery at fast chargers
	HostKWh   float64   // into the battery during the stay, on AC: not the household's
	FastH     float64   // hours at fast chargers, detours and overheads included
	Cost      money.Sum // in the tariff's currency
	ArriveSoC float64   // back at home

	trip home.Trip
}

// Total adds up the journeys, with the least of what they come home with.
func (j *Journey) Total() Run {
	t := Run{ArriveSoC: 1}
	for _, r := range j.Runs {
		t.Stops += r.Stops
		t.KM += r.KM
		t.DrivenKWh += r.DrivenKWh
		t.FastKWh += r.FastKWh
		t.HostKWh += r.HostKWh
		t.FastH += r.FastH
		t.Cost.AddSum(r.Cost)
		t.ArriveSoC = min(t.ArriveSoC, r.ArriveSoC)
	}
	return t
}

// journeyHour is when a journey sets out.
const journeyHour = 9

// journeys plans all journeys of the household, each once for each month.
func (in *Inputs) journeys() ([]Journey, error) {
	dates, err := in.schedule()
	if err != nil {
		return nil, err
	}
	var out []Journey
	for i := range in.Household.Trips {
		j := Journey{Trip: in.Household.Trips[i], Name: in.journeyName(i)}
		byMonth := map[time.Month]Run{}
		for _, date := range dates[i] {
			run, known := byMonth[date.Month()]
			if !known {
				if run, err = in.run(i, date); err != nil {
					return nil, fmt.Errorf("%s, %s in %s: %w", in.place().in("trip %d", i+1).where, j.Name, date.Month(), err)
				}
				byMonth[date.Month()] = run
			}
			run.Date, run.trip.Date = date, date
			j.Runs = append(j.Runs, run)
		}
		out = append(out, j)
	}
	return out, nil
}

func (in *Inputs) journeyName(i int) string {
	t := &in.Household.Trips[i]
	if r := in.Routes[i]; r != nil {
		return cmp.Or(t.Name, r.Name, t.Route)
	}
	return cmp.Or(t.Name, fmt.Sprintf("trip %d", i+1))
}

// car is the index of the car that makes a trip.
func (t *Trip) car() int { return max(t.Car, 1) - 1 }

// schedule lays the journeys on Saturdays on which their cars are at home: the
// second of the month first, then those after it, then the first.
func (in *Inputs) schedule() ([][]time.Time, error) {
	taken := map[[2]int]bool{} // car, day of year
	out := make([][]time.Time, len(in.Household.Trips))
	for i, t := range in.Household.Trips {
		times := max(t.Times, 1)
		for k := range times {
			month := time.Month(t.Month)
			if month == 0 {
				month = time.Month((2*k+1)*12/(2*times) + 1)
			}
			date, ok := in.free(&t, month, taken)
			if !ok {
				return nil, in.place().in("trip %d", i+1).fault("times", fmt.Sprintf("no Saturday left in %s for a journey of %d nights", month, t.StayDays), "fewer or shorter journeys of one car in a month")
			}
			out[i] = append(out[i], date)
		}
		slices.SortFunc(out[i], time.Time.Compare)
	}
	return out, nil
}

func (in *Inputs) free(t *Trip, month time.Month, taken map[[2]int]bool) (time.Time, bool) {
	for _, n := range []int{2, 3, 4, 5, 1} {
		date := saturday(in.Year, month, n)
		if date.Month() != month {
			continue
		}
		var days [][2]int
		for day := range t.StayDays + 1 {
			days = append(days, [2]int{t.car(), date.YearDay() + day})
		}
		if !slices.ContainsFunc(days, func(d [2]int) bool { return taken[d] }) {
			for _, d := range days {
				taken[d] = true
			}
			return date, true
		}
	}
	return time.Time{}, false
}

// run is one journey of a trip: with a full battery, in the mean weather of
// its month.
func (in *Inputs) run(i int, date time.Time) (Run, error) {
	t := &in.Household.Trips[i]
	plug, err := trip.ParsePlug(orNone(t.Plug))
	if err != nil {
		return Run{}, err
	}
	var run Run
	if in.Routes[i] == nil {
		run, err = in.levelRun(t, date, plug)
	} else {
		run, err = in.roadRun(i, date, plug)
	}
	run.trip = home.Trip{
		Car: t.car(), Date: date, NightsAway: t.StayDays, Km: run.KM, Unpriced: run.Cost.Unknown(),
		HomeKWh: run.DrivenKWh - run.HostKWh - run.FastKWh, FastKWh: run.FastKWh, HostKWh: run.HostKWh, FastH: run.FastH,
	}
	for _, a := range run.Cost.Amounts() {
		run.trip.FastCost = a.Float() // there is one, in the tariff's currency
	}
	return run, err
}

const hoursADay = 24

// levelRun is a journey by distance. It charges at fast chargers as on ordinary
// days (see home.Fast), on the last visit no more than it needs.
func (in *Inputs) levelRun(t *Trip, date time.Time, plug trip.Plug) (Run, error) {
	const metresPerKM, ways = 1000, 2
	car := in.Cars[t.car()]
	need, err := in.levelKWh(t.car(), int(date.Month())-1, t.DistanceKM*metresPerKM, t.RoadKMH)
	if err != nil {
		return Run{}, err
	}
	own, err := in.battery(t.car())
	if err != nil {
		return Run{}, err
	}
	run := Run{KM: ways * t.DistanceKM, DrivenKWh: ways * need}
	left := car.UsableKWh
	for drive := range ways {
		if drive > 0 {
			if left, err = run.stay(left, car, t, plug); err != nil {
				return Run{}, err
			}
		}
		var charged []float64
		left, charged = in.Fast.Drive(&own, left, need, true)
		for _, kWh := range charged {
			in.book(&run, &own, kWh)
		}
	}
	run.ArriveSoC = left / car.UsableKWh
	return run, nil
}

// book counts one visit to a fast charger without a place.
func (in *Inputs) book(r *Run, car *home.Car, kWh float64) {
	visit := in.Fast.Visit(car, kWh)
	r.Stops++
	r.FastKWh += kWh
	r.FastH += visit.TimeH
	if in.Fast.Unpriced {
		r.Cost.AddUnknown()
	} else {
		r.Cost.Add(money.Of(visit.Cost, in.Tariff.Currency))
	}
}

// stay charges from what is plugged in at the destination, and returns what the
// battery then holds.
func (r *Run) stay(left float64, car *energy.Car, t *Trip, plug trip.Plug) (float64, error) {
	kW := plug.DCKW
	if plug.AC {
		charge, err := car.AC.On(plug.Circuit)
		if err != nil {
			return left, err
		}
		kW = charge.BatteryKW
	}
	kWh := min(car.UsableKWh-left, kW*hoursADay*float64(t.StayDays))
	r.charged(kWh, plug)
	return left + kWh, nil
}

// charged counts what a stay puts into the battery. What a fast charger costs
// there is not known, what an outlet costs is the host's.
func (r *Run) charged(kWh float64, plug trip.Plug) {
	if plug.DCKW > 0 && kWh > 0 {
		r.FastKWh += kWh
		r.Cost.AddUnknown()
		return
	}
	r.HostKWh += kWh
}

// roadRun plans a journey on its road.
func (in *Inputs) roadRun(i int, date time.Time, plug trip.Plug) (Run, error) {
	visit, err := in.visit(i, date, plug)
	if err != nil {
		return Run{}, err
	}
	plan, err := visit.Plan(nil)
	if err != nil {
		return Run{}, err
	}
	return in.sum(plan)
}

func (in *Inputs) visit(i int, date time.Time, plug trip.Plug) (*trip.Journey, error) {
	own := &in.Household.Trips[i]
	car := in.Cars[own.car()]
	w := in.Climate.Months[date.Month()-1]
	cond := w.conditions()
	ask := question.New()
	ask.LeaveWithPct, ask.Connector = 100, in.Household.Cars[own.car()].Connector
	ask.TempC, ask.WindKMH, ask.WindFromDeg = cond.TempC, w.WindKMH, &w.WindFromDeg
	if w.WetShare > 0.5 {
		ask.Surface = string(energy.Wet)
	}
	ask.Back = true
	itinerary := trip.Itinerary{Routes: []*route.Route{in.Routes[i]}, Stations: in.Index}
	journey, err := itinerary.Journey(car, ask)
	if err != nil {
		return nil, err
	}
	journey.Stays[0] = trip.Stay{TimeS: float64(own.StayDays) * hoursADay * 3600, Plug: plug}
	y, m, d := date.Date()
	journey.Goal.Depart = time.Date(y, m, d, journeyHour, 0, 0, 0, zone(journey.Drives[0].Corridor))
	return journey, nil
}

// zone is the time zone of the first station along the road that has one.
func zone(c *trip.Corridor) *time.Location {
	for _, p := range c.Passes {
		if z := stations.Zone(p.Site.Zone); z != nil {
			return z
		}
	}
	return time.UTC
}

// sum adds up what a journey means for the year.
func (in *Inputs) sum(plan *trip.JourneyPlan) (Run, error) {
	run := Run{Visit: plan}
	for _, p := range plan.Plans {
		run.KM += p.DistanceM / 1000
		run.Stops += len(p.Stops)
		run.FastKWh += p.ChargedKWh
		run.DrivenKWh += p.DrivenKWh
		for k := range p.Stops {
			run.FastH += p.Stops[k].DwellS / 3600
		}
		if err := in.pay(&run, p.Cost); err != nil {
			return run, err
		}
	}
	stay := plan.Stays[0]
	run.charged(stay.BatteryKWh, stay.Plug)
	run.ArriveSoC = plan.Plans[len(plan.Plans)-1].ArriveSoC
	return run, nil
}

// pay adds what a drive costs, in the tariff's currency.
func (in *Inputs) pay(r *Run, cost money.Sum) error {
	for _, a := range cost.Amounts() {
		own, ok := in.Rates.Convert(a, in.Tariff.Currency)
		if !ok {
			return in.noRate(cost.Currencies())
		}
		r.Cost.Add(own)
	}
	for range cost.Unknown() {
		r.Cost.AddUnknown()
	}
	return nil
}

// noRate is the error for stations with prices in other currencies than the
// tariff's.
func (in *Inputs) noRate(currencies []string) error {
	return money.NoRate("the tariff and the stations", append([]string{in.Tariff.Currency}, currencies...), in.Tariff.Currency)
}

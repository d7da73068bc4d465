package year

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/route"
	"ampleway/stations"
)

// Inputs are what a year is worked out from.
type Inputs struct {
	Name      string // of the household
	Household Household
	Tariff    Tariff
	Climate   *Climate
	Year      int
	Cars      []*energy.Car   // one for each of the household's
	Routes    []*route.Route  // one for each of its journeys
	Index     *stations.Index // stations for the journeys
	Fast      home.Fast       // what charging away from home is like on ordinary days; zero: see energy/home
}

// Result is a year of a household.
type Result struct {
	Inputs   *Inputs
	Simulate home.Household
	Journeys []Journey
	home.Comparison
}

// Level 1 as the comparison takes it: a 120 V outlet on a 15 A breaker, of
// which 80 % may be drawn for hours on end (NEC 625.42).
var level1 = energy.Circuit{VoltageV: 120, BreakerA: 15}

// Work plans the journeys and simulates the year in four ways: as the
// household is, on a level 1 outlet, without charging at home, and in a fuel
// car. Errors are *fault.Input, or a *trip.NoPlan for a journey that cannot be
// made.
func Work(in *Inputs) (*Result, error) {
	r := &Result{Inputs: in}
	r.Simulate = home.Household{Year: in.Year, Fast: in.Fast}
	var err error
	if r.Simulate.Tariff, err = in.Tariff.simulated(); err != nil {
		return nil, err
	}
	if c := in.Household.Circuit; c != nil && c.Ways > 1 {
		r.Simulate.FeedKW = c.energy().PowerKW()
	}
	for i := range in.Household.Cars {
		car, err := in.car(i)
		if err != nil {
			return nil, err
		}
		r.Simulate.Cars = append(r.Simulate.Cars, car)
	}
	for i := range in.Household.Trips {
		j, err := in.journey(i)
		if err != nil {
			return nil, err
		}
		r.Journeys = append(r.Journeys, *j)
		r.Simulate.Trips = append(r.Simulate.Trips, j.trip)
	}
	return r, r.compare()
}

func (r *Result) compare() error {
	charge, err := r.Inputs.Cars[0].AC.On(level1)
	if err != nil {
		return err
	}
	fuel := home.FuelCar{}
	if f := r.Inputs.Household.Fuel; f != nil {
		fuel = home.FuelCar{LitresPer100Km: f.LitresPer100KM, PerLitre: f.PricePerLitre}
	}
	r.Comparison, err = r.Simulate.Compare(charge, fuel)
	return err
}

func (c *Circuit) energy() energy.Circuit {
	return energy.Circuit{VoltageV: c.VoltageV, BreakerA: c.BreakerA, Phases: c.Phases}
}

// weekdays in the order of time.Weekday, as daily_km names them.
var weekdays = [7]string{"su", "mo", "tu", "we", "th", "fr", "sa"}

// car puts one car of the household in the simulation's terms.
func (in *Inputs) car(i int) (home.Car, error) {
	own, car := &in.Household.Cars[i], in.Cars[i]
	where := fmt.Sprintf("car %d", i+1)
	out := home.Car{Name: car.Name, UsableKWh: car.UsableKWh}
	for day, km := range own.DailyKM {
		at := -1
		for n, name := range weekdays {
			if strings.EqualFold(day, name) {
				at = n
			}
		}
		if at < 0 {
			return out, &fault.Input{Where: where, Field: "daily_km", Found: day, Expected: "mo, tu, we, th, fr, sa or su"}
		}
		out.KmByWeekday[at] = km
	}
	var err error
	if out.ArriveMin, err = clockMin(where+", home_from", own.HomeFrom); err != nil {
		return out, err
	}
	if out.DepartMin, err = clockMin(where+", home_until", own.HomeUntil); err != nil {
		return out, err
	}
	if c := in.Household.Circuit; c != nil {
		if out.Charge, err = car.AC.On(c.energy()); err != nil {
			return out, err
		}
	}
	for m := range out.KWhPer100Km {
		if out.KWhPer100Km[m], err = in.consumption(i, m); err != nil {
			return out, err
		}
	}
	return out, nil
}

// consumption is that of a car's ordinary driving in a month, kWh/100 km: half
// a mean day's distance in one go, from a cold cabin, the mean of the four
// directions against the month's wind, wet roads for their share.
func (in *Inputs) consumption(i, month int) (float64, error) {
	own := &in.Household.Cars[i]
	if !(own.RoadKMH >= 10 && own.RoadKMH <= 150) {
		return 0, &fault.Input{Where: fmt.Sprintf("car %d", i+1), Field: "road_kmh", Found: fmt.Sprint(own.RoadKMH), Expected: "10 to 150 km/h"}
	}
	week := 0.0
	for _, km := range own.DailyKM {
		week += km
	}
	const leastM, daysInWeek, waysADay, sides = 1000.0, 7, 2, 4
	driveM := max(week*1000/daysInWeek/waysADay, leastM)
	var square []energy.Step
	for side := range sides {
		square = append(square, energy.Step{LengthM: driveM / sides, SpeedMS: own.RoadKMH / 3.6, BearingDeg: float64(side) * 360 / sides, ElevationM: in.Climate.ElevationM})
	}
	w := in.Climate.Months[month]
	cond := w.conditions()
	total := 0.0
	for _, part := range []struct {
		surface energy.Surface
		share   float64
	}{{energy.Dry, 1 - w.WetShare}, {energy.Wet, w.WetShare}} {
		cond.Surface = part.surface
		p, err := energy.NewProfile(in.Cars[i], cond, square)
		if err != nil {
			return 0, err
		}
		total += part.share * p.EnergyKWh(driveM) / driveM * 1e5
	}
	return total, nil
}

// conditions are the mean of day and night.
func (m Month) conditions() energy.Conditions {
	return energy.Conditions{TempC: (m.NightC + m.DayC) / 2, WindSpeedMS: energy.RoadWindMS(m.WindKMH / 3.6), WindFromDeg: m.WindFromDeg, SunWM2: m.SunWM2 / 2}
}

func (t *Tariff) simulated() (home.Tariff, error) {
	out := home.Tariff{Currency: t.Currency, OtherPerKWh: t.PerKWh}
	for i, p := range t.Periods {
		where := fmt.Sprintf("tariff, period %d", i+1)
		from, err := clockMin(where+", from", p.From)
		if err != nil {
			return out, err
		}
		to, err := clockMin(where+", to", p.To)
		if err != nil {
			return out, err
		}
		days, err := days(p.Days)
		if err != nil {
			return out, &fault.Input{Where: where, Field: "days", Found: p.Days, Expected: "days as opening_hours writes them, such as Mo-Fr or Sa,Su"}
		}
		out.Periods = append(out.Periods, home.Period{Weekdays: days, Rate: energy.Rate{FromMin: from, ToMin: to, PerKWh: p.PerKWh}})
	}
	return out, nil
}

func days(text string) ([]time.Weekday, error) {
	if text == "" {
		return nil, nil
	}
	var set stations.Days
	if err := set.UnmarshalText([]byte(text)); err != nil {
		return nil, err
	}
	var out []time.Weekday
	for bit := range 7 {
		if set&(1<<bit) != 0 {
			out = append(out, time.Weekday((bit+1)%7))
		}
	}
	return out, nil
}

// clockMin reads "18:30" as minutes after midnight.
func clockMin(where, text string) (int, error) {
	h, m, ok := strings.Cut(text, ":")
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	if !ok || err1 != nil || err2 != nil || hour < 0 || hour > 24 || minute < 0 || minute > 59 || 60*hour+minute > 24*60 {
		return 0, &fault.Input{Where: where, Found: text, Expected: "a time of day such as 18:30"}
	}
	return 60*hour + minute, nil
}

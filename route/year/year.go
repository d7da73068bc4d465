package year

import (
	"fmt"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/energy/taper"
	"ampleway/route"
	"ampleway/stations"
)

// Inputs are what a year is worked out from.
type Inputs struct {
	File      string // that the household is from, for messages
	Name      string // of the household
	Household Household
	Tariff    Tariff
	Climate   *Climate // of the home, see Climate.At
	Invented  bool     // the climate is the demo's
	Year      int
	Cars      []*energy.Car   // one for each of the household's
	Routes    []*route.Route  // one for each of its journeys; nil for one by distance
	Index     *stations.Index // stations for the journeys
	Notes     []string        // what was left out of their files and taken for granted
	Rates     money.Rates     // what the prices of stations are worth in the tariff's currency
	Fast      home.Fast       // what charging away from home is like on ordinary days and on journeys by distance; zero: see energy/home

	MedianPrice bool // the price of Fast is the median of the stations' prices
}

// Result is a year of a household.
type Result struct {
	Inputs   *Inputs
	Simulate home.Household
	Journeys []Journey
	Circuits []CircuitYear // as the household is, where it charges at home, and on other circuits
	home.Comparison
}

// Work plans the journeys and simulates the year as the household is, on other
// circuits, without charging at home, and in a fuel car. Errors are
// *fault.Input, or a *trip.NoPlan for a journey that cannot be made.
func Work(in *Inputs) (*Result, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	r := &Result{Inputs: in}
	r.Simulate = home.Household{Year: in.Year, Fast: in.Fast}
	var err error
	if r.Simulate.Tariff, err = in.Tariff.simulated(); err != nil {
		return nil, err
	}
	if c := in.Household.Circuit; c != nil {
		r.Simulate.FeedKW = c.energy().PowerKW()
	}
	for i := range in.Household.Cars {
		car, err := in.car(i)
		if err != nil {
			return nil, err
		}
		r.Simulate.Cars = append(r.Simulate.Cars, car)
	}
	if r.Journeys, err = in.journeys(); err != nil {
		return nil, err
	}
	for _, j := range r.Journeys {
		for _, run := range j.Runs {
			r.Simulate.Trips = append(r.Simulate.Trips, run.trip)
		}
	}
	return r, r.compare()
}

// place is where the household's faults are.
func (in *Inputs) place() place { return place{in.File, "household " + in.Name} }

func (in *Inputs) check() error {
	at := in.place()
	if err := in.Household.check(at); err != nil {
		return err
	}
	if err := in.Tariff.check(place{"", "tariff"}); err != nil {
		return err
	}
	if f := in.Household.Fuel; f != nil && f.Currency != in.Tariff.Currency {
		return at.in("fuel_car").fault("currency", f.Currency, in.Tariff.Currency+", the currency of the tariff")
	}
	return in.Climate.check(place{"", "climate"})
}

func (r *Result) compare() error {
	ways, others, err := r.otherCircuits()
	if err != nil {
		return err
	}
	fuel := home.FuelCar{}
	if f := r.Inputs.Household.Fuel; f != nil {
		fuel = home.FuelCar{LitresPer100Km: f.LitresPer100(), PerLitre: f.PerLitre()}
	}
	if r.Comparison, err = r.Simulate.Compare(others, fuel); err != nil {
		return err
	}
	if c := r.Inputs.Household.Circuit; c != nil {
		r.Circuits = append(r.Circuits, newCircuitYear("", c.energy(), &r.Simulate, r.Home))
	}
	for i, w := range ways {
		r.Circuits = append(r.Circuits, newCircuitYear(w.name, w.circuit, r.Simulate.On(&others[i]), r.Others[i]))
	}
	return nil
}

func (c *Circuit) energy() energy.Circuit {
	return energy.Circuit{VoltageV: c.VoltageV, BreakerA: c.BreakerA, Phases: c.Phases}
}

// car puts one car of the household in the simulation's terms.
func (in *Inputs) car(i int) (home.Car, error) {
	own, car := &in.Household.Cars[i], in.Cars[i]
	at := in.place().in("car %d", i+1)
	out, err := in.battery(i)
	if err != nil {
		return out, err
	}
	for day, km := range own.DailyKM {
		out.KmByWeekday[weekday(day)] = km
	}
	if out.ArriveMin, err = clockMin(at, "home_from", own.HomeFrom); err != nil {
		return out, err
	}
	if out.DepartMin, err = clockMin(at, "home_until", own.HomeUntil); err != nil {
		return out, err
	}
	if c := in.Household.Circuit; c != nil {
		if out.Charge, err = car.AC.On(c.energy()); err != nil {
			return out, &fault.Input{File: at.file, Where: at.where, Err: err}
		}
	}
	for m := range out.KWhPer100Km {
		if out.KWhPer100Km[m], err = in.consumption(i, m); err != nil {
			return out, err
		}
	}
	return out, nil
}

// battery is what is known of car i without its week: at fast chargers it takes
// its mean power from 10 to 80 % where that is less than they give.
func (in *Inputs) battery(i int) (home.Car, error) {
	const from, to, secondsPerHour = 0.1, 0.8, 3600
	car := in.Cars[i]
	charge, err := taper.New(car.Taper, car.UsableKWh)
	if err != nil {
		return home.Car{}, err
	}
	kW := (to - from) * car.UsableKWh / charge.TimeS(from, to) * secondsPerHour
	return home.Car{Name: car.Name, UsableKWh: car.UsableKWh, FastKW: kW}, nil
}

// consumption is that of a car's ordinary driving in a month, kWh/100 km: half
// a mean day's distance in one go.
func (in *Inputs) consumption(i, month int) (float64, error) {
	own := &in.Household.Cars[i]
	week := 0.0
	for _, km := range own.DailyKM {
		week += km
	}
	const leastM, daysInWeek, waysADay = 1000.0, 7, 2
	driveM := max(week*1000/daysInWeek/waysADay, leastM)
	kWh, err := in.levelKWh(i, month, driveM, own.RoadKMH)
	return kWh / driveM * 1e5, err
}

// levelKWh is what car i takes for a drive on the level at a steady speed in a
// month, January being 0: from a cold cabin, the mean of the four directions
// against the month's wind, wet roads for their share.
func (in *Inputs) levelKWh(i, month int, driveM, kmh float64) (float64, error) {
	const sides = 4
	var square []energy.Step
	for side := range sides {
		square = append(square, energy.Step{LengthM: driveM / sides, SpeedMS: kmh / 3.6, BearingDeg: float64(side) * 360 / sides, ElevationM: in.Climate.ElevationM})
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
		total += part.share * p.EnergyKWh(driveM)
	}
	return total, nil
}

func (t *Tariff) simulated() (home.Tariff, error) {
	out := home.Tariff{Currency: t.Currency, OtherPerKWh: *t.PerKWh}
	for i, p := range t.Periods {
		at := place{"", fmt.Sprintf("tariff, period %d", i+1)}
		from, err := clockMin(at, "from", p.From)
		if err != nil {
			return out, err
		}
		to, err := clockMin(at, "to", p.To)
		if err != nil {
			return out, err
		}
		days, err := days(p.Days)
		if err != nil {
			return out, err
		}
		out.Periods = append(out.Periods, home.Period{Weekdays: days, Rate: energy.Rate{FromMin: from, ToMin: to, PerKWh: *p.PerKWh}})
	}
	return out, nil
}

// A US gallon is 231 cubic inches of 25.4 mm each, a mile 1.609344 km: exact
// (NIST Handbook 44, appendix C).
const (
	litresPerGallon = 3.785411784
	kmPerMile       = 1.609344
)

// LitresPer100 is the fuel for 100 km.
func (f *FuelCar) LitresPer100() float64 {
	if f.MilesPerGallon > 0 {
		return 100 * litresPerGallon / kmPerMile / f.MilesPerGallon
	}
	return f.LitresPer100KM
}

// PerLitre is the price of a litre.
func (f *FuelCar) PerLitre() float64 {
	if f.PricePerGallon > 0 {
		return f.PricePerGallon / litresPerGallon
	}
	return f.PricePerLitre
}

// MPG is the distance in miles on one US gallon.
func (f *FuelCar) MPG() float64 { return 100 * litresPerGallon / kmPerMile / f.LitresPer100() }

// PerGallon is the price of a US gallon.
func (f *FuelCar) PerGallon() float64 { return f.PerLitre() * litresPerGallon }

// saturday is the n-th of a month.
func saturday(year int, month time.Month, n int) time.Time {
	first := time.Date(year, month, 1, 0, 0, 0, 0, time.UTC)
	return first.AddDate(0, 0, (int(time.Saturday-first.Weekday())+7)%7+7*(n-1))
}

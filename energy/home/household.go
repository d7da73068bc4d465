package home

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
)

// Household is what is simulated.
type Household struct {
	Year   int // 1 to 9999
	Cars   []Car
	FeedKW float64 // most power that all cars may draw together at home; 0: each circuit by itself
	Tariff Tariff
	Fast   Fast
	Trips  []Trip
}

// Car is one car of the household and its day.
type Car struct {
	Name        string
	UsableKWh   float64         // > 0
	KmByWeekday [7]float64      // daily distance in km, Sunday first
	KWhPer100Km [12]float64     // consumption at the battery by month, January first; > 0
	Charge      energy.ACCharge // home circuit, see energy.OnBoard.On; zero: no charging at home
	ArriveMin   int             // home in the evening, minutes after midnight, 720..1439
	DepartMin   int             // leaves in the morning, minutes after midnight, 0..720
	StartSoC    float64         // on 1 January; 0: TargetSoC
	TargetSoC   float64         // charged to this on ordinary nights; 0: 0.8
	ReserveSoC  float64         // never planned below this; 0: 0.1
	FastKW      float64         // most mean power into the battery at fast chargers; 0: Fast.MeanKW
}

// Tariff is the price of electricity at home by season, weekday and hour. The
// first period that holds counts; OtherPerKWh is the price where none does.
type Tariff struct {
	Currency    string // ISO 4217
	Periods     []Period
	OtherPerKWh float64
}

// Period is a price that holds in some months, on some weekdays, in some hours.
type Period struct {
	Months   []time.Month   // empty: all
	Weekdays []time.Weekday // empty: all; the weekday of the hour itself, not of the evening before
	energy.Rate
}

// Fast is what charging away from home is like on ordinary days.
type Fast struct {
	MeanKW    float64 // mean power into the battery; 0: 60
	VisitH    float64 // time of a visit besides charging, h; 0: 0.15
	ToSoC     float64 // charged to this on a visit; 0: 0.8
	PerKWh    float64 // price of a kWh as metered, before losses
	Unpriced  bool    // the price is not known; PerKWh is 0 then
	LossShare float64 // metered energy that does not reach the battery; 0: 1 − energy.GridEfficiency
}

// Trip is a journey away from home. It starts in the morning of Date and ends
// in the evening NightsAway later.
type Trip struct {
	Car        int       // index into Cars
	Date       time.Time // the day it starts; the time of day and zone do not matter
	NightsAway int       // ≥ 0
	Km         float64
	HomeKWh    float64 // drawn from the battery and not put back on the way
	FastKWh    float64 // charged into the battery on the way
	HostKWh    float64 // charged into the battery where the trip leads to, at no cost
	FastH      float64 // hours at fast chargers, overheads included
	FastCost   float64 // money for FastKWh, as far as prices are known
	Unpriced   int     // stops whose price is not known
}

func (c *Car) target() float64      { return cmp.Or(c.TargetSoC, 0.8) }
func (c *Car) reserve() float64     { return cmp.Or(c.ReserveSoC, 0.1) }
func (c *Car) chargesAtHome() bool  { return c.Charge.OutletKW > 0 }
func (f *Fast) toSoC() float64      { return cmp.Or(f.ToSoC, 0.8) }
func (f *Fast) efficiency() float64 { return 1 - cmp.Or(f.LossShare, 1-energy.GridEfficiency) }

// Visit is one visit to a fast charger on an ordinary day.
type Visit struct {
	MeteredKWh float64
	TimeH      float64 // charging and all besides
	Cost       float64 // 0 where the price is not known
}

// Visit is what it takes to put so many kWh into the battery of c at once.
func (f *Fast) Visit(c *Car, batteryKWh float64) Visit {
	metered := batteryKWh / f.efficiency()
	return Visit{MeteredKWh: metered, TimeH: batteryKWh/f.Power(c) + f.BesidesH(), Cost: metered * f.PerKWh}
}

// Power is the mean power into the battery of c, kW.
func (f *Fast) Power(c *Car) float64 {
	kW := cmp.Or(f.MeanKW, 60)
	return min(kW, cmp.Or(c.FastKW, kW))
}

// BesidesH is the time of a visit besides charging, h.
func (f *Fast) BesidesH() float64 { return cmp.Or(f.VisitH, 0.15) }

// trifleKWh is less than any reserve is meant to: a journey planned to come home
// with just the reserve may miss it by rounding.
const trifleKWh = 0.01

// Drive draws needKWh from a battery of c that holds kWh and visits a fast
// charger each time that the reserve would be broken: up to ToSoC, on the last
// visit only as far as the drive needs where justEnough. Nobody stops for less
// than trifleKWh. It returns what the battery holds afterwards and what each
// visit put into it.
func (f *Fast) Drive(c *Car, kWh, needKWh float64, justEnough bool) (left float64, charged []float64) {
	floor, upTo := c.reserve()*c.UsableKWh, f.toSoC()*c.UsableKWh
	for {
		ride := min(needKWh, max(0, kWh-floor))
		kWh -= ride
		if needKWh -= ride; needKWh <= trifleKWh {
			return kWh - needKWh, charged
		}
		to := upTo
		if justEnough {
			to = min(to, kWh+needKWh)
		}
		charged = append(charged, to-kWh)
		kWh = to
	}
}

// Validate says which figure of h is out of range.
func (h *Household) Validate() error {
	if h.Year < 1 || h.Year > 9999 {
		return &fault.Input{Field: "Year", Found: strconv.Itoa(h.Year), Expected: "1 to 9999"}
	}
	if len(h.Cars) == 0 {
		return &fault.Input{Field: "Cars", Found: "none", Expected: "at least one car"}
	}
	checks := []figure{
		{"", "FeedKW", h.FeedKW, 0, 1e4},
		{"fast chargers", "MeanKW", h.Fast.MeanKW, 0, 1e4},
		{"fast chargers", "VisitH", h.Fast.VisitH, 0, 24},
		{"fast chargers", "ToSoC", h.Fast.ToSoC, 0, 1},
		{"fast chargers", "PerKWh", h.Fast.PerKWh, -1e6, 1e6},
		{"fast chargers", "LossShare", h.Fast.LossShare, 0, 0.9},
		{"tariff", "OtherPerKWh", h.Tariff.OtherPerKWh, -1e6, 1e6},
	}
	for i := range h.Cars {
		checks = append(checks, h.Cars[i].figures(i)...)
	}
	for i := range h.Trips {
		checks = append(checks, h.Trips[i].figures(i, len(h.Cars))...)
	}
	for _, f := range checks {
		if err := f.check(); err != nil {
			return err
		}
	}
	for i := range h.Cars {
		c := &h.Cars[i]
		if c.reserve() >= min(c.target(), h.Fast.toSoC()) {
			return &fault.Input{Where: fmt.Sprintf("car %d %q", i+1, c.Name), Field: "ReserveSoC", Found: fmt.Sprint(c.reserve()), Expected: "below TargetSoC and the SoC fast chargers charge to"}
		}
	}
	for i, p := range h.Tariff.Periods {
		if err := energy.ValidateRates([]energy.Rate{p.Rate}); err != nil {
			return &fault.Input{Where: "tariff period " + strconv.Itoa(i+1), Err: err}
		}
	}
	return h.checkTripsApart()
}

// checkTripsApart makes sure that a car is on one trip at a time.
func (h *Household) checkTripsApart() error {
	for car := range h.Cars {
		end, before := -1, 0
		for _, k := range h.tripsOf(car) {
			day := dayOfYear(h.Trips[k].Date)
			if h.Trips[k].Date.Year() != h.Year {
				return &fault.Input{Where: "trip " + strconv.Itoa(k+1), Field: "Date", Found: h.Trips[k].Date.Format(time.DateOnly), Expected: "a day of " + strconv.Itoa(h.Year)}
			}
			if day <= end {
				return &fault.Input{Where: "trip " + strconv.Itoa(k+1), Field: "Date", Found: h.Trips[k].Date.Format(time.DateOnly), Expected: fmt.Sprintf("a day after trip %d of the same car is back", before+1)}
			}
			end, before = day+h.Trips[k].NightsAway, k
		}
	}
	return nil
}

// tripsOf returns the indices of a car's trips in order of date.
func (h *Household) tripsOf(car int) []int {
	var of []int
	for k := range h.Trips {
		if h.Trips[k].Car == car {
			of = append(of, k)
		}
	}
	slices.SortStableFunc(of, func(a, b int) int { return dayOfYear(h.Trips[a].Date) - dayOfYear(h.Trips[b].Date) })
	return of
}

// dayOfYear counts from 0 on 1 January.
func dayOfYear(date time.Time) int { return date.YearDay() - 1 }

type figure struct {
	where, field       string
	value, least, most float64
}

func (f figure) check() error {
	if f.value >= f.least && f.value <= f.most {
		return nil
	}
	return &fault.Input{Where: f.where, Field: f.field, Found: fmt.Sprint(f.value), Expected: fmt.Sprintf("%g to %g", f.least, f.most)}
}

func (c *Car) figures(i int) []figure {
	where := fmt.Sprintf("car %d %q", i+1, c.Name)
	out := []figure{
		{where, "UsableKWh", c.UsableKWh, 1, 1e4},
		{where, "Charge.OutletKW", c.Charge.OutletKW, 0, 1e3},
		{where, "ArriveMin", float64(c.ArriveMin), noon, 2*noon - 1},
		{where, "DepartMin", float64(c.DepartMin), 0, noon},
		{where, "StartSoC", c.StartSoC, 0, 1},
		{where, "TargetSoC", c.TargetSoC, 0, 1},
		{where, "ReserveSoC", c.ReserveSoC, 0, 0.9},
		{where, "FastKW", c.FastKW, 0, 1e4},
	}
	if c.chargesAtHome() {
		out = append(out, figure{where, "Charge.Efficiency", c.Charge.Efficiency, 0.1, 1})
	}
	for day, km := range c.KmByWeekday {
		out = append(out, figure{where, "km on " + time.Weekday(day).String(), km, 0, 5000})
	}
	for month, kWh := range c.KWhPer100Km {
		out = append(out, figure{where, "kWh/100 km in " + time.Month(month+1).String(), kWh, 0.1, 1e3})
	}
	return out
}

func (t *Trip) figures(i, cars int) []figure {
	where := "trip " + strconv.Itoa(i+1)
	return []figure{
		{where, "Car", float64(t.Car), 0, float64(cars - 1)},
		{where, "NightsAway", float64(t.NightsAway), 0, 366},
		{where, "Km", t.Km, 0, 1e5},
		{where, "HomeKWh", t.HomeKWh, 0, 1e4},
		{where, "FastKWh", t.FastKWh, 0, 1e5},
		{where, "HostKWh", t.HostKWh, 0, 1e5},
		{where, "FastH", t.FastH, 0, 1e4},
		{where, "FastCost", t.FastCost, 0, math.MaxFloat64},
	}
}

package home

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ampleway/data/fault"
	"ampleway/energy"
)

// Both ends of every range belong to it, the numbers next to them do not, and
// the error names the figure.
func TestHouseholdRanges(t *testing.T) {
	car := func(set func(c *Car, x float64)) func(*Household, float64) {
		return func(h *Household, x float64) { set(&h.Cars[0], x) }
	}
	trip := func(set func(p *Trip, x float64)) func(*Household, float64) {
		return func(h *Household, x float64) { set(&h.Trips[0], x) }
	}
	for _, c := range []struct {
		field     string
		low, high float64
		whole     bool
		set       func(h *Household, x float64)
	}{
		{"Year", 1, 9999, true, func(h *Household, x float64) { h.Trips, h.Year = nil, int(x) }},
		{"FeedKW", 0, 1e4, false, func(h *Household, x float64) { h.FeedKW = x }},
		{"MeanKW", 0, 1e4, false, func(h *Household, x float64) { h.Fast.MeanKW = x }},
		{"VisitH", 0, 24, false, func(h *Household, x float64) { h.Fast.VisitH = x }},
		{"ToSoC", math.Nextafter(0.1, 1), 1, false, func(h *Household, x float64) { h.Fast.ToSoC = x }},
		{"PerKWh", -1e6, 1e6, false, func(h *Household, x float64) { h.Fast.PerKWh = x }},
		{"LossShare", 0, 0.9, false, func(h *Household, x float64) { h.Fast.LossShare = x }},
		{"OtherPerKWh", -1e6, 1e6, false, func(h *Household, x float64) { h.Tariff.OtherPerKWh = x }},
		{"UsableKWh", 1, 1e4, false, car(func(c *Car, x float64) { c.UsableKWh = x })},
		{"Charge.OutletKW", 0, 1e3, false, car(func(c *Car, x float64) { c.Charge.OutletKW = x })},
		{"Charge.Efficiency", 0.1, 1, false, car(func(c *Car, x float64) { c.Charge.Efficiency = x })},
		{"ArriveMin", 720, 1439, true, car(func(c *Car, x float64) { c.ArriveMin = int(x) })},
		{"DepartMin", 0, 720, true, car(func(c *Car, x float64) { c.DepartMin = int(x) })},
		{"StartSoC", 0, 1, false, car(func(c *Car, x float64) { c.StartSoC = x })},
		{"TargetSoC", math.Nextafter(0.1, 1), 1, false, car(func(c *Car, x float64) { c.TargetSoC = x })},
		{"FastKW", 0, 1e4, true, car(func(c *Car, x float64) { c.FastKW = x })},
		{"ReserveSoC", 0, math.Nextafter(0.8, 0), false, car(func(c *Car, x float64) { c.ReserveSoC = x })},
		{"km on Wednesday", 0, 5000, false, car(func(c *Car, x float64) { c.KmByWeekday[3] = x })},
		{"kWh/100 km in December", 0.1, 1e3, false, car(func(c *Car, x float64) { c.KWhPer100Km[11] = x })},
		{"Car", 0, 0, true, trip(func(p *Trip, x float64) { p.Car = int(x) })},
		{"NightsAway", 0, 366, true, trip(func(p *Trip, x float64) { p.NightsAway = int(x) })},
		{"Km", 0, 1e5, false, trip(func(p *Trip, x float64) { p.Km = x })},
		{"HomeKWh", 0, 1e4, false, trip(func(p *Trip, x float64) { p.HomeKWh = x })},
		{"HostKWh", 0, 1e5, false, trip(func(p *Trip, x float64) { p.HostKWh = x })},
		{"FastKWh", 0, 1e5, false, trip(func(p *Trip, x float64) { p.FastKWh = x })},
		{"FastH", 0, 1e4, false, trip(func(p *Trip, x float64) { p.FastH = x })},
		{"FastCost", 0, math.MaxFloat64, false, trip(func(p *Trip, x float64) { p.FastCost = x })},
	} {
		give := func(x float64) error {
			h := &Household{Year: 2025, Cars: []Car{evenCar(7)}, Trips: []Trip{{Date: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC)}}}
			c.set(h, x)
			return h.Validate()
		}
		outside := []float64{math.Nextafter(c.low, math.Inf(-1)), math.Nextafter(c.high, math.Inf(1)), math.NaN()}
		if c.whole {
			outside = []float64{c.low - 1, c.high + 1}
		}
		for _, x := range []float64{c.low, c.high} {
			if err := give(x); err != nil {
				t.Errorf("%s: %v belongs to the range, but: %v", c.field, x, err)
			}
		}
		for _, x := range outside {
			err := give(x)
			var in *fault.Input
			// A reserve that is no lower than the target is told as the reserve's
			// fault, whichever of the three was set.
			if !errors.As(err, &in) || in.Field != c.field && !(in.Field == "ReserveSoC" && strings.Contains(c.field, "SoC")) {
				t.Errorf("%s: %v lies outside the range, but: %v", c.field, x, err)
			} else if who := in.Where; strings.HasPrefix(who, "car") && who != `car 1 "invented"` || strings.HasPrefix(who, "trip") && who != "trip 1" {
				t.Errorf("%s: told of %s", c.field, who)
			}
		}
	}
	for fuel, sound := range map[FuelCar]bool{
		{0, 0}: true, {math.Nextafter(1000, 0), 1}: true, {1000, 1}: false, {5, math.Nextafter(1e6, 0)}: true, {5, 1e6}: false, {-1, 1}: false, {1, -1}: false,
	} {
		h := &Household{Year: 2025, Cars: []Car{evenCar(7)}}
		if _, err := h.Compare(nil, fuel); (err == nil) != sound {
			t.Errorf("%+v: %v", fuel, err)
		}
	}
}

// A car may leave on its next trip the day after it is back, not the same day;
// the trips of another car do not matter.
func TestTripsFollowEachOther(t *testing.T) {
	date := func(day int) time.Time { return time.Date(2025, time.May, day, 0, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		second Trip
		sound  bool
	}{{Trip{Date: date(6)}, true}, {Trip{Date: date(5)}, false}, {Trip{Date: date(5), Car: 1}, true}} {
		h := &Household{Year: 2025, Cars: []Car{evenCar(7), evenCar(7)}, Trips: []Trip{{Date: date(3), NightsAway: 2}, c.second}}
		if err := h.Validate(); (err == nil) != c.sound {
			t.Errorf("after a trip of 3 to 5 May, %+v: %v", c.second, err)
		}
	}
}

// The slots of a night lie end to end from noon to noon, each with the feed's
// energy, and one begins whenever a car comes or goes.
func TestNightIsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHousehold(t)
		at := 0
		begins := map[int]bool{minutesPerDay: true}
		for _, s := range h.night(time.Date(h.Year, 3, 5, 0, 0, 0, 0, time.UTC)) {
			if s.fromMin != at || s.toMin <= s.fromMin {
				t.Fatalf("%+v after %d min", s, at)
			}
			if kWh := h.feedKW() * float64(s.toMin-s.fromMin) / 60; math.Abs(s.feedKWh-kWh) > 1e-9*(1+kWh) {
				t.Fatalf("%v kWh in %+v, want %v", s.feedKWh, s, kWh)
			}
			begins[at] = true
			at = s.toMin
		}
		if at != minutesPerDay {
			t.Fatalf("the night ends after %d min", at)
		}
		for i := range h.Cars {
			from, to := h.Cars[i].stay()
			if !begins[from] || !begins[to] {
				t.Fatalf("no slot begins at %d and %d", from, to)
			}
		}
	})
}

// A feed that cannot fill both cars gives each what it needs for the next day
// and its reserve, the one that leaves first before the other, and only then
// more. By hand: 2 kW for the 13 h from 18 to 7 o'clock are 26 kWh, 23.4 of
// them into the batteries; both begin at the reserve of 6 kWh.
func TestTheFeedGivesTheNextDayFirst(t *testing.T) {
	for _, c := range []struct {
		feedKW, first, second float64
	}{
		{2, 6 + 7.2 + 9, 6 + 7.2},    // 23.4 = 7.2 + 7.2 and 9.0 more, which go to the first
		{1, 6 + 7.2, 6 + 4.5},        // 11.7 = 7.2 and what is left
		{0.5, 6 + 5.85, 6},           // 5.85: not even the first
		{100, 0.8 * 60, 0.8 * 60},    // enough for both targets
		{5.2, 0.8 * 60, 6 + 18.84},   // 60.84 = 42 up to the target and what is left
		{6, 0.8 * 60, 6 + 70.2 - 42}, // 70.2
	} {
		late, early := evenCar(200), evenCar(200)
		early.DepartMin--
		late.StartSoC, early.StartSoC = 0.1, 0.1
		h := &Household{Year: 2025, Cars: []Car{late, early}, FeedKW: c.feedKW, Tariff: Tariff{OtherPerKWh: 0.3}}
		s := h.start()
		var m Month
		s.chargeAtHome(100, time.Date(2025, 4, 11, 0, 0, 0, 0, time.UTC), &m)
		// The early car leaves a minute before, so the feed's last minute is
		// the other's alone.
		tolerance := c.feedKW/60*0.9 + 1e-9
		within(t, "the first to leave", s.kWh[1], c.first, tolerance)
		within(t, "the second", s.kWh[0], c.second, tolerance)
		if short := map[float64]int{2: 1, 1: 1, 0.5: 1, 100: 0, 5.2: 1, 6: 1}[c.feedKW]; m.ShortNights != short {
			t.Errorf("%v kW: %d nights of the household short, want %d", c.feedKW, m.ShortNights, short)
		}
	}
}

// A car draws no more than its own circuit gives, whatever the feed has left:
// 1 kW for 13 h, of which 8 kWh are for the next day and the rest on top.
func TestEachCircuitHasItsLimit(t *testing.T) {
	slow, full := evenCar(1), evenCar(9)
	slow.StartSoC = 0.1
	s := (&Household{Year: 2025, Cars: []Car{slow, full}}).start()
	var m Month
	s.chargeAtHome(100, time.Date(2025, 4, 11, 0, 0, 0, 0, time.UTC), &m)
	within(t, "kWh", s.kWh[0], 6+0.9*13, 1e-9)
	within(t, "kWh at the outlet", m.HomeOutletKWh, 13, 1e-9)
}

// A price that holds in one month or on one weekday holds then alone: August
// 2025 has 31 days, and 52 of the year's days are Mondays.
func TestOneMonthAndOneWeekday(t *testing.T) {
	night := energy.Rate{FromMin: 0, ToMin: 420, PerKWh: 0.10}
	for name, c := range map[string]struct {
		period Period
		days   float64
	}{
		"August":            {Period{Months: []time.Month{time.August}, Rate: night}, 31},
		"Monday":            {Period{Weekdays: []time.Weekday{time.Monday}, Rate: night}, 52},
		"Mondays of August": {Period{Months: []time.Month{time.August}, Weekdays: []time.Weekday{time.Monday}, Rate: night}, 4},
		"always":            {Period{Rate: night}, 365},
	} {
		h := &Household{Year: 2025, Cars: []Car{evenCar(7.2)}, Tariff: Tariff{Periods: []Period{c.period}, OtherPerKWh: 0.30}}
		within(t, name, simulate2(t, h).HomeCost, 365*8*0.30-c.days*8*0.20, 1e-6)
	}
}

// A year has its days: 2024 is a leap year, months have their lengths, and
// nights that reach the target are not short.
func TestTheCalendar(t *testing.T) {
	for year, february := range map[int]float64{2024: 29, 2025: 28} {
		r := simulate(t, &Household{Year: year, Cars: []Car{evenCar(7)}, Tariff: Tariff{OtherPerKWh: 0.3}})
		for month, days := range []float64{31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31} {
			m := &r.Months[month]
			within(t, "km", m.Km, 40*days, 1e-9)
			within(t, "driven kWh", m.DrivenKWh, 7.2*days, 1e-9)
			within(t, "nights", float64(m.ChargeNights), days, 0)
			within(t, "cost", m.Cost(), 0.3*8*days, 1e-6)
		}
		if total := r.Total(); total.ShortNights != 0 || total.DearNights != 0 {
			t.Errorf("%d: %d nights short, %d dear", year, total.ShortNights, total.DearNights)
		}
		within(t, "kWh at both ends of the year", r.StartKWh-r.EndKWh, 0, 1e-9)
		within(t, "kWh at the start", r.StartKWh, 48, 1e-9)
	}
}

// A visit to a fast charger by hand, with figures of one's own: from 20 to 90 %
// of 60 kWh are 42 kWh, 0.42 h at 100 kW and a quarter besides; 10 % are lost,
// so 46.67 kWh are metered.
func TestVisitByHand(t *testing.T) {
	car := evenCar(0)
	car.Charge, car.ReserveSoC, car.StartSoC, car.TargetSoC = energy.ACCharge{}, 0.2, 0.25, 0.7
	h := &Household{Year: 2025, Cars: []Car{car}, Fast: Fast{MeanKW: 100, VisitH: 0.25, ToSoC: 0.9, PerKWh: 0.5, LossShare: 0.1}}
	s := h.start()
	var m Month
	s.draw(0, 2.9, false, &m)
	if m.FastVisits != 0 || math.Abs(s.kWh[0]-12.1) > 1e-9 {
		t.Errorf("%d visits with %v kWh", m.FastVisits, s.kWh[0])
	}
	s.draw(0, 5, false, &m)
	within(t, "visits", float64(m.FastVisits), 1, 0)
	within(t, "kWh left", s.kWh[0], 54-4.9, 1e-9)
	within(t, "kWh", m.FastKWh, 42, 1e-9)
	within(t, "metered", m.FastMeteredKWh, 42/0.9, 1e-9)
	within(t, "hours", m.FastH, 0.67, 1e-9)
	within(t, "cost", m.FastCost, 42/0.9*0.5, 1e-9)
	within(t, "driven", m.DrivenKWh, 7.9, 1e-9)
	h.Cars[0].FastKW = 40
	within(t, "hours of a car that takes 40 kW", h.Fast.Visit(&h.Cars[0], 42).TimeH, 42.0/40+0.25, 1e-9)
	h.Cars[0].FastKW = 200
	within(t, "hours of a car that takes more", h.Fast.Visit(&h.Cars[0], 42).TimeH, 0.67, 1e-9)
	within(t, "home share", m.HomeShare(), 0, 0)
}

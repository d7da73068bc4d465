package year

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/route/trip"
	"ampleway/stations"
)

// place is where something stands: a file, and what in it.
type place struct{ file, where string }

func (p place) in(format string, args ...any) place {
	if p.where != "" {
		format = p.where + ", " + format
	}
	return place{p.file, fmt.Sprintf(format, args...)}
}

func (p place) fault(field, found, expected string) error {
	return &fault.Input{File: p.file, Where: p.where, Field: field, Found: found, Expected: expected}
}

// number is a figure of a file and its range.
type number struct {
	field       string
	value       float64
	least, most float64
	unit        string
}

func (p place) numbers(all ...number) error {
	for _, n := range all {
		if !(n.value >= n.least && n.value <= n.most) {
			return p.fault(n.field, fmt.Sprint(n.value), strings.TrimSpace(fmt.Sprintf("%g to %g %s", n.least, n.most, n.unit)))
		}
	}
	return nil
}

// given asks for a figure that has no default.
func (p place) given(field string, value *float64, least, most float64, unit string) error {
	if value == nil {
		return p.fault(field, "nothing", strings.TrimSpace(fmt.Sprintf("%g to %g %s", least, most, unit)))
	}
	return p.numbers(number{field, *value, least, most, unit})
}

func (p place) currency(code string) error {
	if !money.IsCurrency(code) {
		return p.fault("currency", orNothing(code), "a currency of ISO 4217, such as EUR")
	}
	return nil
}

func orNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

// Ranges of what a file of households may say: wide enough for what is
// possible, narrow enough to notice a slip of the unit.
const (
	leastKMH, mostKMH = 10, 150
	mostStayDays      = 60
	mostTimes         = 48
	mostJourneyKM     = 5000
)

func (h *Household) check(at place) error {
	if c := h.Circuit; c != nil {
		if err := c.check(at.in("circuit")); err != nil {
			return err
		}
	}
	if len(h.Cars) == 0 {
		return at.fault("cars", "none", "at least one car")
	}
	for i := range h.Cars {
		if err := h.Cars[i].check(at.in("car %d", i+1)); err != nil {
			return err
		}
	}
	for i := range h.Trips {
		if err := h.Trips[i].check(at.in("trip %d", i+1), len(h.Cars)); err != nil {
			return err
		}
	}
	if h.Fuel != nil {
		return h.Fuel.check(at.in("fuel_car"))
	}
	return nil
}

func (c *Circuit) check(at place) error {
	if c.Phases != 0 && c.Phases != 1 && c.Phases != 3 {
		return at.fault("phases", strconv.Itoa(c.Phases), "1 or 3")
	}
	return at.numbers(
		number{"voltage_v", c.VoltageV, 90, 500, "V"},
		number{"breaker_a", c.BreakerA, 6, 400, "A"},
		number{"ways", float64(c.Ways), 0, 20, "cars plugged in at once"},
	)
}

func (c *Car) check(at place) error {
	if c.Class == "" {
		return at.fault("class", "nothing", "a built-in car or a car file")
	}
	from, err := clockMin(at, "home_from", c.HomeFrom)
	if err != nil {
		return err
	}
	until, err := clockMin(at, "home_until", c.HomeUntil)
	if err != nil {
		return err
	}
	const noon, lastMinute = 12 * 60, 24*60 - 1
	if from < noon || from > lastMinute {
		return at.fault("home_from", c.HomeFrom, "12:00 to 23:59, when the car is plugged in")
	}
	if until > noon {
		return at.fault("home_until", c.HomeUntil, "00:00 to 12:00 of the next day, when it leaves")
	}
	if len(c.DailyKM) == 0 {
		return at.fault("daily_km", "nothing", "kilometres for each weekday: mo, tu, we, th, fr, sa, su")
	}
	for _, day := range slices.Sorted(maps.Keys(c.DailyKM)) {
		if weekday(day) < 0 {
			return at.fault("daily_km", day, "mo, tu, we, th, fr, sa or su")
		}
		if err := at.numbers(number{"daily_km, " + day, c.DailyKM[day], 0, 2000, "km"}); err != nil {
			return err
		}
	}
	return at.numbers(number{"road_kmh", c.RoadKMH, leastKMH, mostKMH, "km/h"})
}

func (t *Trip) check(at place, cars int) error {
	roads := 0
	for _, given := range []bool{t.Corridor != "", t.Route != "", t.DistanceKM != 0} {
		if given {
			roads++
		}
	}
	if roads != 1 {
		return at.fault("route", fmt.Sprintf("%d roads", roads), "one of route (a file), distance_km (one way) and corridor (of the demo)")
	}
	if t.Month == 0 && t.Times == 0 {
		return at.fault("month", "nothing", "1 to 12, or times: how often a year")
	}
	if t.DistanceKM != 0 {
		if err := at.numbers(number{"distance_km", t.DistanceKM, 1, mostJourneyKM, "km one way"}, number{"road_kmh", t.RoadKMH, leastKMH, mostKMH, "km/h"}); err != nil {
			return err
		}
	} else if t.RoadKMH != 0 {
		return at.fault("road_kmh", fmt.Sprint(t.RoadKMH), "nothing beside a route, which has speeds of its own")
	}
	if _, err := trip.ParsePlug(orNone(t.Plug)); err != nil {
		return &fault.Input{File: at.file, Where: at.where, Err: err}
	}
	return at.numbers(
		number{"car", float64(t.Car), 0, float64(cars), "(counted from 1)"},
		number{"month", float64(t.Month), 0, 12, ""},
		number{"times", float64(t.Times), 0, mostTimes, "a year"},
		number{"stay_days", float64(t.StayDays), 0, mostStayDays, "nights"},
	)
}

func orNone(plug string) string {
	if plug == "" {
		return "none"
	}
	return plug
}

func (f *FuelCar) check(at place) error {
	for _, pair := range []struct {
		a, b   float64
		fields string
	}{
		{f.LitresPer100KM, f.MilesPerGallon, "litres_per_100km or miles_per_gallon"},
		{f.PricePerLitre, f.PricePerGallon, "price_per_litre or price_per_gallon"},
	} {
		if (pair.a > 0) == (pair.b > 0) {
			return at.fault(pair.fields, fmt.Sprintf("%g and %g", pair.a, pair.b), "one of the two, above 0")
		}
	}
	if err := at.currency(f.Currency); err != nil {
		return err
	}
	return at.numbers(
		number{"litres_per_100km", f.LitresPer100KM, 0, 100, ""}, number{"miles_per_gallon", f.MilesPerGallon, 0, 500, ""},
		number{"price_per_litre", f.PricePerLitre, 0, mostPrice, ""}, number{"price_per_gallon", f.PricePerGallon, 0, mostPrice, ""},
	)
}

// mostPrice is more than a kWh or a litre costs in any currency.
const mostPrice = 1e6

func checkTariffs(all map[string]Tariff, file string) error {
	for _, name := range slices.Sorted(maps.Keys(all)) {
		t := all[name]
		if err := t.check(place{file, "tariff " + name}); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tariff) check(at place) error {
	if err := at.currency(t.Currency); err != nil {
		return err
	}
	if err := at.given("per_kwh", t.PerKWh, -mostPrice, mostPrice, t.Currency); err != nil {
		return err
	}
	for i := range t.Periods {
		if err := t.Periods[i].check(at.in("period %d", i+1), t.Currency); err != nil {
			return err
		}
	}
	return at.numbers(number{"per_day", t.PerDay, 0, mostPrice, t.Currency})
}

func (p *Period) check(at place, currency string) error {
	if _, err := clockMin(at, "from", p.From); err != nil {
		return err
	}
	if _, err := clockMin(at, "to", p.To); err != nil {
		return err
	}
	if _, err := days(p.Days); err != nil {
		return at.fault("days", p.Days, "days as opening_hours writes them, such as Mo-Fr or Sa,Su")
	}
	return at.given("per_kwh", p.PerKWh, -mostPrice, mostPrice, currency)
}

func (c *Climate) check(at place) error {
	if c.Place == "" {
		return at.fault("place", "nothing", "the name of the place whose weather it is")
	}
	for i := range 12 {
		if len(c.Months) != 12 || c.Months[i].Month != i+1 {
			return at.fault("months", fmt.Sprintf("%d months", len(c.Months)), "each month from 1 to 12 once")
		}
	}
	for i := range c.Months {
		if err := c.Months[i].check(at.in("month %d", i+1)); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(c.Others)) {
		if err := at.numbers(elevation("others, "+name, c.Others[name])); err != nil {
			return err
		}
	}
	return at.numbers(elevation("elevation_m", c.ElevationM), number{"lapse_c_per_km", c.LapseCPerKM, 0, 15, "°C per km"})
}

// elevation is that of a home: from the shore of the Dead Sea to above any town.
func elevation(field string, m float64) number { return number{field, m, -450, 5500, "m"} }

func (m *Month) check(at place) error {
	const coldest, hottest = -60.0, 60.0
	if err := at.given("night_c", m.NightC, coldest, hottest, "°C"); err != nil {
		return err
	}
	if err := at.given("day_c", m.DayC, coldest, hottest, "°C"); err != nil {
		return err
	}
	return at.numbers(
		number{"wind_kmh", m.WindKMH, 0, 150, "km/h"}, number{"wind_from_deg", m.WindFromDeg, 0, 360, "degrees"},
		number{"wet_share", m.WetShare, 0, 1, ""}, number{"sun_w_per_m2", m.SunWM2, 0, 1400, "W/m²"},
	)
}

// clockMin reads "18:30" as minutes after midnight.
func clockMin(at place, field, text string) (int, error) {
	h, m, ok := strings.Cut(text, ":")
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	if !ok || err1 != nil || err2 != nil || hour < 0 || hour > 24 || minute < 0 || minute > 59 || 60*hour+minute > 24*60 {
		return 0, at.fault(field, orNothing(text), "a time of day such as 18:30")
	}
	return 60*hour + minute, nil
}

// weekdays in the order of time.Weekday, as daily_km names them.
var weekdays = [7]string{"su", "mo", "tu", "we", "th", "fr", "sa"}

// weekday is the index of a day in weekdays, -1 for no day.
func weekday(name string) int { return slices.Index(weekdays[:], strings.ToLower(name)) }

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

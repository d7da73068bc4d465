package trip

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
)

const fallbackRequired = "required"

var goals = map[string]stops.Goal{
	"time": stops.LeastTime, "cost": stops.LeastMoney, "balance": stops.TimeAndMoney, "fewest-stops": stops.FewestStops,
}

// CorridorOptionsOf is what a question says about the stations beside the road.
func CorridorOptionsOf(q *question.Question) CorridorOptions {
	return CorridorOptions{StartName: q.StartName, EndName: q.EndName, HalfWidthM: 1000 * q.HalfWidthKM, DetourFactor: q.DetourFactor, DetourSpeedMS: q.DetourSpeedKMH / 3.6}
}

// Parts are what a question asks besides the corridor: the weather, load and
// driving, the choice of chargers, and what counts. The error is a *fault.Input
// that names the key.
func Parts(q *question.Question) (cond energy.Conditions, options DriveOptions, goal Goal, err error) {
	if err = q.Check(); err != nil {
		return cond, options, goal, err
	}
	if options, err = driveOptions(q); err != nil {
		return cond, options, goal, err
	}
	goal, err = goalOf(q)
	return Conditions(q), options, goal, err
}

// Conditions are a question's weather, load and driving.
func Conditions(q *question.Question) energy.Conditions {
	capMS := orZero(q.SpeedCapKMH) / 3.6
	if q.SpeedCapKMH == nil && snowy(energy.Surface(q.Surface)) {
		capMS = snowCapMS
	}
	return energy.Conditions{
		TempC: q.TempC, WindSpeedMS: energy.RoadWindMS(q.WindKMH / 3.6), WindFromDeg: orZero(q.WindFromDeg), HeadWind: q.WindFromDeg == nil,
		Surface: energy.Surface(q.Surface), RainMMPerH: q.RainMMPerH, WinterTyres: q.WinterTyres,
		PayloadKg: q.PayloadKg, Extras: q.Carry, SpeedCapMS: capMS,
		ClimateOff: q.NoClimate, Preconditioned: q.CabinReady,
		StateOfHealth: q.BatteryHealthPct / 100, UserFactor: q.ConsumptionFactor,
	}
}

// snowCapMS is how fast one drives on snow or slush who does not say, 80 km/h:
// common practice. Traffic studies find freeway speeds 5 to 40 % lower in heavy
// snow (from memory).
const snowCapMS = 80 / 3.6

func snowy(s energy.Surface) bool { return s == energy.Snow || s == energy.Slush }

// driveOptions is a question's choice of chargers.
func driveOptions(r *question.Question) (DriveOptions, error) {
	o := DriveOptions{
		Filter: stations.Filter{
			MinPowerKW: r.LeastPowerKW, Only: r.Only, Avoid: r.Avoid,
			Customers: r.CustomerSites, RejectAssumed: r.NoAssumedPower,
		},
		AC: r.AC, Precondition: r.WarmBattery, AssumeShared: r.BaysBusy,
		DefaultSpeedMS: r.UnknownSpeedKMH / 3.6,
		asked:          new(*r),
	}
	var err error
	o.OverheadS = new(60 * r.SetupMin)
	if r.BatteryTempC != nil {
		o.PackTempC, o.PackTempKnown = *r.BatteryTempC, true
	}
	for _, text := range r.PowerBetween {
		class, classErr := ParsePowerClass(text)
		err = firstFault(err, classErr)
		o.PowerClasses = append(o.PowerClasses, class)
	}
	for _, text := range r.Connector {
		connector, _ := stations.ConnectorFor(text)
		o.Filter.Accepts = append(o.Filter.Accepts, connector)
	}
	for _, text := range r.Adapter {
		a, adapterErr := parseAdapter(text)
		err = firstFault(err, adapterErr)
		o.Filter.Adapters = append(o.Filter.Adapters, a)
	}
	return o, err
}

// goalOf is what a question asks of the plan.
func goalOf(r *question.Question) (Goal, error) {
	g := Goal{
		DepartSoC: r.LeaveWithPct / 100, ReserveSoC: r.ReservePct / 100, ArriveReserveSoC: r.ArriveWithPct / 100,
		CeilingSoC: r.ChargeToPct / 100, StopWorthS: 60 * r.StopWorthMin, Must: r.Must,
		Objective:          stops.Objective{Goal: goals[r.Best], MoneyPerHour: r.HourWorth},
		UnknownPricePerKWh: r.UnknownPricePerKWh,
		Confidence:         r.ConfidencePct / 100, Fallback: r.Fallback == fallbackRequired,
	}
	if r.FallbackFloorPct != nil {
		g.FallbackFloorSoC = new(*r.FallbackFloorPct / 100)
	}
	if r.MostStops != nil {
		g.MostStops = *r.MostStops
	}
	var rateErr error
	g.Rates, rateErr = money.ParseRates(r.Rate)
	if r.FuelCar != "" {
		var fuelErr error
		g.Fuel, fuelErr = ParseFuelCar(r.FuelCar)
		rateErr = firstFault(rateErr, fuelErr)
	}
	err := rateErr
	if g.Objective.Goal == stops.TimeAndMoney && r.HourWorth == 0 {
		err = firstFault(err, &fault.Input{Field: "hour_worth", Found: "0", Expected: "what an hour is worth, more than 0, to balance time and money"})
	}
	if r.Depart != "" && r.ArriveBy != "" {
		err = firstFault(err, &fault.Input{Field: "arrive_by", Found: r.ArriveBy + " with a departure at " + r.Depart, Expected: "one of the two"})
	}
	for _, clock := range []struct {
		field, text string
		to          *time.Time
	}{{"depart", r.Depart, &g.Depart}, {"arrive_by", r.ArriveBy, &g.ArriveBy}} {
		if clock.text != "" {
			at, timeErr := parseTime(clock.field, clock.text)
			err = firstFault(err, timeErr)
			*clock.to = at
		}
	}
	if r.TempByHour != "" {
		temps, tempErr := ParseHourlyTemp(r.TempByHour)
		if tempErr == nil && !g.timed() {
			tempErr = &fault.Input{Field: "temp_by_hour", Found: r.TempByHour, Expected: "a time of departure or arrival with it"}
		}
		err = firstFault(err, tempErr)
		g.TempByHour = temps
	}
	if r.Meal != "" {
		meal, mealErr := ParseMeal(r.Meal)
		if mealErr == nil && !g.timed() {
			mealErr = &fault.Input{Field: "meal", Found: r.Meal, Expected: "a time of departure or arrival with it"}
		}
		err = firstFault(err, mealErr)
		g.Meal = meal
	}
	return g, firstFault(err, g.Validate())
}

// ParseTime reads an ISO 8601 time; without an offset it is in this machine's
// zone.
func ParseTime(text string) (time.Time, error) { return parseTime("depart", text) }

func parseTime(field, text string) (time.Time, error) {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, nil
		}
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, text, time.Local); err == nil {
			return t, nil
		}
	}
	return time.Time{}, &fault.Input{Field: field, Found: text, Expected: "an ISO 8601 time such as 2026-12-24T08:30 or 2026-12-24T08:30:00+01:00"}
}

// PowerClass is a range of power in kW, both ends included.
type PowerClass struct{ LeastKW, MostKW float64 }

// ParsePowerClass reads "50-149", "150-" or "-50".
func ParsePowerClass(text string) (PowerClass, error) {
	bad := &fault.Input{Field: "power_between", Found: text, Expected: "a range of kW such as 50-149 or 150-"}
	low, high, ok := strings.Cut(strings.TrimSpace(text), "-")
	if !ok {
		return PowerClass{}, bad
	}
	class := PowerClass{MostKW: math.Inf(1)}
	for _, end := range []struct {
		text string
		to   *float64
	}{{low, &class.LeastKW}, {high, &class.MostKW}} {
		if end.text == "" {
			continue
		}
		v, err := strconv.ParseFloat(end.text, 64)
		if err != nil || !(v >= 0) {
			return PowerClass{}, bad
		}
		*end.to = v
	}
	if class.LeastKW > class.MostKW {
		return PowerClass{}, bad
	}
	return class, nil
}

func (c PowerClass) holds(powerKW float64) bool { return powerKW >= c.LeastKW && powerKW <= c.MostKW }

func anyHolds(classes []PowerClass, powerKW float64) bool {
	return len(classes) == 0 || slices.ContainsFunc(classes, func(c PowerClass) bool { return c.holds(powerKW) })
}

func parseAdapter(text string) (stations.Adapter, error) {
	bad := &fault.Input{Field: "adapter", Found: text, Expected: "STATION-PLUG=CAR-INLET, with the adapter's kW if it has a limit: CHAdeMO=CCS2,50"}
	plugs, limit, limited := strings.Cut(text, ",")
	from, to, ok := strings.Cut(plugs, "=")
	if !ok || strings.TrimSpace(from) == "" || strings.TrimSpace(to) == "" {
		return stations.Adapter{}, bad
	}
	a := energy.Adapter{Station: from, Inlet: to}
	if limited {
		v, err := strconv.ParseFloat(strings.TrimSpace(limit), 64)
		if err != nil || !(v > 0) {
			return stations.Adapter{}, bad
		}
		a.LimitKW = v
	}
	return adapter(a), nil
}

func orZero(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

func firstFault(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

package trip

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/stops"
	"ampleway/stations"
)

// Request is everything that can be asked about a trip besides the road, the
// stations and the car, with units in the keys. Command line, page, API and
// study files all fill this one form. NewRequest has the defaults; a decoder
// that starts from it keeps those that a file leaves out.
type Request struct {
	StartName string `json:"start_name,omitempty" yaml:"start_name"` // what to call the start
	EndName   string `json:"end_name,omitempty" yaml:"end_name"`     // what to call the destination

	DepartAt           string   `json:"depart_at,omitempty" yaml:"depart_at"` // ISO 8601; without an offset: this machine's zone
	ArriveBy           string   `json:"arrive_by,omitempty" yaml:"arrive_by"` // ISO 8601, instead of depart_at: the latest departure that does it
	DepartSoCPct       float64  `json:"depart_soc_pct" yaml:"depart_soc_pct"`
	ReservePct         float64  `json:"reserve_pct" yaml:"reserve_pct"`
	DestReservePct     float64  `json:"destination_reserve_pct" yaml:"destination_reserve_pct"`
	CeilingPct         float64  `json:"highest_soc_pct" yaml:"highest_soc_pct"`
	MostStops          *int     `json:"most_stops,omitempty" yaml:"most_stops"`                       // absent: no limit
	StopWorthMin       float64  `json:"stop_worth_min" yaml:"stop_worth_min"`                         // one stop fewer may take so much longer; 0: only the clock counts
	Best               string   `json:"best" yaml:"best"`                                             // time, cost, balance or fewest-stops
	HourWorth          float64  `json:"hour_worth,omitempty" yaml:"hour_worth"`                       // money, for balance
	UnknownPricePerKWh *float64 `json:"unknown_price_per_kwh,omitempty" yaml:"unknown_price_per_kwh"` // where cost counts; absent: no stop where the price is not known
	Rates              []string `json:"rates,omitempty" yaml:"rates"`                                 // what other currencies are worth, all in one: "JPY=0.0061EUR"
	FuelCar            string   `json:"fuel_car,omitempty" yaml:"fuel_car"`                           // to compare with: "6.8 l/100km 1.72", "32 mpg 3.40 USD"
	ConfidencePct      float64  `json:"confidence_pct" yaml:"confidence_pct"`                         // that every reserve holds although consumption strays; 0: by the estimate alone
	Fallback           string   `json:"fallback,omitempty" yaml:"fallback"`                           // "required": reach every stop with enough for another station
	FallbackFloorPct   *float64 `json:"fallback_floor_pct,omitempty" yaml:"fallback_floor_pct"`       // least on reaching that one; absent: 5, or the reserve where that is less

	Meal       string  `json:"meal,omitempty" yaml:"meal"`               // "12:00-13:30 45m": a rest begun then, at a charger; needs depart_at or arrive_by
	HomePlug   string  `json:"home_plug,omitempty" yaml:"home_plug"`     // charging at home before: level1 or level2:BREAKER; depart_soc_pct is then what is wanted
	HomeSoCPct float64 `json:"home_soc_pct" yaml:"home_soc_pct"`         // on plugging in at home
	HomeFrom   string  `json:"home_from" yaml:"home_from"`               // plugged in at home at
	CheapHours string  `json:"cheap_hours,omitempty" yaml:"cheap_hours"` // at home: "23:00-06:00"

	TempC          float64  `json:"temp_c" yaml:"temp_c"`
	TempByHour     string   `json:"temp_by_hour,omitempty" yaml:"temp_by_hour"`   // instead of temp_c: "06:00=-3,14:30=4,22:00=-5", linear between, or 24 values; needs depart_at or arrive_by
	WindKMH        float64  `json:"wind_kmh" yaml:"wind_kmh"`                     // as a forecast gives it, 10 m above open ground
	WindFromDeg    *float64 `json:"wind_from_deg,omitempty" yaml:"wind_from_deg"` // absent: head wind along the whole road
	Surface        string   `json:"surface" yaml:"surface"`
	WinterTyres    bool     `json:"winter_tyres,omitempty" yaml:"winter_tyres"`
	PayloadKg      float64  `json:"payload_kg,omitempty" yaml:"payload_kg"`
	Extras         []string `json:"extras,omitempty" yaml:"extras"`
	HealthPct      float64  `json:"battery_health_pct" yaml:"battery_health_pct"`
	UserFactor     float64  `json:"consumption_factor" yaml:"consumption_factor"`
	SpeedCapKMH    *float64 `json:"speed_cap_kmh,omitempty" yaml:"speed_cap_kmh"` // absent: as fast as the road allows
	DefaultKMH     float64  `json:"unknown_speed_kmh" yaml:"unknown_speed_kmh"`
	ClimateOff     bool     `json:"climate_off,omitempty" yaml:"climate_off"`
	CabinReady     bool     `json:"cabin_ready,omitempty" yaml:"cabin_ready"`   // warmed or cooled on the outlet before the start
	PackTempC      *float64 `json:"pack_temp_c,omitempty" yaml:"pack_temp_c"`   // of the battery at departure; absent: as the air
	WarmBattery    bool     `json:"warm_battery,omitempty" yaml:"warm_battery"` // on the way to a charger
	StallsBusy     bool     `json:"stalls_busy,omitempty" yaml:"stalls_busy"`   // stalls that share power are all in use
	HalfWidthKM    float64  `json:"half_width_km" yaml:"half_width_km"`
	DetourFactor   float64  `json:"detour_factor" yaml:"detour_factor"`
	DetourKMH      float64  `json:"detour_speed_kmh" yaml:"detour_speed_kmh"`
	OverheadMin    float64  `json:"overhead_min" yaml:"overhead_min"`
	LeastPowerKW   float64  `json:"least_power_kw,omitempty" yaml:"least_power_kw"`
	PowerClasses   []string `json:"power_classes,omitempty" yaml:"power_classes"` // ranges of kW: "50-149", "150-"
	Only           []string `json:"only,omitempty" yaml:"only"`                   // operators or networks
	Avoid          []string `json:"avoid,omitempty" yaml:"avoid"`                 // operators, networks or site IDs
	Must           []string `json:"must,omitempty" yaml:"must"`                   // site IDs
	Connectors     []string `json:"connectors,omitempty" yaml:"connectors"`       // instead of the car's own
	Adapters       []string `json:"adapters,omitempty" yaml:"adapters"`           // "CHAdeMO=CCS2" or "CHAdeMO=CCS2,50"
	AC             bool     `json:"ac,omitempty" yaml:"ac"`                       // also AC charging on the way
	ForCustomers   bool     `json:"customer_sites,omitempty" yaml:"customer_sites"`
	NoAssumedPower bool     `json:"no_assumed_power,omitempty" yaml:"no_assumed_power"`
}

// NewRequest returns the defaults, from which everything that plans starts: a
// mild, still, dry day, leaving with 90 %, a reserve of 10 % that holds with
// DefaultConfidencePct, least time.
func NewRequest() Request {
	return Request{
		DepartSoCPct: 100 * DefaultDepartSoC, ReservePct: 100 * DefaultReserveSoC, DestReservePct: 100 * DefaultReserveSoC,
		ConfidencePct: DefaultConfidencePct, CeilingPct: 100, StopWorthMin: DefaultStopWorthMin, Best: "time", HomeSoCPct: 30, HomeFrom: "18:00",
		TempC: 20, Surface: string(energy.Dry), HealthPct: 100, UserFactor: 1,
		DefaultKMH: 3.6 * route.DefaultSpeedMS, HalfWidthKM: DefaultHalfWidthM / 1000,
		DetourFactor: DefaultDetourFactor, DetourKMH: 3.6 * DefaultDetourSpeedMS, OverheadMin: DefaultOverheadS / 60,
	}
}

// What Request.Fallback can be; empty is fallbackShown.
const (
	fallbackShown    = "shown"
	fallbackRequired = "required"
)

// DefaultConfidencePct is the probability with which a reserve is planned to
// hold where nothing else is asked: planned by the estimate alone, about half
// of all trips would fall below it somewhere.
const DefaultConfidencePct = 95

var goals = map[string]stops.Goal{
	"time": stops.LeastTime, "cost": stops.LeastMoney, "balance": stops.TimeAndMoney, "fewest-stops": stops.FewestStops,
}

// Corridor returns the request's CorridorOptions.
func (r *Request) Corridor() (CorridorOptions, error) {
	err := firstFault(
		within("half_width_km", r.HalfWidthKM, 0.01, mostHalfWidthKM, "km"),
		within("detour_factor", r.DetourFactor, 1, 10, ""),
		within("detour_speed_kmh", r.DetourKMH, 5, 200, "km/h"))
	return CorridorOptions{StartName: r.StartName, EndName: r.EndName, HalfWidthM: 1000 * r.HalfWidthKM, DetourFactor: r.DetourFactor, DetourSpeedMS: r.DetourKMH / 3.6}, err
}

// Conditions returns the request's weather, load and driving.
func (r *Request) Conditions() (energy.Conditions, error) {
	err := firstFault(
		within("temp_c", r.TempC, -60, 60, "°C"),
		within("wind_kmh", r.WindKMH, 0, 200, "km/h"),
		given("wind_from_deg", r.WindFromDeg, -360, 360, "degrees"),
		within("payload_kg", r.PayloadKg, 0, 5000, "kg"),
		percent("battery_health_pct", r.HealthPct, 20, 100),
		within("consumption_factor", r.UserFactor, 0.3, 3, ""),
		given("speed_cap_kmh", r.SpeedCapKMH, 20, 300, "km/h"))
	capMS := orZero(r.SpeedCapKMH) / 3.6
	if r.SpeedCapKMH == nil && snowy(energy.Surface(r.Surface)) {
		capMS = snowCapMS
	}
	return energy.Conditions{
		TempC: r.TempC, WindSpeedMS: energy.RoadWindMS(r.WindKMH / 3.6), WindFromDeg: orZero(r.WindFromDeg), HeadWind: r.WindFromDeg == nil,
		Surface: energy.Surface(r.Surface), WinterTyres: r.WinterTyres,
		PayloadKg: r.PayloadKg, Extras: r.Extras, SpeedCapMS: capMS,
		ClimateOff: r.ClimateOff, Preconditioned: r.CabinReady,
		StateOfHealth: r.HealthPct / 100, UserFactor: r.UserFactor,
	}, err
}

// snowCapMS is how fast one drives on snow or slush who does not say, 80 km/h:
// common practice. Traffic studies find freeway speeds 5 to 40 % lower in heavy
// snow (from memory).
const snowCapMS = 80 / 3.6

func snowy(s energy.Surface) bool { return s == energy.Snow || s == energy.Slush }

// DriveOptions returns the request's choice of chargers.
func (r *Request) DriveOptions() (DriveOptions, error) {
	o := DriveOptions{
		Filter: stations.Filter{
			MinPowerKW: r.LeastPowerKW, Only: r.Only, Avoid: r.Avoid,
			Customers: r.ForCustomers, RejectAssumed: r.NoAssumedPower,
		},
		AC: r.AC, Precondition: r.WarmBattery, AssumeShared: r.StallsBusy,
		DefaultSpeedMS: r.DefaultKMH / 3.6,
	}
	err := firstFault(
		within("least_power_kw", r.LeastPowerKW, 0, 4000, "kW"),
		within("unknown_speed_kmh", r.DefaultKMH, 5, 200, "km/h"),
		within("overhead_min", r.OverheadMin, 0, 240, "minutes"))
	o.OverheadS = new(60 * r.OverheadMin)
	if r.PackTempC != nil {
		err = firstFault(err, within("pack_temp_c", *r.PackTempC, -40, 60, "°C"))
		o.PackTempC, o.PackTempKnown = *r.PackTempC, true
	}
	for _, text := range r.PowerClasses {
		class, classErr := ParsePowerClass(text)
		err = firstFault(err, classErr)
		o.PowerClasses = append(o.PowerClasses, class)
	}
	for _, text := range r.Connectors {
		connector, _ := stations.ConnectorFor(text)
		o.Filter.Accepts = append(o.Filter.Accepts, connector)
	}
	for _, text := range r.Adapters {
		a, adapterErr := parseAdapter(text)
		err = firstFault(err, adapterErr)
		o.Filter.Adapters = append(o.Filter.Adapters, a)
	}
	return o, err
}

// Goal returns what the request asks of the plan.
func (r *Request) Goal() (Goal, error) {
	goal, known := goals[r.Best]
	if !known {
		return Goal{}, &fault.Input{Field: "best", Found: r.Best, Expected: "time, cost, balance or fewest-stops"}
	}
	g := Goal{
		DepartSoC: r.DepartSoCPct / 100, ReserveSoC: r.ReservePct / 100, ArriveReserveSoC: r.DestReservePct / 100,
		CeilingSoC: r.CeilingPct / 100, StopWorthS: 60 * r.StopWorthMin, Must: r.Must,
		Objective:          stops.Objective{Goal: goal, MoneyPerHour: r.HourWorth},
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
	g.Rates, rateErr = money.ParseRates(r.Rates)
	if r.Fallback != "" && r.Fallback != fallbackRequired && r.Fallback != fallbackShown {
		return Goal{}, &fault.Input{Field: "fallback", Found: r.Fallback, Expected: fallbackShown + " or " + fallbackRequired}
	}
	if r.FuelCar != "" {
		var fuelErr error
		g.Fuel, fuelErr = ParseFuelCar(r.FuelCar)
		rateErr = firstFault(rateErr, fuelErr)
	}
	err := firstFault(rateErr,
		within("hour_worth", r.HourWorth, 0, 1e6, ""),
		given("unknown_price_per_kwh", r.UnknownPricePerKWh, 0, 1e6, ""),
		r.percents(), r.limits())
	if r.DepartAt != "" && r.ArriveBy != "" {
		err = firstFault(err, &fault.Input{Field: "arrive_by", Found: r.ArriveBy + " with a departure at " + r.DepartAt, Expected: "one of the two"})
	}
	for _, clock := range []struct {
		field, text string
		to          *time.Time
	}{{"departure", r.DepartAt, &g.Depart}, {"arrive_by", r.ArriveBy, &g.ArriveBy}} {
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
func ParseTime(text string) (time.Time, error) { return parseTime("departure", text) }

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
	bad := &fault.Input{Field: "power class", Found: text, Expected: "a range of kW such as 50-149 or 150-"}
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

// within checks lo ≤ v ≤ hi; NaN is outside.
func within(field string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &fault.Input{Field: field, Found: fmt.Sprintf("%g", v), Expected: strings.TrimSpace(fmt.Sprintf("%g to %g %s", lo, hi, unit))}
}

// given is within for a figure that may be absent.
func given(field string, v *float64, lo, hi float64, unit string) error {
	if v == nil {
		return nil
	}
	return within(field, *v, lo, hi, unit)
}

func orZero(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// percent is within for a percentage. A figure between 0 and 1 is taken for a
// fraction written by mistake.
func percent(field string, v, lo, hi float64) error {
	if err := NotAFraction(field, v); err != nil {
		return err
	}
	return within(field, v, lo, hi, "%")
}

// NotAFraction returns a *fault.Input for a figure between 0 and 1 where a
// percentage is wanted: whoever writes 0.95 most likely means 95 %.
func NotAFraction(field string, v float64) error {
	if v <= 0 || v >= 1 {
		return nil
	}
	meant := strconv.FormatFloat(100*v, 'g', 6, 64)
	return &fault.Input{Field: field, Found: fmt.Sprintf("%g", v), Expected: fmt.Sprintf("percent. %g %%? Write %s for %s %%", v, meant, meant)}
}

// percents checks the request's percentages that Conditions does not.
func (r *Request) percents() error {
	err := firstFault(
		percent("depart_soc_pct", r.DepartSoCPct, 0, 100),
		percent("reserve_pct", r.ReservePct, 0, 100),
		percent("destination_reserve_pct", r.DestReservePct, 0, 100),
		percent("highest_soc_pct", r.CeilingPct, 1, 100),
		percent("confidence_pct", r.ConfidencePct, 0, 100*MostConfidence),
		percent("home_soc_pct", r.HomeSoCPct, 0, 100))
	if r.FallbackFloorPct != nil {
		err = firstFault(err, percent("fallback_floor_pct", *r.FallbackFloorPct, 0, 100))
	}
	return err
}

// limits checks what an objective or a limit cannot be without.
func (r *Request) limits() error {
	if r.MostStops != nil && (*r.MostStops < 1 || *r.MostStops > 1000) {
		return &fault.Input{Field: "most_stops", Found: strconv.Itoa(*r.MostStops), Expected: "1 to 1000 stops, or nothing for no limit"}
	}
	if goals[r.Best] == stops.TimeAndMoney && r.HourWorth == 0 {
		return &fault.Input{Field: "hour_worth", Found: "0", Expected: "what an hour is worth, more than 0, to balance time and money"}
	}
	return nil
}

func firstFault(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

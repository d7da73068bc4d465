package question

import (
	"cmp"

	"ampleway/energy"
	"ampleway/route"
)

// The headings under which questions stand, in their order.
const (
	Battery  Group = "Battery and reserve"
	Aim      Group = "What counts"
	Day      Group = "The day"
	Weather  Group = "Weather and road"
	Return   Group = "And back"
	Driving  Group = "Driving"
	Car      Group = "Load and car"
	Home     Group = "The night before, at home"
	Stations Group = "Stations"
)

// Groups are all headings in their order.
var Groups = []Group{Battery, Aim, Day, Weather, Return, Driving, Car, Home, Stations}

// Question is everything that can be asked about one drive besides its road,
// the stations and the car. Its fields are the rows of the table; New has the
// defaults, and a decoder that starts from it keeps those that a file leaves
// out. An absent pointer means that nothing was said.
type Question struct {
	LeaveWithPct     float64  `json:"leave_with_pct" yaml:"leave_with_pct"`
	ReservePct       float64  `json:"reserve_pct" yaml:"reserve_pct"`
	ArriveWithPct    float64  `json:"arrive_with_pct" yaml:"arrive_with_pct"`
	ChargeToPct      float64  `json:"charge_to_pct" yaml:"charge_to_pct"`
	ConfidencePct    float64  `json:"confidence_pct" yaml:"confidence_pct"`
	Fallback         string   `json:"fallback,omitempty" yaml:"fallback"`
	FallbackFloorPct *float64 `json:"fallback_floor_pct,omitempty" yaml:"fallback_floor_pct"`

	Best               string   `json:"best" yaml:"best"`
	HourWorth          float64  `json:"hour_worth,omitempty" yaml:"hour_worth"`
	StopWorthMin       float64  `json:"stop_worth_min" yaml:"stop_worth_min"`
	MostStops          *int     `json:"most_stops,omitempty" yaml:"most_stops"`
	UnknownPricePerKWh *float64 `json:"unknown_price_per_kwh,omitempty" yaml:"unknown_price_per_kwh"`
	Rate               []string `json:"rate,omitempty" yaml:"rate"`
	FuelCar            string   `json:"fuel_car,omitempty" yaml:"fuel_car"`

	Depart     string  `json:"depart,omitempty" yaml:"depart"`
	ArriveBy   string  `json:"arrive_by,omitempty" yaml:"arrive_by"`
	Meal       string  `json:"meal,omitempty" yaml:"meal"`
	HomePlug   string  `json:"home_plug,omitempty" yaml:"home_plug"`
	HomeSoCPct float64 `json:"home_soc_pct" yaml:"home_soc_pct"`
	HomeFrom   string  `json:"home_from,omitempty" yaml:"home_from"`
	CheapHours string  `json:"cheap_hours,omitempty" yaml:"cheap_hours"`

	TempC       float64  `json:"temp_c" yaml:"temp_c"`
	TempByHour  string   `json:"temp_by_hour,omitempty" yaml:"temp_by_hour"`
	WindKMH     float64  `json:"wind_kmh" yaml:"wind_kmh"`
	WindFromDeg *float64 `json:"wind_from_deg,omitempty" yaml:"wind_from_deg"`
	Surface     string   `json:"surface" yaml:"surface"`
	RainMMPerH  float64  `json:"rain_mm_per_h,omitempty" yaml:"rain_mm_per_h"`

	SpeedCapKMH     *float64 `json:"speed_cap_kmh,omitempty" yaml:"speed_cap_kmh"`
	UnknownSpeedKMH float64  `json:"unknown_speed_kmh" yaml:"unknown_speed_kmh"`

	PayloadKg         float64  `json:"payload_kg" yaml:"payload_kg"`
	Carry             []string `json:"carry,omitempty" yaml:"carry"`
	WinterTyres       bool     `json:"winter_tyres,omitempty" yaml:"winter_tyres"`
	BatteryHealthPct  float64  `json:"battery_health_pct" yaml:"battery_health_pct"`
	ConsumptionFactor float64  `json:"consumption_factor" yaml:"consumption_factor"`
	NoClimate         bool     `json:"no_climate,omitempty" yaml:"no_climate"`
	CabinReady        bool     `json:"cabin_ready,omitempty" yaml:"cabin_ready"`
	BatteryTempC      *float64 `json:"battery_temp_c,omitempty" yaml:"battery_temp_c"`
	WarmBattery       bool     `json:"warm_battery,omitempty" yaml:"warm_battery"`

	HalfWidthKM    float64  `json:"half_width_km" yaml:"half_width_km"`
	DetourFactor   float64  `json:"detour_factor" yaml:"detour_factor"`
	DetourSpeedKMH float64  `json:"detour_speed_kmh" yaml:"detour_speed_kmh"`
	SetupMin       float64  `json:"setup_min" yaml:"setup_min"`
	LeastPowerKW   float64  `json:"least_power_kw" yaml:"least_power_kw"`
	PowerBetween   []string `json:"power_between,omitempty" yaml:"power_between"`
	Only           []string `json:"only,omitempty" yaml:"only"`
	Avoid          []string `json:"avoid,omitempty" yaml:"avoid"`
	Must           []string `json:"must,omitempty" yaml:"must"`
	Connector      []string `json:"connector,omitempty" yaml:"connector"`
	Adapter        []string `json:"adapter,omitempty" yaml:"adapter"`
	AC             bool     `json:"ac,omitempty" yaml:"ac"`
	CustomerSites  bool     `json:"customer_sites,omitempty" yaml:"customer_sites"`
	NoAssumedPower bool     `json:"no_assumed_power,omitempty" yaml:"no_assumed_power"`
	BaysBusy       bool     `json:"bays_busy,omitempty" yaml:"bays_busy"`
	StartName      string   `json:"start_name,omitempty" yaml:"start_name"`
	EndName        string   `json:"end_name,omitempty" yaml:"end_name"`

	Back            bool     `json:"back,omitempty" yaml:"back"`
	Stay            []string `json:"stay,omitempty" yaml:"stay"`
	BackTempC       *float64 `json:"back_temp_c,omitempty" yaml:"back_temp_c"`
	BackWindKMH     *float64 `json:"back_wind_kmh,omitempty" yaml:"back_wind_kmh"`
	BackWindFromDeg *float64 `json:"back_wind_from_deg,omitempty" yaml:"back_wind_from_deg"`
}

// WayBack is the question of the way back: its own weather where that was
// given, and the ends the other way round.
func (q Question) WayBack() Question {
	for _, own := range []struct{ given, to *float64 }{{q.BackTempC, &q.TempC}, {q.BackWindKMH, &q.WindKMH}} {
		if own.given != nil {
			*own.to = *own.given
		}
	}
	if q.BackTempC != nil {
		q.TempByHour = ""
	}
	if q.BackWindFromDeg != nil {
		q.WindFromDeg = q.BackWindFromDeg
	}
	q.StartName, q.EndName = q.EndName, cmp.Or(q.StartName, "home")
	return q
}

// New has the defaults, from which everything that plans starts: a mild,
// still, dry day, leaving with 90 %, a reserve of 10 % kept with a confidence
// of 95 %, least time. They are common practice of a careful driver.
func New() Question {
	return Question{
		LeaveWithPct: 90, ReservePct: 10, ArriveWithPct: 10, ChargeToPct: 100, ConfidencePct: 95,
		Best: "time", StopWorthMin: 5,
		HomeSoCPct: 30, HomeFrom: "18:00",
		TempC: 20, Surface: string(energy.Dry),
		UnknownSpeedKMH: 3.6 * route.DefaultSpeedMS, BatteryHealthPct: 100, ConsumptionFactor: 1,
		HalfWidthKM: 5, DetourFactor: 1.4, DetourSpeedKMH: 40, SetupMin: 5,
	}
}

var compass = []Choice{{"0", "north"}, {"45", "north-east"}, {"90", "east"}, {"135", "south-east"}, {"180", "south"}, {"225", "south-west"}, {"270", "west"}, {"315", "north-west"}}

// homePlugs are the household outlet and the usual breakers of a 240 V circuit.
var homePlugs = []Choice{{"", "no"}, {"level1", "household outlet"}, {"level2:20", "240 V, 20 A breaker"}, {"level2:30", "240 V, 30 A breaker"},
	{"level2:40", "240 V, 40 A breaker"}, {"level2:50", "240 V, 50 A breaker"}, {"level2:60", "240 V, 60 A breaker"}}

var rows = []Row{
	{Key: "leave_with_pct", Unit: Percent, Max: 100, Group: Battery, Slide: &Slide{0, 100, 1},
		Label: "Leave with", Help: "state of charge at departure", Field: func(q *Question) any { return &q.LeaveWithPct }},
	{Key: "reserve_pct", Unit: Percent, Max: 100, Group: Battery, Slide: &Slide{0, 60, 1},
		Label: "Reserve on the way", Help: "least state of charge on the road and on reaching a stop", Field: func(q *Question) any { return &q.ReservePct }},
	{Key: "arrive_with_pct", Unit: Percent, Max: 100, Group: Battery, Slide: &Slide{0, 90, 1},
		Label: "Arrive with at least", Help: "least state of charge at the destination; on a command line the reserve, where only that is given", Field: func(q *Question) any { return &q.ArriveWithPct }},
	{Key: "charge_to_pct", Unit: Percent, Min: 1, Max: 100, Group: Battery,
		Label: "Charge no further than", Help: "charge no further than this at a stop", Field: func(q *Question) any { return &q.ChargeToPct }},
	{Key: "confidence_pct", Unit: Percent, Max: 99.9, Group: Battery,
		Label: "Confidence", Help: "plan so that every reserve holds with this probability although consumption strays; 0 plans by the estimate alone", Field: func(q *Question) any { return &q.ConfidencePct }},
	{Key: "fallback", Group: Battery, Choices: []Choice{{"", "shown"}, {"shown", "shown"}, {"required", "required"}},
		Label: "Another station for each stop", Help: "another station for each stop; required reaches every stop with enough left for it", Field: func(q *Question) any { return &q.Fallback }},
	{Key: "fallback_floor_pct", Unit: Percent, Max: 100, Group: Battery,
		Label: "Reach that station with", Help: "least state of charge on reaching that other station", Usual: "5, or the reserve where that is less", Field: func(q *Question) any { return &q.FallbackFloorPct }},

	{Key: "best", Group: Aim, Choices: []Choice{{"time", "the least time"}, {"cost", "the least money"}, {"balance", "time and money, at what an hour is worth"}, {"fewest-stops", "the fewest stops"}},
		Label: "What counts", Help: "what counts; balance weighs time and money by what an hour is worth", Field: func(q *Question) any { return &q.Best }},
	{Key: "hour_worth", Max: 1e6, Group: Aim,
		Label: "An hour is worth", Help: "what an hour is worth in the stations' currency, for balance", Field: func(q *Question) any { return &q.HourWorth }},
	{Key: "stop_worth_min", Unit: Minutes, Max: 1440, Group: Aim,
		Label: "One stop fewer is worth", Help: "one stop fewer may take so much longer; 0 counts the clock alone", Field: func(q *Question) any { return &q.StopWorthMin }},
	{Key: "most_stops", Min: 1, Max: 1000, Group: Aim,
		Label: "Most stops", Help: "at most so many stops", Usual: "no limit", Field: func(q *Question) any { return &q.MostStops }},
	{Key: "unknown_price_per_kwh", Unit: PerKWh, Max: 1e6, Group: Aim,
		Label: "Default price", Help: "price of a kWh where none is known, when cost counts", Usual: "no stop there", Field: func(q *Question) any { return &q.UnknownPricePerKWh }},
	{Key: "rate", Group: Aim, Example: "JPY=0.0061EUR",
		Label: "Rates of exchange", Help: "what a unit of another currency is worth, so that money in several can be compared", Field: func(q *Question) any { return &q.Rate }},
	{Key: "fuel_car", Group: Aim, Example: "6.8 l/100km 1.72",
		Label: "A fuel car to compare", Help: "what a fuel car takes and what its fuel costs, to compare the cost of the road", Field: func(q *Question) any { return &q.FuelCar }},

	{Key: "depart", Group: Day, Example: "2026-12-24T08:30",
		Label: "Departure", Help: "time of departure, with an offset if it is not in this machine's time zone", Field: func(q *Question) any { return &q.Depart }},
	{Key: "arrive_by", Group: Day, Example: "2026-12-24T18:00",
		Label: "Arrive by", Help: "wanted time of arrival instead of a departure: the plan leaves as late as it can", Field: func(q *Question) any { return &q.ArriveBy }},
	{Key: "meal", Group: Day, Example: "12:00-13:30 45m",
		Label: "A meal at a stop", Help: "a rest at a charger, begun in these hours, for at least so long", Field: func(q *Question) any { return &q.Meal }},

	{Key: "temp_c", Unit: Celsius, Min: -60, Max: 60, Group: Weather, Slide: &Slide{-30, 45, 1},
		Label: "Outside temperature", Help: "outside temperature", Field: func(q *Question) any { return &q.TempC }},
	{Key: "temp_by_hour", Group: Weather, Example: "06:00=-3,14:30=4,22:00=-5", FromUS: celsiusByHour,
		Label: "Temperature by the hour", Help: "outside temperature by the clock instead of one figure, linear between the times given, or 24 figures; needs a departure or an arrival", Field: func(q *Question) any { return &q.TempByHour }},
	{Key: "wind_kmh", Unit: KMPerHour, Max: 200, Group: Weather, Slide: &Slide{0, 100, 5},
		Label: "Wind", Help: "wind speed as a forecast gives it, 10 m above open ground", Field: func(q *Question) any { return &q.WindKMH }},
	{Key: "wind_from_deg", Unit: Degrees, Min: -360, Max: 360, Group: Weather, Suggest: compass, Names: Bearing,
		Label: "Wind from the", Help: "where the wind comes from, a point of the compass or degrees", Usual: "head wind along the whole road", Field: func(q *Question) any { return &q.WindFromDeg }},
	{Key: "surface", Group: Weather, Choices: []Choice{{"dry", "dry"}, {"wet", "wet"}, {"standing-water", "standing water"}, {"snow", "snow"}, {"slush", "slush"}},
		Label: "Road surface", Help: "state of the road", Field: func(q *Question) any { return &q.Surface }},
	{Key: "rain_mm_per_h", Unit: MMPerHour, Max: 40, Group: Weather, Slide: &Slide{0, 40, 1},
		Label: "Rain", Help: "how hard it rains; the water costs energy, and the speed is not lowered for it", Field: func(q *Question) any { return &q.RainMMPerH }},

	{Key: "back", Group: Return,
		Label: "Plan the way back too", Help: "plan the way back too, on the same road", Field: func(q *Question) any { return &q.Back }},
	{Key: "stay", Group: Return, Example: "6h level2:40",
		Label: "Stay at the end of a drive", Help: "time at the end of a drive and what to plug into, one after each route but the last; plugs are none, level1, level2:BREAKER (amps), level2:BREAKERx3 (three phases) and dc:KW", Field: func(q *Question) any { return &q.Stay }},
	{Key: "back_temp_c", Unit: Celsius, Min: -60, Max: 60, Group: Return,
		Label: "Outside temperature on the way back", Help: "outside temperature on the way back", Usual: "the same", Field: func(q *Question) any { return &q.BackTempC }},
	{Key: "back_wind_kmh", Unit: KMPerHour, Max: 200, Group: Return,
		Label: "Wind on the way back", Help: "wind speed on the way back", Usual: "the same", Field: func(q *Question) any { return &q.BackWindKMH }},
	{Key: "back_wind_from_deg", Unit: Degrees, Min: -360, Max: 360, Group: Return, Suggest: compass, Names: Bearing,
		Label: "Wind on the way back from the", Help: "where the wind comes from on the way back", Usual: "the same", Field: func(q *Question) any { return &q.BackWindFromDeg }},

	{Key: "speed_cap_kmh", Unit: KMPerHour, Min: 20, Max: 300, Group: Driving,
		Label: "No faster than", Help: "drive no faster than this", Usual: "as fast as the road allows", Field: func(q *Question) any { return &q.SpeedCapKMH }},
	{Key: "unknown_speed_kmh", Unit: KMPerHour, Min: 5, Max: 200, Group: Driving,
		Label: "Speed where the route does not say", Help: "speed where the route does not say", Field: func(q *Question) any { return &q.UnknownSpeedKMH }},

	{Key: "payload_kg", Unit: Kilograms, Max: 5000, Group: Car,
		Label: "People besides the driver, and luggage", Help: "passengers besides the driver, and luggage", Field: func(q *Question) any { return &q.PayloadKg }},
	{Key: "carry", Group: Car, Example: "roof box",
		Label: "The car carries or tows", Help: "something that the car carries or tows, as its car file names it", Field: func(q *Question) any { return &q.Carry }},
	{Key: "winter_tyres", Group: Car,
		Label: "Winter tyres", Help: "the car is on winter tyres", Field: func(q *Question) any { return &q.WinterTyres }},
	{Key: "battery_health_pct", Unit: Percent, Min: 20, Max: 100, Group: Car,
		Label: "Battery health", Help: "usable energy of the battery, of what it had when new", Field: func(q *Question) any { return &q.BatteryHealthPct }},
	{Key: "consumption_factor", Min: 0.3, Max: 3, Group: Car,
		Label: "Your consumption over the model's", Help: "your own consumption over the model's: 1.05 is 5 % more", Field: func(q *Question) any { return &q.ConsumptionFactor }},
	{Key: "no_climate", Group: Car,
		Label: "No heating or cooling", Help: "no heating or cooling of the cabin", Field: func(q *Question) any { return &q.NoClimate }},
	{Key: "cabin_ready", Group: Car,
		Label: "Cabin warmed or cooled before the start", Help: "the cabin is warmed or cooled on the outlet before the start", Field: func(q *Question) any { return &q.CabinReady }},
	{Key: "battery_temp_c", Unit: Celsius, Min: -40, Max: 60, Group: Car,
		Label: "Battery temperature at departure", Help: "temperature of the battery at departure", Usual: "as the air", Field: func(q *Question) any { return &q.BatteryTempC }},
	{Key: "warm_battery", Group: Car,
		Label: "The car warms its battery for charging", Help: "the car warms its battery on the way to a charger", Field: func(q *Question) any { return &q.WarmBattery }},

	{Key: "home_plug", Group: Home, Suggest: homePlugs,
		Label: "Plugged in at home", Help: "charging at home the night before, level1, level1:BREAKER or level2:BREAKER; what to leave with is then what is wanted", Field: func(q *Question) any { return &q.HomePlug }},
	{Key: "home_soc_pct", Unit: Percent, Max: 100, Group: Home,
		Label: "Battery on plugging in", Help: "state of charge on plugging in at home", Field: func(q *Question) any { return &q.HomeSoCPct }},
	{Key: "home_from", Group: Home, Example: "18:00",
		Label: "Plugged in at", Help: "time of plugging in at home", Field: func(q *Question) any { return &q.HomeFrom }},
	{Key: "cheap_hours", Group: Home, Example: "23:00-06:00",
		Label: "Cheap hours", Help: "hours in which electricity at home is cheap", Field: func(q *Question) any { return &q.CheapHours }},

	{Key: "half_width_km", Unit: Kilometres, Min: 0.01, Max: 50, Group: Stations,
		Label: "Stations off the road by at most", Help: "how far off the road a station may lie", Field: func(q *Question) any { return &q.HalfWidthKM }},
	{Key: "detour_factor", Min: 1, Max: 10, Group: Stations,
		Label: "Way by road over the straight line", Help: "road distance over great-circle distance to a station", Field: func(q *Question) any { return &q.DetourFactor }},
	{Key: "detour_speed_kmh", Unit: KMPerHour, Min: 5, Max: 200, Group: Stations,
		Label: "Speed off the road", Help: "speed off the road", Field: func(q *Question) any { return &q.DetourSpeedKMH }},
	{Key: "setup_min", Unit: Minutes, Max: 240, Group: Stations,
		Label: "Minutes to park, plug in and pay", Help: "time at a stop to park, plug in and pay", Field: func(q *Question) any { return &q.SetupMin }},
	{Key: "least_power_kw", Unit: Kilowatts, Max: 4000, Group: Stations,
		Label: "Bays of at least", Help: "use bays of at least this power", Field: func(q *Question) any { return &q.LeastPowerKW }},
	{Key: "power_between", Group: Stations, Comma: true, Example: "50-149",
		Label: "Power between", Help: "use bays in these ranges of kW", Field: func(q *Question) any { return &q.PowerBetween }},
	{Key: "only", Group: Stations, Example: "Orrelund Road Board",
		Label: "Only", Help: "use this operator or network only", Field: func(q *Question) any { return &q.Only }},
	{Key: "avoid", Group: Stations, Example: "Orrelund Road Board",
		Label: "Avoid", Help: "do not use this operator, network or station ID", Field: func(q *Question) any { return &q.Avoid }},
	{Key: "must", Group: Stations, Example: "ORR033",
		Label: "Stop at", Help: "stop at the station with this ID", Field: func(q *Question) any { return &q.Must }},
	{Key: "connector", Group: Stations, Comma: true, Example: "CCS2",
		Label: "Connectors", Help: "connectors that the car accepts, instead of the car's own", Field: func(q *Question) any { return &q.Connector }},
	{Key: "adapter", Group: Stations, Example: "CHAdeMO=CCS2,50",
		Label: "Adapters on board", Help: "an adapter on board, STATION-PLUG=CAR-INLET, with its limit in kW where it has one", Field: func(q *Question) any { return &q.Adapter }},
	{Key: "ac", Group: Stations,
		Label: "Also slow (AC) charging on the way", Help: "also charge at AC stations on the way", Field: func(q *Question) any { return &q.AC }},
	{Key: "customer_sites", Group: Stations,
		Label: "Also stations for customers", Help: "also use stations for customers or guests", Field: func(q *Question) any { return &q.CustomerSites }},
	{Key: "no_assumed_power", Group: Stations,
		Label: "Only stations whose power is known", Help: "leave out stations whose power is not in the data", Field: func(q *Question) any { return &q.NoAssumedPower }},
	{Key: "bays_busy", Group: Stations,
		Label: "Count with every bay in use", Help: "where bays share power, count with all of them in use", Field: func(q *Question) any { return &q.BaysBusy }},
	{Key: "start_name", Group: Stations, Label: "Name of the start", Help: "what to call the start", Field: func(q *Question) any { return &q.StartName }},
	{Key: "end_name", Group: Stations, Label: "Name of the destination", Help: "what to call the destination", Field: func(q *Question) any { return &q.EndName }},
}

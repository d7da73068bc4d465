package main

import (
	"fmt"
	"strconv"

	"ampleway/route/trip"

	"github.com/spf13/pflag"
)

// requestFlags are the options that fill a trip.Request, for every command
// that plans.
func requestFlags(f *pflag.FlagSet, r *trip.Request) {
	f.Float64Var(&r.DepartSoCPct, "leave-with", r.DepartSoCPct, "state of charge at departure, %")
	f.Float64Var(&r.ReservePct, "reserve", r.ReservePct, "least state of charge on the road and on reaching a stop, %")
	f.Float64Var(&r.DestReservePct, "arrive-with", r.DestReservePct, "least state of charge at the destination, % (the reserve, if only that is given)")
	f.Float64Var(&r.CeilingPct, "charge-to", r.CeilingPct, "charge no further than this at a stop, %")
	f.StringVar(&r.Best, "best", r.Best, "what counts: time, cost, balance (see --hour-worth) or fewest-stops")
	f.Float64Var(&r.HourWorth, "hour-worth", r.HourWorth, "what an hour is worth, in the stations' currency, for --best balance")
	f.Var(optionalFloat{&r.UnknownPricePerKWh}, "unknown-price", "price of a kWh where none is known, when cost counts (default: no stop there)")
	f.StringArrayVar(&r.Rates, "rate", r.Rates, "what a unit of another currency is worth, so that money in several can be compared: JPY=0.0061EUR (repeatable)")
	f.StringVar(&r.FuelCar, "fuel-car", r.FuelCar, "compare the cost with a fuel car on the same road: its consumption and the price of fuel, \"6.8 l/100km 1.72\" or \"32 mpg 3.40 USD\"")
	f.Var(optionalInt{&r.MostStops}, "most-stops", "at most so many stops (default: no limit)")
	f.Float64Var(&r.StopWorthMin, "stop-worth", r.StopWorthMin, "one stop fewer may take so many minutes longer; few bays or assumed power count more; 0: only the clock counts")
	f.Float64Var(&r.ConfidencePct, "confidence", r.ConfidencePct, "plan so that every reserve holds with this probability although consumption strays, %; 0: by the estimate alone")
	f.StringVar(&r.Fallback, "fallback", r.Fallback, "another station for each stop: shown, or required: reach every stop with enough left for it")
	f.Var(optionalFloat{&r.FallbackFloorPct}, "fallback-floor", "least state of charge on reaching that other station, % (default 5, or the reserve if less)")
	f.StringVar(&r.DepartAt, "depart", r.DepartAt, "time of departure: 2026-12-24T08:30, with an offset if not this machine's zone")
	f.StringVar(&r.ArriveBy, "arrive-by", r.ArriveBy, "wanted time of arrival, instead of --depart: the plan leaves as late as it can")
	f.StringVar(&r.Meal, "meal", r.Meal, "a rest at a charger, begun in these hours, for at least so long: \"12:00-13:30 45m\"")
	f.StringVar(&r.HomePlug, "home", r.HomePlug, "charging at home the night before: level1, level1:BREAKER or level2:BREAKER; --leave-with is what is wanted")
	f.Float64Var(&r.HomeSoCPct, "home-soc", r.HomeSoCPct, "state of charge on plugging in at home, %")
	f.StringVar(&r.HomeFrom, "home-from", r.HomeFrom, "time of plugging in at home")
	f.StringVar(&r.CheapHours, "cheap-hours", r.CheapHours, "hours in which electricity at home is cheap: 23:00-06:00")

	f.Float64Var(&r.TempC, "temp", r.TempC, "air temperature, °C")
	f.StringVar(&r.TempByHour, "temp-by-hour", r.TempByHour, "air temperature by the clock, °C, instead of --temp: \"06:00=-3,14:30=4,22:00=-5\", linear between, or 24 values; needs --depart or --arrive-by")
	f.Float64Var(&r.WindKMH, "wind", r.WindKMH, "wind speed as a forecast gives it, km/h")
	f.Var(bearing{optionalFloat{&r.WindFromDeg}}, "wind-from", "where the wind comes from: N, SSW ... or degrees (default: head wind along the whole road)")
	f.StringVar(&r.Surface, "surface", r.Surface, "state of the road: dry, wet, puddly, snow or slush")
	f.BoolVar(&r.WinterTyres, "winter-tyres", r.WinterTyres, "the car is on winter tyres")
	f.Float64Var(&r.PayloadKg, "payload", r.PayloadKg, "passengers besides the driver, and luggage, kg")
	f.StringArrayVar(&r.Extras, "carry", r.Extras, "something the car carries or tows, as its car file names it: \"roof box\" (repeatable)")
	f.Float64Var(&r.HealthPct, "battery-health", r.HealthPct, "usable energy left of a new battery, %")
	f.Float64Var(&r.UserFactor, "consumption", r.UserFactor, "your own consumption over the model's: 1.05 is 5 % more")
	f.Var(optionalFloat{&r.SpeedCapKMH}, "speed-cap", "drive no faster than this, km/h")
	f.Float64Var(&r.DefaultKMH, "unknown-speed", r.DefaultKMH, "speed where the route does not say, km/h")
	f.BoolVar(&r.ClimateOff, "no-climate", r.ClimateOff, "no heating or cooling of the cabin")
	f.BoolVar(&r.CabinReady, "cabin-ready", r.CabinReady, "the cabin is warmed or cooled on the outlet before the start")
	f.Var(optionalFloat{&r.PackTempC}, "battery-temp", "battery temperature at departure, °C (default: as the air)")
	f.BoolVar(&r.WarmBattery, "warm-battery", r.WarmBattery, "the car warms its battery on the way to a charger")

	f.Float64Var(&r.HalfWidthKM, "half-width", r.HalfWidthKM, "how far off the road a station may lie, km")
	f.Float64Var(&r.DetourFactor, "detour-factor", r.DetourFactor, "road distance over great-circle distance to a station")
	f.Float64Var(&r.DetourKMH, "detour-speed", r.DetourKMH, "speed off the road, km/h")
	f.Float64Var(&r.OverheadMin, "stop-setup", r.OverheadMin, "minutes at a stop to park, plug in and pay")
	f.Float64Var(&r.LeastPowerKW, "least-power", r.LeastPowerKW, "use stalls of at least this power, kW")
	f.StringSliceVar(&r.PowerClasses, "power-class", r.PowerClasses, "use stalls in these ranges of kW: 50-149,150-")
	f.StringArrayVar(&r.Only, "only", r.Only, "use this operator or network only (repeatable)")
	f.StringArrayVar(&r.Avoid, "avoid", r.Avoid, "do not use this operator, network or station ID (repeatable)")
	f.StringArrayVar(&r.Must, "must", r.Must, "stop at the station with this ID (repeatable)")
	f.StringSliceVar(&r.Connectors, "connector", r.Connectors, "connectors the car accepts, instead of the car's own: CCS2,CHAdeMO")
	f.StringArrayVar(&r.Adapters, "adapter", r.Adapters, "an adapter on board: STATION-PLUG=CAR-INLET, with its limit in kW: CHAdeMO=CCS2,50 (repeatable)")
	f.BoolVar(&r.AC, "ac", r.AC, "also charge at AC stations on the way")
	f.BoolVar(&r.ForCustomers, "customer-sites", r.ForCustomers, "also use stations for customers or guests")
	f.BoolVar(&r.NoAssumedPower, "no-assumed-power", r.NoAssumedPower, "leave out stations whose power is not in the data")
	f.BoolVar(&r.StallsBusy, "stalls-busy", r.StallsBusy, "where stalls share power, count with all of them in use")
}

// keepGiven puts base under what the command line gave: the flags that were
// set keep their values, all others take base's.
func keepGiven(f *pflag.FlagSet, r *trip.Request, base trip.Request) error {
	type given struct {
		flag *pflag.Flag
		text string
		list []string
	}
	var all []given
	f.Visit(func(flag *pflag.Flag) {
		g := given{flag: flag, text: flag.Value.String()}
		if list, ok := flag.Value.(pflag.SliceValue); ok {
			g.list = list.GetSlice()
		}
		all = append(all, g)
	})
	*r = base
	for _, g := range all {
		var err error
		if list, ok := g.flag.Value.(pflag.SliceValue); ok {
			err = list.Replace(g.list)
		} else {
			err = again(g.flag, g.text)
		}
		if err != nil {
			return fmt.Errorf("--%s: %w", g.flag.Name, err)
		}
	}
	return nil
}

// reserveAlone lets --reserve stand for the destination too, unless that was
// given its own.
func reserveAlone(f *pflag.FlagSet, r *trip.Request) {
	if f.Changed("reserve") && !f.Changed("arrive-with") {
		r.DestReservePct = r.ReservePct
	}
}

// optionalFloat is a number that may be absent.
type optionalFloat struct{ to **float64 }

func (o optionalFloat) String() string {
	if o.to == nil || *o.to == nil {
		return ""
	}
	return strconv.FormatFloat(**o.to, 'g', -1, 64)
}

func (o optionalFloat) Set(text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return fmt.Errorf("%q is not a number", text)
	}
	*o.to = &v
	return nil
}

func (o optionalFloat) Type() string { return "number" }

// bearing is a direction in degrees that may be absent, and may be given as a
// point of the compass.
type bearing struct{ optionalFloat }

func (b bearing) Set(text string) error {
	deg, err := trip.ParseBearing(text)
	if err != nil {
		return err
	}
	*b.to = &deg
	return nil
}

func (b bearing) Type() string { return "direction" }

// optionalInt is a whole number that may be absent.
type optionalInt struct{ to **int }

func (o optionalInt) String() string {
	if o.to == nil || *o.to == nil {
		return ""
	}
	return strconv.Itoa(**o.to)
}

func (o optionalInt) Set(text string) error {
	v, err := strconv.Atoi(text)
	if err != nil {
		return fmt.Errorf("%q is not a whole number", text)
	}
	*o.to = &v
	return nil
}

func (o optionalInt) Type() string { return "int" }

package year

import (
	"io"
	"slices"

	"ampleway/data/settings"
)

// File is a file of households, with what it holds besides them.
type File struct {
	Note       string               `yaml:"note"`
	Households map[string]Household `yaml:"households"`
	Tariffs    map[string]Tariff    `yaml:"tariffs"` // nil: those of another file
	Climate    *Climate             `yaml:"climate"` // nil: that of another file
}

// Household is a home with its cars and a year's journeys.
type Household struct {
	Home     string   `yaml:"home"` // a place of the climate; empty: the one that the climate is for
	Tariff   string   `yaml:"tariff"`
	Circuit  *Circuit `yaml:"circuit"` // nil: no charging at home
	Cars     []Car    `yaml:"cars"`
	Stations []string `yaml:"stations"` // station files for the journeys
	Trips    []Trip   `yaml:"trips"`
	Fuel     *FuelCar `yaml:"fuel_car"`
}

// Circuit is where the cars are charged at home: all of them share its
// current. Ways cars can be plugged in at once, 0 being one.
type Circuit struct {
	VoltageV float64 `yaml:"voltage_v"`
	BreakerA float64 `yaml:"breaker_a"`
	Phases   int     `yaml:"phases"`
	Ways     int     `yaml:"ways"`
}

// Car is one car of a household and its ordinary week.
type Car struct {
	Class     string             `yaml:"class"`     // a built-in car or a car file
	Connector []string           `yaml:"connector"` // plugs that fit, instead of those of the class
	HomeFrom  string             `yaml:"home_from"`
	HomeUntil string             `yaml:"home_until"`
	DailyKM   map[string]float64 `yaml:"daily_km"` // mo, tu, we, th, fr, sa, su
	RoadKMH   float64            `yaml:"road_kmh"`
}

// Trip is a journey there and back, made once or several times. Its road is a
// corridor of the demo, a route file or a distance.
type Trip struct {
	Name       string  `yaml:"name"`
	Corridor   string  `yaml:"corridor"`
	Route      string  `yaml:"route"`
	DistanceKM float64 `yaml:"distance_km"` // one way, driven on the level at RoadKMH
	RoadKMH    float64 `yaml:"road_kmh"`
	Car        int     `yaml:"car"`   // from 1; 0: the first
	Month      int     `yaml:"month"` // 0: Times journeys spread over the year
	Times      int     `yaml:"times"` // 0: once
	StayDays   int     `yaml:"stay_days"`
	Plug       string  `yaml:"plug"` // at the destination, as trip.ParsePlug reads it; empty: none
}

// FuelCar is what the same driving is compared with. Of each pair one is given.
type FuelCar struct {
	LitresPer100KM float64 `yaml:"litres_per_100km"`
	MilesPerGallon float64 `yaml:"miles_per_gallon"` // US gallons
	PricePerLitre  float64 `yaml:"price_per_litre"`
	PricePerGallon float64 `yaml:"price_per_gallon"` // US gallons
	Currency       string  `yaml:"currency"`
}

// Tariff is what electricity costs at home.
type Tariff struct {
	Currency string   `yaml:"currency"`
	PerDay   float64  `yaml:"per_day"` // paid with or without a car, so not counted
	PerKWh   *float64 `yaml:"per_kwh"`
	Periods  []Period `yaml:"periods"`
}

// Period is another price on some days between two times of day.
type Period struct {
	Days   string   `yaml:"days"` // as opening_hours writes them: Mo-Fr
	From   string   `yaml:"from"`
	To     string   `yaml:"to"`
	PerKWh *float64 `yaml:"per_kwh"`
}

// Climate is the weather of a place by month, and of others near it at other
// heights.
type Climate struct {
	Note        string             `yaml:"note"`
	Place       string             `yaml:"place"`
	ElevationM  float64            `yaml:"elevation_m"`
	Others      map[string]float64 `yaml:"others"` // places with the same weather but for their elevations, m
	LapseCPerKM float64            `yaml:"lapse_c_per_km"`
	Months      []Month            `yaml:"months"`
}

// Month is the mean weather of one month.
type Month struct {
	Month       int      `yaml:"month"`
	NightC      *float64 `yaml:"night_c"`
	DayC        *float64 `yaml:"day_c"`
	WindKMH     float64  `yaml:"wind_kmh"`
	WindFromDeg float64  `yaml:"wind_from_deg"`
	WetShare    float64  `yaml:"wet_share"`
	SunWM2      float64  `yaml:"sun_w_per_m2"`
}

// ReadHouseholds reads a file of households. Errors are *fault.Input.
func ReadHouseholds(r io.Reader, name string) (*File, error) {
	var f File
	if err := settings.Read(r, name, "a file of households", &f); err != nil {
		return nil, err
	}
	for of, h := range f.Households {
		if err := h.check(place{name, "household " + of}); err != nil {
			return nil, err
		}
	}
	if err := checkTariffs(f.Tariffs, name); err != nil || f.Climate == nil {
		return &f, err
	}
	return &f, f.Climate.settle(place{name, "climate"})
}

// ReadTariffs reads a file of tariffs by name. Errors are *fault.Input.
func ReadTariffs(r io.Reader, name string) (map[string]Tariff, error) {
	var file struct {
		Note    string            `yaml:"note"`
		Tariffs map[string]Tariff `yaml:"tariffs"`
	}
	if err := settings.Read(r, name, "a file of tariffs", &file); err != nil {
		return nil, err
	}
	return file.Tariffs, checkTariffs(file.Tariffs, name)
}

// ReadClimate reads a file of the weather by month. Errors are *fault.Input.
func ReadClimate(r io.Reader, name string) (*Climate, error) {
	var c Climate
	if err := settings.Read(r, name, "a climate file", &c); err != nil {
		return nil, err
	}
	return &c, c.settle(place{name, ""})
}

// settle puts the months in order and checks everything.
func (c *Climate) settle(at place) error {
	slices.SortFunc(c.Months, func(a, b Month) int { return a.Month - b.Month })
	return c.check(at)
}

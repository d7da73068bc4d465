package year

import (
	"fmt"
	"io"
	"slices"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

// Household is a home with its cars and a year's journeys.
type Household struct {
	Home    string   `yaml:"home" json:"home"`
	Tariff  string   `yaml:"tariff" json:"tariff"`
	Circuit *Circuit `yaml:"circuit" json:"circuit,omitempty"` // nil: no charging at home
	Cars    []Car    `yaml:"cars" json:"cars"`
	Trips   []Trip   `yaml:"trips" json:"trips,omitempty"`
	Fuel    *FuelCar `yaml:"fuel_car" json:"fuel_car,omitempty"`
}

// Circuit is where the cars are charged at home. Ways cars can be plugged in
// at once and share its current.
type Circuit struct {
	VoltageV float64 `yaml:"voltage_v" json:"voltage_v"`
	BreakerA float64 `yaml:"breaker_a" json:"breaker_a"`
	Phases   int     `yaml:"phases" json:"phases,omitempty"`
	Ways     int     `yaml:"ways" json:"ways,omitempty"`
}

// Car is one car of a household and its ordinary week.
type Car struct {
	Class     string             `yaml:"class" json:"class"` // a built-in car or a car file
	HomeFrom  string             `yaml:"home_from" json:"home_from"`
	HomeUntil string             `yaml:"home_until" json:"home_until"`
	DailyKM   map[string]float64 `yaml:"daily_km" json:"daily_km"` // mo, tu, we, th, fr, sa, su
	RoadKMH   float64            `yaml:"road_kmh" json:"road_kmh"`
}

// Trip is a journey there and back.
type Trip struct {
	Corridor string `yaml:"corridor" json:"corridor,omitempty"` // of the demo
	Route    string `yaml:"route" json:"route,omitempty"`       // a route file instead
	Car      int    `yaml:"car" json:"car"`                     // from 1
	Month    int    `yaml:"month" json:"month"`
	StayDays int    `yaml:"stay_days" json:"stay_days"`
	Plug     string `yaml:"plug" json:"plug,omitempty"` // at the destination, as trip.ParsePlug reads it; empty: none
}

// FuelCar is what the same driving is compared with.
type FuelCar struct {
	LitresPer100KM float64 `yaml:"litres_per_100km" json:"litres_per_100km"`
	PricePerLitre  float64 `yaml:"price_per_litre" json:"price_per_litre"`
	Currency       string  `yaml:"currency" json:"currency"`
}

// Tariff is what electricity costs at home.
type Tariff struct {
	Currency string   `yaml:"currency" json:"currency"`
	PerDay   float64  `yaml:"per_day" json:"per_day,omitempty"` // paid with or without a car, so not counted
	PerKWh   float64  `yaml:"per_kwh" json:"per_kwh"`
	Periods  []Period `yaml:"periods" json:"periods,omitempty"`
}

// Period is another price on some days between two times of day.
type Period struct {
	Days   string  `yaml:"days" json:"days,omitempty"` // as opening_hours writes them: Mo-Fr
	From   string  `yaml:"from" json:"from"`
	To     string  `yaml:"to" json:"to"`
	PerKWh float64 `yaml:"per_kwh" json:"per_kwh"`
}

// Climate is the weather of the home by month.
type Climate struct {
	Note        string  `yaml:"note" json:"note,omitempty"`
	Place       string  `yaml:"place" json:"place"`
	ElevationM  float64 `yaml:"elevation_m" json:"elevation_m"`
	LapseCPerKM float64 `yaml:"lapse_c_per_km" json:"lapse_c_per_km"`
	Months      []Month `yaml:"months" json:"months"`
}

// Month is the mean weather of one month.
type Month struct {
	Month       int     `yaml:"month" json:"month"`
	NightC      float64 `yaml:"night_c" json:"night_c"`
	DayC        float64 `yaml:"day_c" json:"day_c"`
	WindKMH     float64 `yaml:"wind_kmh" json:"wind_kmh"`
	WindFromDeg float64 `yaml:"wind_from_deg" json:"wind_from_deg"`
	WetShare    float64 `yaml:"wet_share" json:"wet_share"`
	SunWM2      float64 `yaml:"sun_w_per_m2" json:"sun_w_per_m2"`
}

// ReadHouseholds reads a file of households by name, and its note.
func ReadHouseholds(r io.Reader, name string) (map[string]Household, string, error) {
	var file struct {
		Note       string               `yaml:"note"`
		Households map[string]Household `yaml:"households"`
	}
	err := settings.Read(r, name, "a file of households", &file)
	return file.Households, file.Note, err
}

// ReadTariffs reads a file of tariffs by name.
func ReadTariffs(r io.Reader, name string) (map[string]Tariff, error) {
	var file struct {
		Note    string            `yaml:"note"`
		Tariffs map[string]Tariff `yaml:"tariffs"`
	}
	err := settings.Read(r, name, "a file of tariffs", &file)
	return file.Tariffs, err
}

// ReadClimate reads a file of the weather by month: all twelve of them.
func ReadClimate(r io.Reader, name string) (*Climate, error) {
	var c Climate
	if err := settings.Read(r, name, "a climate file", &c); err != nil {
		return nil, err
	}
	slices.SortFunc(c.Months, func(a, b Month) int { return a.Month - b.Month })
	for i := range 12 {
		if len(c.Months) != 12 || c.Months[i].Month != i+1 {
			return nil, &fault.Input{File: name, Field: "months", Found: fmt.Sprintf("%d months", len(c.Months)), Expected: "each month from 1 to 12 once"}
		}
	}
	return &c, nil
}

package year_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/route/year"
)

// inputs are those of a demo household.
func inputs(t testing.TB, name string) *year.Inputs {
	t.Helper()
	in, note, err := year.Names{Household: name, Year: 2026}.Inputs()
	if err != nil || !strings.Contains(note, "Invented") || !in.MedianPrice {
		t.Fatalf("%v, %q, %+v", err, note, in)
	}
	return in
}

// The energy of every household's year closes, in every way it is compared,
// and home charging is worth having.
func TestYearCloses(t *testing.T) {
	for _, name := range []string{"outlet in the shed", "wall charger", "two cars on one feed"} {
		r, err := year.Work(inputs(t, name))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for way, result := range map[string]float64{"home": r.Home.ImbalanceKWh, "another circuit": r.Others[0].ImbalanceKWh, "fast only": r.FastOnly.ImbalanceKWh} {
			if math.Abs(result) > 0.1 {
				t.Errorf("%s, %s: %.3f kWh do not close", name, way, result)
			}
		}
		home, fastOnly := r.Home.Total(), r.FastOnly.Total()
		if home.HomeShare() < 0.5 {
			t.Errorf("%s: only %.0f %% comes from home", name, 100*home.HomeShare())
		}
		if home.Cost() >= fastOnly.Cost() || home.FastH >= fastOnly.FastH {
			t.Errorf("%s: home charging costs %.0f and %.0f h, none %.0f and %.0f h", name, home.Cost(), home.FastH, fastOnly.Cost(), fastOnly.FastH)
		}
		if home.FastVisits > 0 {
			t.Errorf("%s: %d fast stops besides those of the journeys", name, home.FastVisits)
		}
		for _, j := range r.Journeys {
			if j := j.Total(); j.ArriveSoC < 0.0999 {
				t.Errorf("%s: a journey comes home with %.3f, under the reserve", name, j.ArriveSoC)
			}
		}
	}
}

// What a journey charges on the way and what the home puts back is what its
// drives took.
func TestJourneysClose(t *testing.T) {
	in := inputs(t, "wall charger")
	r, err := year.Work(in)
	if err != nil {
		t.Fatal(err)
	}
	for i, j := range r.Journeys {
		driven := 0.0
		for _, p := range j.Runs[0].Visit.Plans {
			driven += p.DrivenKWh
		}
		trip := r.Simulate.Trips[i]
		if math.Abs(trip.HomeKWh+trip.FastKWh-driven) > 0.01 {
			t.Errorf("%s: %.2f kWh from home and %.2f on the way for %.2f driven", j.Name, trip.HomeKWh, trip.FastKWh, driven)
		}
		capacity := in.Cars[0].UsableKWh
		if want := (1 - j.Runs[0].ArriveSoC) * capacity; math.Abs(trip.HomeKWh-want) > 0.01 {
			t.Errorf("%s: %.2f kWh from home, but the battery is down by %.2f", j.Name, trip.HomeKWh, want)
		}
	}
}

// Consumption follows the season, as common practice has it: the coldest month
// needs clearly more than the mildest.
func TestSeasons(t *testing.T) {
	r, err := year.Work(inputs(t, "wall charger"))
	if err != nil {
		t.Fatal(err)
	}
	month := r.Simulate.Cars[0].KWhPer100Km
	if ratio := month[0] / month[6]; ratio < 1.1 || ratio > 1.8 {
		t.Errorf("January needs %.2f times July's energy", ratio)
	}
}

func TestBrokenFiles(t *testing.T) {
	for name, c := range map[string]struct {
		read func(io.Reader) error
		text string
		says string
	}{
		"unknown key":    {households, "households:\n  a:\n    garage: big\n", "garage"},
		"not yaml":       {households, "\x00\x01", "keys with values"},
		"a list":         {households, "- 1\n- 2\n", "keys with values"},
		"no car":         {households, "households: {a: {}}", "household a, cars: found none"},
		"eleven months":  {climate, "place: X\nmonths:\n  - {month: 1}\n", "each month"},
		"a month twice":  {climate, "place: X\nmonths: [" + strings.Repeat("{month: 1},", 12) + "]", "each month"},
		"no place":       {climate, "months: []", "place: found nothing"},
		"no temperature": {climate, months("night_c: 1"), "month 1, day_c: found nothing: expected -60 to 60 °C"},
		"no climate":     {households, "households: {}\nclimate: {place: X}", "climate, months: found 0 months"},
		"no price":       {tariffs, "tariffs: {a: {currency: EUR}}", "tariff a, per_kwh: found nothing"},
		"no currency":    {tariffs, "tariffs: {a: {per_kwh: 1}}", "tariff a, currency: found nothing"},
		"bad hour":       {tariffs, "tariffs: {a: {currency: EUR, per_kwh: 1, periods: [{from: 25:00, to: '1:00'}]}}", "tariff a, period 1, from: found 25:00"},
		"text for price": {tariffs, "tariffs:\n  a: {per_kwh: cheap}\n", "per_kwh: found cheap: expected a number"},
		"too long":       {tariffs, strings.Repeat("#", 2<<20), "1 MiB"},
	} {
		err := c.read(strings.NewReader(c.text))
		var input *fault.Input
		if !errors.As(err, &input) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "file.yaml") {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func households(r io.Reader) error { _, err := year.ReadHouseholds(r, "file.yaml"); return err }
func tariffs(r io.Reader) error    { _, err := year.ReadTariffs(r, "file.yaml"); return err }
func climate(r io.Reader) error    { _, err := year.ReadClimate(r, "file.yaml"); return err }

// months are twelve with the same weather.
func months(weather string) string {
	text := "place: X\nmonths:\n"
	for m := range 12 {
		text += fmt.Sprintf("  - {month: %d, %s}\n", m+1, weather)
	}
	return text
}

// A home that lies higher is colder by the lapse; one that the climate does
// not know is refused with the file and the places that are known.
func TestHomes(t *testing.T) {
	c, err := year.ReadClimate(strings.NewReader("lapse_c_per_km: 6.5\nelevation_m: 100\nothers: {Hill: 1100}\n"+months("night_c: 2, day_c: 10")), "file.yaml")
	if err != nil {
		t.Fatal(err)
	}
	hill, err := c.At("hill", "file.yaml")
	if err != nil || *hill.Months[6].NightC != -4.5 || *hill.Months[6].DayC != 3.5 || hill.ElevationM != 1100 || *c.Months[6].DayC != 10 {
		t.Errorf("%v, %+v", err, hill)
	}
	var input *fault.Input
	if _, err = c.At("Elsewhere", "file.yaml"); !errors.As(err, &input) || input.File != "file.yaml" || input.Found != "Elsewhere" || !strings.Contains(input.Expected, "X or Hill") {
		t.Errorf("%v", err)
	}
}

// A mile on a gallon, by the exact definitions of both (NIST Handbook 44):
// 1 mpg is 235.215 l/100 km.
func TestFuel(t *testing.T) {
	us := year.FuelCar{MilesPerGallon: 31, PricePerGallon: 3.60}
	if got := us.LitresPer100(); math.Abs(got-235.2145833/31) > 1e-6 {
		t.Errorf("31 mpg are %g l/100 km", got)
	}
	if got := us.PerLitre(); math.Abs(got-0.951019) > 1e-6 {
		t.Errorf("3.60 a gallon are %g a litre", got)
	}
	back := year.FuelCar{LitresPer100KM: us.LitresPer100(), PricePerLitre: us.PerLitre()}
	if math.Abs(back.MPG()-31) > 1e-9 || math.Abs(back.PerGallon()-3.60) > 1e-9 {
		t.Errorf("and back %g mpg at %g", back.MPG(), back.PerGallon())
	}
}

func TestBadFigures(t *testing.T) {
	for name, change := range map[string]func(*year.Inputs){
		"no such weekday": func(in *year.Inputs) { in.Household.Cars[0].DailyKM = map[string]float64{"monday": 3} },
		"time of day":     func(in *year.Inputs) { in.Household.Cars[0].HomeFrom = "25:00" },
		"speed":           func(in *year.Inputs) { in.Household.Cars[0].RoadKMH = 0 },
		"trip's car":      func(in *year.Inputs) { in.Household.Trips[0].Car = 3 },
		"trip's month":    func(in *year.Inputs) { in.Household.Trips[0].Month = 13 },
		"trip's times":    func(in *year.Inputs) { in.Household.Trips[0].Times = 49 },
		"too many in one": func(in *year.Inputs) { in.Household.Trips[0].Times = 6 },
		"two roads":       func(in *year.Inputs) { in.Household.Trips[0].DistanceKM = 100 },
		"fuel's currency": func(in *year.Inputs) { in.Household.Fuel.Currency = "USD" },
		"tariff's":        func(in *year.Inputs) { in.Tariff.Currency = "USD" },
		"circuit":         func(in *year.Inputs) { in.Household.Circuit.VoltageV = 24 },
		"trip's stay":     func(in *year.Inputs) { in.Household.Trips[0].StayDays = -1 },
		"trip's plug":     func(in *year.Inputs) { in.Household.Trips[0].Plug = "level9" },
		"tariff's days":   func(in *year.Inputs) { in.Tariff.Periods[0].Days = "every" },
		"tariff's hours":  func(in *year.Inputs) { in.Tariff.Periods[0].To = "late" },
	} {
		in := inputs(t, "wall charger")
		change(in)
		_, err := year.Work(in)
		var input *fault.Input
		if !errors.As(err, &input) {
			t.Errorf("%s: error %v, want a *fault.Input", name, err)
		}
	}
}

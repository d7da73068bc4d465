package year_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/read"
	"ampleway/route/year"
	"ampleway/stations"
	"ampleway/stations/open"
)

// inputs are those of a demo household.
func inputs(t testing.TB, name string) *year.Inputs {
	t.Helper()
	households, note, err := year.ReadHouseholds(bytes.NewReader(data.Households()), "demo")
	if err != nil || !strings.Contains(note, "Invented") {
		t.Fatalf("%v, note %q", err, note)
	}
	tariffs, err := year.ReadTariffs(bytes.NewReader(data.Tariffs()), "demo")
	if err != nil {
		t.Fatal(err)
	}
	climate, err := year.ReadClimate(bytes.NewReader(data.Climate()), "demo")
	if err != nil {
		t.Fatal(err)
	}
	h, ok := households[name]
	if !ok {
		t.Fatalf("no household %q", name)
	}
	in := &year.Inputs{Name: name, Household: h, Tariff: tariffs[h.Tariff], Climate: climate, Year: 2026}
	for _, c := range h.Cars {
		in.Cars = append(in.Cars, car(t, c.Class))
	}
	for _, j := range h.Trips {
		in.Routes = append(in.Routes, road(t, j.Corridor))
	}
	sites, _, err := open.Read(bytes.NewReader(data.Stations()), "demo", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Index = stations.NewIndex(stations.Sites(sites))
	in.Fast.PerKWh, ok = year.MedianFastPrice(in.Index.Set(), in.Tariff.Currency)
	if !ok {
		t.Fatal("no fast charger has a price")
	}
	return in
}

func car(t testing.TB, class string) *energy.Car {
	t.Helper()
	file, text, ok := cars.File(class)
	if !ok {
		t.Fatalf("no car %q", class)
	}
	c, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func road(t testing.TB, corridor string) *route.Route {
	t.Helper()
	text, err := data.Corridor(corridor)
	if err != nil {
		t.Fatal(err)
	}
	r, err := read.Read(bytes.NewReader(text), corridor, read.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The energy of every household's year closes, in every way it is compared,
// and home charging is worth having.
func TestYearCloses(t *testing.T) {
	for _, name := range []string{"outlet in the shed", "wall charger", "two cars on one feed"} {
		r, err := year.Work(inputs(t, name))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for way, result := range map[string]float64{"home": r.Home.ImbalanceKWh, "level 1": r.Level1.ImbalanceKWh, "fast only": r.FastOnly.ImbalanceKWh} {
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
		for _, j := range r.Journeys {
			if j.ArriveSoC < 0.0999 {
				t.Errorf("%s: %s comes home with %.3f, under the reserve", name, j.Name, j.ArriveSoC)
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
		for _, p := range j.Visit.Plans {
			driven += p.DrivenKWh
		}
		trip := r.Simulate.Trips[i]
		if math.Abs(trip.HomeKWh+trip.FastKWh-driven) > 0.01 {
			t.Errorf("%s: %.2f kWh from home and %.2f on the way for %.2f driven", j.Name, trip.HomeKWh, trip.FastKWh, driven)
		}
		capacity := in.Cars[0].UsableKWh
		if want := (1 - j.ArriveSoC) * capacity; math.Abs(trip.HomeKWh-want) > 0.01 {
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
		"eleven months":  {climate, "months:\n  - {month: 1}\n", "each month"},
		"a month twice":  {climate, "months: [" + strings.Repeat("{month: 1},", 12) + "]", "each month"},
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

func households(r io.Reader) error { _, _, err := year.ReadHouseholds(r, "file.yaml"); return err }
func tariffs(r io.Reader) error    { _, err := year.ReadTariffs(r, "file.yaml"); return err }
func climate(r io.Reader) error    { _, err := year.ReadClimate(r, "file.yaml"); return err }

func TestBadFigures(t *testing.T) {
	for name, change := range map[string]func(*year.Inputs){
		"no such weekday": func(in *year.Inputs) { in.Household.Cars[0].DailyKM = map[string]float64{"monday": 3} },
		"time of day":     func(in *year.Inputs) { in.Household.Cars[0].HomeFrom = "25:00" },
		"speed":           func(in *year.Inputs) { in.Household.Cars[0].RoadKMH = 0 },
		"trip's car":      func(in *year.Inputs) { in.Household.Trips[0].Car = 3 },
		"trip's month":    func(in *year.Inputs) { in.Household.Trips[0].Month = 13 },
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

package load

import (
	"bytes"
	"io"
	"os"
	"slices"
	"strings"

	"ampleway/data"
	"ampleway/data/fault"
	"ampleway/route/year"
	"ampleway/stations/open"
)

// Year names what a year is worked out from. Empty names are the demo's.
type Year struct {
	Households string // file of households
	Household  string // which of them
	Tariffs    string
	Climate    string
	Stations   []string
	Year       int
	FastPrice  float64 // of a kWh at a fast charger on ordinary days; 0: the median of the stations
}

// DemoHousehold is the household that is shown when none is named.
const DemoHousehold = "wall charger"

// Inputs reads it all. note says so where the household is invented.
func (y Year) Inputs() (in *year.Inputs, note string, err error) {
	in = &year.Inputs{Year: y.Year}
	households, note, err := readOr(y.Households, data.Households, year.ReadHouseholds)
	if err != nil {
		return nil, "", err
	}
	if in.Household, in.Name, err = pick(households, y.Household, DemoHousehold, "household"); err != nil {
		return nil, "", err
	}
	tariffs, _, err := readOr(y.Tariffs, data.Tariffs, func(r io.Reader, name string) (map[string]year.Tariff, string, error) {
		t, err := year.ReadTariffs(r, name)
		return t, "", err
	})
	if err != nil {
		return nil, "", err
	}
	if in.Tariff, _, err = pick(tariffs, in.Household.Tariff, "", "tariff"); err != nil {
		return nil, "", err
	}
	if in.Climate, _, err = readOr(y.Climate, data.Climate, func(r io.Reader, name string) (*year.Climate, string, error) {
		c, err := year.ReadClimate(r, name)
		return c, "", err
	}); err != nil {
		return nil, "", err
	}
	for _, c := range in.Household.Cars {
		car, err := Car(c.Class)
		if err != nil {
			return nil, "", err
		}
		in.Cars = append(in.Cars, car)
	}
	return in, note, y.roads(in)
}

func (y Year) roads(in *year.Inputs) (err error) {
	for _, t := range in.Household.Trips {
		path := t.Route
		if path == "" {
			path = "demo:" + t.Corridor
		}
		r, err := Route([]string{path})
		if err != nil {
			return err
		}
		in.Routes = append(in.Routes, r)
	}
	files := y.Stations
	if len(files) == 0 {
		files = []string{"demo"}
	}
	if in.Index, _, err = Stations(files, open.Options{}); err != nil {
		return err
	}
	if in.Fast.PerKWh = y.FastPrice; y.FastPrice == 0 {
		in.Fast.PerKWh, _ = year.MedianFastPrice(in.Index.Set(), in.Tariff.Currency)
	}
	return nil
}

// readOr parses a file, or the demo's where no file is named.
func readOr[T any](path string, demo func() []byte, parse func(io.Reader, string) (T, string, error)) (T, string, error) {
	if path == "" {
		return parse(bytes.NewReader(demo()), "demo")
	}
	var none T
	f, err := os.Open(path)
	if err != nil {
		return none, "", &fault.Input{File: path, Err: err}
	}
	defer f.Close()
	return parse(f, path)
}

// pick finds a name among others; without one it takes other, or the only one.
func pick[T any](all map[string]T, name, other, what string) (T, string, error) {
	names := make([]string, 0, len(all))
	for n := range all {
		names = append(names, n)
	}
	slices.Sort(names)
	if _, ok := all[other]; name == "" && ok {
		name = other
	}
	if name == "" && len(names) == 1 {
		name = names[0]
	}
	found, ok := all[name]
	if !ok {
		return found, name, &fault.Input{Field: what, Found: name, Expected: "one of " + strings.Join(names, ", ")}
	}
	return found, name, nil
}

package load

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/year"
	"ampleway/stations"
	"ampleway/stations/open"
)

// Year names what a year is worked out from. Empty names are the demo's where
// the household is the demo's.
type Year struct {
	Households string // file of households
	Household  string // which of them
	Tariffs    string
	Climate    string
	Stations   []string
	Year       int
	Rates      []string // what prices in other currencies are worth: "JPY=0.0061EUR"
	FastPrice  *float64 // of a kWh at a fast charger on ordinary days; nil: the median of the stations
}

// DemoHousehold is the household that is shown when none is named.
const DemoHousehold = "wall charger"

const demoFile = "demo"

// Inputs reads it all. note is that of the file of households.
func (y Year) Inputs() (in *year.Inputs, note string, err error) {
	in = &year.Inputs{Year: y.Year, File: y.Households}
	file, err := readOr(y.Households, data.Households, year.ReadHouseholds)
	if err != nil {
		return nil, "", err
	}
	if in.Household, in.Name, err = pick(file.Households, y.Household, DemoHousehold, y.Households, "household"); err != nil {
		return nil, "", err
	}
	for _, read := range []func(*year.Inputs, *year.File) error{y.tariff, y.climate, y.carsAndRoads, y.stations, y.fastPrice} {
		if err := read(in, file); err != nil {
			return nil, "", err
		}
	}
	return in, file.Note, nil
}

func (y Year) carsAndRoads(in *year.Inputs, _ *year.File) error {
	for _, c := range in.Household.Cars {
		car, err := y.car(c.Class)
		if err != nil {
			return err
		}
		in.Cars = append(in.Cars, car)
	}
	for _, t := range in.Household.Trips {
		r, err := y.road(t)
		if err != nil {
			return err
		}
		in.Routes = append(in.Routes, r)
	}
	return nil
}

func (y Year) tariff(in *year.Inputs, of *year.File) (err error) {
	own, file := of.Tariffs, y.Households
	if y.Tariffs != "" || own == nil {
		file = y.Tariffs
		if own, err = readOr(y.Tariffs, data.Tariffs, year.ReadTariffs); err != nil {
			return err
		}
	}
	in.Tariff, _, err = pick(own, in.Household.Tariff, "", file, "tariff")
	return err
}

// climate finds the weather of the home.
func (y Year) climate(in *year.Inputs, of *year.File) (err error) {
	own, file := of.Climate, y.Households
	if y.Climate != "" || own == nil {
		file, in.Invented = y.Climate, y.Climate == ""
		if own, err = readOr(y.Climate, data.Climate, year.ReadClimate); err != nil {
			return err
		}
	}
	if in.Climate, err = own.At(in.Household.Home, cmp.Or(file, demoFile)); err != nil && in.Invented {
		err = &fault.Input{
			File: y.Households, Where: "household " + in.Name, Field: "home", Found: in.Household.Home,
			Expected: "its weather, in a file named with --climate or under climate in this file; or " + strings.Join(own.Places(), " or ") + ", or no home at all, to take the weather of the demo, an invented place",
		}
	}
	return err
}

// beside is where a file named in the file of households lies.
func (y Year) beside(name string) string {
	if name == "-" || name == demoFile || filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(y.Households), name)
}

func (y Year) car(class string) (*energy.Car, error) {
	if !slices.Contains(cars.Names(), class) {
		class = y.beside(class)
	}
	return Car(class)
}

// road is a trip's route; nil where it is only a distance.
func (y Year) road(t year.Trip) (*route.Route, error) {
	switch {
	case t.Route != "":
		return Route([]string{y.beside(t.Route)})
	case t.Corridor != "":
		return Route([]string{"demo:" + t.Corridor})
	}
	return nil, nil
}

// stations are those of the command line, else those that the household names,
// else the demo's if all its roads are.
func (y Year) stations(in *year.Inputs, _ *year.File) (err error) {
	files := y.Stations
	if len(files) == 0 {
		for _, name := range in.Household.Stations {
			files = append(files, y.beside(name))
		}
	}
	if len(files) == 0 {
		for i, t := range in.Household.Trips {
			if t.Route != "" {
				return &fault.Input{File: in.File, Where: "household " + in.Name, Field: "stations", Found: "none for the journey along " + in.Routes[i].Name, Expected: "station files, here or with --stations"}
			}
		}
		if y.Households != "" && !slices.ContainsFunc(in.Household.Trips, func(t year.Trip) bool { return t.Corridor != "" }) {
			in.Index = stations.NewIndex(stations.Sites(nil))
			return nil
		}
		files = []string{demoFile}
	}
	in.Index, in.Notes, err = Stations(files, open.Options{})
	return err
}

// fastPrice sets the price of a kWh at a fast charger on ordinary days.
func (y Year) fastPrice(in *year.Inputs, _ *year.File) (err error) {
	if in.Rates, err = money.ParseRates(y.Rates); err != nil {
		return err
	}
	if y.FastPrice != nil {
		if !(*y.FastPrice >= 0 && *y.FastPrice <= 1e6) {
			return &fault.Input{Field: "--fast-price", Found: fmt.Sprint(*y.FastPrice), Expected: "0 or more, in " + in.Tariff.Currency}
		}
		in.Fast.PerKWh = *y.FastPrice
		return nil
	}
	return in.UseMedianFastPrice()
}

// readOr parses a file, or the demo's where no file is named.
func readOr[T any](path string, demo func() []byte, parse func(io.Reader, string) (T, error)) (T, error) {
	if path == "" {
		return parse(bytes.NewReader(demo()), demoFile)
	}
	var none T
	f, err := os.Open(path)
	if err != nil {
		return none, &fault.Input{File: path, Err: err}
	}
	defer f.Close()
	return parse(f, path)
}

// pick finds a name among those of a file; without one it takes other, or the
// only one.
func pick[T any](all map[string]T, name, other, file, what string) (T, string, error) {
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
		if file == "" {
			file = demoFile
		}
		expected := "one of " + strings.Join(names, ", ")
		if len(names) == 0 {
			expected = "at least one in the file"
		}
		return found, name, &fault.Input{File: file, Field: what, Found: quoted(name), Expected: expected}
	}
	return found, name, nil
}

func quoted(name string) string {
	if name == "" {
		return "nothing"
	}
	return name
}

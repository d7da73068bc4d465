package year

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"ampleway/data"
	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/stations"
	"ampleway/stations/open"
)

// Names are those of what a year is worked out from. Empty ones are the demo's
// where the household is the demo's.
type Names struct {
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

// The kinds of files that a year is worked out from.
var (
	householdFiles = input.BuiltIn("a file of households", "", data.Households)
	tariffFiles    = input.BuiltIn("a file of tariffs", "", data.Tariffs)
	climateFiles   = input.BuiltIn("a climate file", "", data.Climate)
)

// Inputs reads it all. note is that of the file of households.
func (n Names) Inputs() (in *Inputs, note string, err error) {
	in = &Inputs{Year: n.Year, File: n.Households}
	file, err := input.Read(input.Here, householdFiles, n.Households, ReadHouseholds)
	if err != nil {
		return nil, "", err
	}
	if in.Household, in.Name, err = pick(file.Households, n.Household, DemoHousehold, n.Households, "household"); err != nil {
		return nil, "", err
	}
	for _, read := range []func(*Inputs, *File) error{n.tariff, n.climate, n.carsAndRoads, n.stations, n.fastPrice} {
		if err := read(in, file); err != nil {
			return nil, "", err
		}
	}
	return in, file.Note, nil
}

func (n Names) carsAndRoads(in *Inputs, _ *File) error {
	for _, c := range in.Household.Cars {
		car, err := n.beside().Car(c.Class)
		if err != nil {
			return err
		}
		in.Cars = append(in.Cars, car)
	}
	for _, t := range in.Household.Trips {
		r, err := n.road(t)
		if err != nil {
			return err
		}
		in.Routes = append(in.Routes, r)
	}
	return nil
}

func (n Names) tariff(in *Inputs, of *File) (err error) {
	own, file := of.Tariffs, n.Households
	if n.Tariffs != "" || own == nil {
		file = n.Tariffs
		if own, err = input.Read(input.Here, tariffFiles, n.Tariffs, ReadTariffs); err != nil {
			return err
		}
	}
	in.Tariff, _, err = pick(own, in.Household.Tariff, "", file, "tariff")
	return err
}

// climate finds the weather of the home.
func (n Names) climate(in *Inputs, of *File) (err error) {
	own, file := of.Climate, n.Households
	if n.Climate != "" || own == nil {
		file, in.Invented = n.Climate, n.Climate == ""
		if own, err = input.Read(input.Here, climateFiles, n.Climate, ReadClimate); err != nil {
			return err
		}
	}
	if in.Climate, err = own.At(in.Household.Home, cmp.Or(file, input.Demo)); err != nil && in.Invented {
		err = &fault.Input{
			File: n.Households, Where: "household " + in.Name, Field: "home", Found: in.Household.Home,
			Expected: "its weather, in a file named with --climate or under climate in this file; or " + strings.Join(own.Places(), " or ") + ", or no home at all, to take the weather of the demo, an invented place",
		}
	}
	return err
}

// beside is where names in the file of households begin.
func (n Names) beside() input.Folder { return input.Folder(filepath.Dir(n.Households)) }

// road is a trip's route; nil where it is only a distance.
func (n Names) road(t Trip) (*route.Route, error) {
	switch {
	case t.Route != "":
		return n.beside().Route(t.Route)
	case t.Corridor != "":
		return n.beside().Route(input.Demo + ":" + t.Corridor)
	}
	return nil, nil
}

// stations are those of the command line, else those that the household names,
// else the demo's if all its roads are.
func (n Names) stations(in *Inputs, _ *File) (err error) {
	folder, files := input.Here, n.Stations
	if len(files) == 0 {
		folder, files = n.beside(), in.Household.Stations
	}
	if len(files) == 0 {
		for i, t := range in.Household.Trips {
			if t.Route != "" {
				return &fault.Input{File: in.File, Where: "household " + in.Name, Field: "stations", Found: "none for the journey along " + in.Routes[i].Name, Expected: "station files, here or with --stations"}
			}
		}
		if n.Households != "" && !slices.ContainsFunc(in.Household.Trips, func(t Trip) bool { return t.Corridor != "" }) {
			in.Index = stations.NewIndex(stations.Sites(nil))
			return nil
		}
		files = []string{input.Demo}
	}
	network, err := folder.Stations(context.Background(), files, open.Options{}, "")
	in.Index, in.Notes = network.Index, network.Notes()
	return err
}

// fastPrice sets the price of a kWh at a fast charger on ordinary days.
func (n Names) fastPrice(in *Inputs, _ *File) (err error) {
	if in.Rates, err = money.ParseRates(n.Rates); err != nil {
		return err
	}
	if n.FastPrice != nil {
		if !(*n.FastPrice >= 0 && *n.FastPrice <= 1e6) {
			return &fault.Input{Field: "--fast-price", Found: fmt.Sprint(*n.FastPrice), Expected: "0 or more, in " + in.Tariff.Currency}
		}
		in.Fast.PerKWh = *n.FastPrice
		return nil
	}
	return in.UseMedianFastPrice()
}

// pick finds a name among those of a file; without one it takes other, or the
// only one.
func pick[T any](all map[string]T, name, other, file, what string) (T, string, error) {
	names := slices.Sorted(maps.Keys(all))
	if _, ok := all[other]; name == "" && ok {
		name = other
	}
	if name == "" && len(names) == 1 {
		name = names[0]
	}
	found, ok := all[name]
	if !ok {
		if file == "" {
			file = input.Demo
		}
		expected := "one of " + strings.Join(names, ", ")
		if len(names) == 0 {
			expected = "at least one in the file"
		}
		return found, name, &fault.Input{File: file, Field: what, Found: orNothing(name), Expected: expected}
	}
	return found, name, nil
}

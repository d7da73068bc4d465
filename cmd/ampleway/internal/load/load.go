// Package load turns the names on a command line into a route, an index of
// stations and a car: files, standard input, built-in cars, or the demo.
package load

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"

	"github.com/goccy/go-yaml"
)

// Routes reads route files. "-" is standard input, "demo:NAME" a corridor of
// the demo.
func Routes(paths []string) ([]*route.Route, error) {
	routes := make([]*route.Route, len(paths))
	for i, path := range paths {
		r, err := oneRoute(path)
		if err != nil {
			return nil, err
		}
		routes[i] = r
	}
	return routes, nil
}

// Route reads route files and drives them one after the other.
func Route(paths []string) (*route.Route, error) {
	routes, err := Routes(paths)
	if err != nil {
		return nil, err
	}
	return route.Join(routes...)
}

func oneRoute(path string) (*route.Route, error) {
	name, demo := strings.CutPrefix(path, "demo:")
	if !demo {
		return read.File(path, read.Options{})
	}
	text, err := data.Corridor(name)
	if err != nil {
		return nil, &fault.Input{File: path, Found: name, Expected: "one of " + strings.Join(data.Corridors(), ", ")}
	}
	return read.Read(bytes.NewReader(text), name, read.Options{})
}

// Stations reads station files into one index. "demo" is the demo's stations.
// The reports say what was left out; notes says so in a sentence a file.
func Stations(paths []string, o open.Options) (*stations.Index, []string, error) {
	all, notes, err := sites(paths, o)
	return stations.NewIndex(all), notes, err
}

// StationsNow is Stations with the status of live records, from a file or URL
// in OCPI form, laid over them.
func StationsNow(ctx context.Context, paths []string, o open.Options, status string) (*stations.Index, []string, error) {
	all, notes, err := sites(paths, o)
	if err != nil || status == "" {
		return stations.NewIndex(all), notes, err
	}
	live, err := Status(ctx, status)
	if err != nil {
		return nil, notes, err
	}
	matched := stations.ApplyStatus(all, live)
	notes = append(notes, fmt.Sprintf("%s: the status of %d of %d stations is known", status, matched, len(all)))
	return stations.NewIndex(all), notes, nil
}

func sites(paths []string, o open.Options) (stations.Sites, []string, error) {
	var all stations.Sites
	var notes []string
	for _, path := range paths {
		sites, report, err := oneStations(path, o)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, sites...)
		if report.RejectCount > 0 {
			notes = append(notes, fmt.Sprintf("%s: %d of %d records cannot be used (ampleway stations check %s lists them)", path, report.RejectCount, report.Records, path))
		}
	}
	return all, notes, nil
}

func oneStations(path string, o open.Options) ([]stations.Site, *open.Report, error) {
	if path == "demo" {
		return open.Read(bytes.NewReader(data.Stations()), "demo", o)
	}
	return open.ReadFile(path, o)
}

// Car returns a built-in car by its name, or reads a car file.
func Car(name string) (*energy.Car, error) {
	if file, text, ok := cars.File(name); ok {
		return energy.ReadCar(bytes.NewReader(text), file)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, &fault.Input{File: "car", Found: name, Expected: "a car file, or one of the built-in cars: " + strings.Join(cars.Names(), ", ")}
	}
	defer f.Close()
	return energy.ReadCar(f, name)
}

// Demo is the trip that is planned when nothing else is asked for.
type Demo struct {
	Note         string `yaml:"note"`
	Corridor     string `yaml:"corridor"`
	Stations     string `yaml:"stations"`
	Car          string `yaml:"car"`
	trip.Request `yaml:",inline"`
}

// DemoTrip reads the demo trip on top of the defaults.
func DemoTrip() (Demo, error) {
	d := Demo{Request: trip.NewRequest()}
	err := yaml.UnmarshalWithOptions(data.Trip(), &d, yaml.Strict())
	return d, err
}

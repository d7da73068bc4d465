// Package load turns the names on a command line into a route, an index of
// stations and a car: files, standard input, built-in cars, or the demo.
package load

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/sitefiles"
	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/data/settings"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/stations"
	"ampleway/stations/open"
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

// Stations reads station files, published ones or snapshots, into one index;
// records of several files that mean one site are merged. "demo" is the demo's
// stations. The notes say what was left out and what was taken for granted.
func Stations(paths []string, o open.Options) (*stations.Index, []string, error) {
	if slices.Contains(paths, "demo") {
		return merged(paths, o, nil)
	}
	index, reports, err := sitefiles.Index(paths, o)
	return index, sitefiles.Notes(reports), err
}

// StationsNow is Stations with the status of live records, from a file or URL
// in OCPI form, laid over them.
func StationsNow(ctx context.Context, paths []string, o open.Options, status string) (*stations.Index, []string, error) {
	if status == "" {
		return Stations(paths, o)
	}
	live, err := Status(ctx, status)
	if err != nil {
		return nil, nil, err
	}
	return merged(paths, o, live)
}

func merged(paths []string, o open.Options, live []stations.Site) (*stations.Index, []string, error) {
	sites, reports, err := demoOrFiles(paths, o)
	if err != nil {
		return nil, nil, err
	}
	notes := sitefiles.Notes(reports)
	if live != nil {
		notes = append(notes, fmt.Sprintf("the live status of %d of %d stations is known", stations.ApplyStatus(sites, live), len(sites)))
	}
	return stations.NewIndex(stations.Sites(stations.MergeRule{}.Merge(sites))), notes, nil
}

func demoOrFiles(paths []string, o open.Options) ([]stations.Site, []*open.Report, error) {
	files := slices.DeleteFunc(slices.Clone(paths), func(path string) bool { return path == "demo" })
	sites, reports, err := sitefiles.Read(files, o)
	if err != nil || len(files) == len(paths) {
		return sites, reports, err
	}
	demo, report, err := open.Read(bytes.NewReader(data.Stations()), "demo", o)
	return append(demo, sites...), append(reports, report), err
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
	Note              string `yaml:"note"`
	Corridor          string `yaml:"corridor"`
	Stations          string `yaml:"stations"`
	Car               string `yaml:"car"`
	question.Question `yaml:",inline"`
}

// DemoTrip reads the demo trip on top of the defaults.
func DemoTrip() (Demo, error) {
	d := Demo{Question: question.New()}
	err := settings.Decode(data.Trip(), "demo trip", "a trip", &d)
	return d, err
}

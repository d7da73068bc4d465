// Package input turns names into what they stand for: routes, stations, cars,
// places, weather and tariffs. A name is a file's, "-" for standard input, a
// built-in car's, or one of the demo ("demo", "demo:pass"). The command line,
// the page, a year and a study all read through it.
package input

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/data/settings"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/place"
	"ampleway/route/question"
	"ampleway/route/read"
)

// Demo is the name of the demo's stations and places.
const Demo = "demo"

// Folder is where the names of files begin; empty is the working directory.
type Folder string

// Here is the working directory.
const Here Folder = ""

func (f Folder) path(name string) string {
	if f == "" || name == "-" || filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(string(f), name)
}

// Kind is a kind of input: what its names stand for besides files, and what is
// expected of one that cannot be opened.
type Kind struct {
	expected string
	builtIn  func(name string) (label string, text []byte, err error) // no text: a file
}

// The kinds of input that have a hash.
var (
	Cars     = Kind{"a car file, or one of the built-in cars: " + strings.Join(cars.Names(), ", "), builtInCar}
	Routes   = Kind{"a route file that can be opened", corridor}
	Stations = BuiltIn("a station file that can be read", Demo, data.Stations)
	Results  = files("a file of results that can be read")
)

// ColumnMaps say how a CSV of any other register is read.
var ColumnMaps = files("a column map that can be read")

func files(expected string) Kind {
	return Kind{expected, func(string) (string, []byte, error) { return "", nil, nil }}
}

// BuiltIn is a kind of which the demo has one under a name.
func BuiltIn(expected, as string, text func() []byte) Kind {
	return Kind{expected, func(name string) (string, []byte, error) {
		if name != as {
			return "", nil, nil
		}
		return Demo, text(), nil
	}}
}

func builtInCar(name string) (string, []byte, error) {
	file, text, _ := cars.File(name)
	return file, text, nil
}

func corridor(name string) (string, []byte, error) {
	label, demo := strings.CutPrefix(name, Demo+":")
	if !demo {
		return "", nil, nil
	}
	text, err := data.Corridor(label)
	if err != nil {
		err = &fault.Input{File: name, Found: label, Expected: "one of " + strings.Join(data.Corridors(), ", ")}
	}
	return label, text, err
}

// open returns what a name stands for, and what to call it.
func (f Folder) open(of Kind, name string) (io.ReadCloser, string, error) {
	label, text, err := of.builtIn(name)
	switch {
	case err != nil:
		return nil, name, err
	case text != nil:
		return io.NopCloser(bytes.NewReader(text)), label, nil
	case name == "-":
		return io.NopCloser(os.Stdin), name, nil
	}
	path := f.path(name)
	file, err := os.Open(path)
	if err != nil {
		return nil, path, &fault.Input{File: path, Expected: of.expected, Err: err}
	}
	if info, err := file.Stat(); err == nil && info.IsDir() {
		file.Close()
		return nil, path, &fault.Input{File: path, Found: "a folder", Expected: of.expected}
	}
	return file, path, nil
}

// Read parses what a name stands for.
func Read[T any](f Folder, of Kind, name string, parse func(io.Reader, string) (T, error)) (T, error) {
	r, label, err := f.open(of, name)
	if err != nil {
		var none T
		return none, err
	}
	defer r.Close()
	return parse(r, label)
}

// Hash returns the SHA-256 of what a name stands for and its size in bytes.
func (f Folder) Hash(of Kind, name string) (sum string, size int64, err error) {
	r, label, err := f.open(of, name)
	if err != nil {
		return "", 0, err
	}
	defer r.Close()
	h := sha256.New()
	if size, err = io.Copy(h, r); err != nil {
		return "", 0, &fault.Input{File: label, Expected: of.expected, Err: err}
	}
	return hex.EncodeToString(h.Sum(nil)), size, nil
}

// Glob lists the files that fit a pattern, in the order of their names, each as
// the folder takes it.
func (f Folder) Glob(pattern string) ([]string, error) {
	found, err := filepath.Glob(f.path(pattern))
	for i, name := range found {
		if f == "" || filepath.IsAbs(pattern) {
			break
		}
		if found[i], err = filepath.Rel(string(f), name); err != nil {
			return nil, err
		}
	}
	slices.Sort(found)
	return found, err
}

// Car returns a built-in car by its name, or reads a car file.
func (f Folder) Car(name string) (*energy.Car, error) { return Read(f, Cars, name, energy.ReadCar) }

// Route reads a route file or a corridor of the demo.
func (f Folder) Route(name string) (*route.Route, error) {
	return Read(f, Routes, name, func(r io.Reader, label string) (*route.Route, error) {
		return read.Read(r, label, read.Options{})
	})
}

// Routes reads several.
func (f Folder) Routes(names []string) ([]*route.Route, error) {
	routes := make([]*route.Route, len(names))
	for i, name := range names {
		var err error
		if routes[i], err = f.Route(name); err != nil {
			return nil, err
		}
	}
	return routes, nil
}

// Places reads a list of places; no name is an empty list.
func (f Folder) Places(name string) (*place.List, error) {
	if name == "" {
		return &place.List{}, nil
	}
	return Read(f, BuiltIn("a list of places that can be opened", Demo, data.Places), name, place.Read)
}

// Trip is the trip of the demo, which is planned when nothing else is asked
// for.
type Trip struct {
	Note              string `yaml:"note"`
	Corridor          string `yaml:"corridor"`
	Stations          string `yaml:"stations"`
	Car               string `yaml:"car"`
	question.Question `yaml:",inline"`
}

// DemoTrip reads the trip of the demo on top of the defaults.
func DemoTrip() (Trip, error) {
	t := Trip{Question: question.New()}
	err := settings.Decode(data.Trip(), "demo trip", "a trip", &t)
	return t, err
}

package testdata_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ampleway/testdata"
)

// floor says what the files of a room may import of this module, and why no
// more. Tests and generators (folders named internal/make) are free.
type floor struct {
	room    string
	imports []string
	why     string
}

var floors = []floor{
	{"data/fault", []string{"data/wording"}, "the error for bad input is below everything"},
	{"data/money", []string{"data/fault"}, "money knows its currency and the rates a user states"},
	{"data/wording", nil, "counts and names are written in one way everywhere"},
	{"data/settings", []string{"data/fault"}, "files written by hand are decoded in one place"},
	{"data", nil, "the demo is bytes; whoever reads them parses them"},
	{"route/earth", nil, "one place knows the planet, and it knows nothing else"},
	{"energy/taper", nil, "a power curve is numbers"},
	{"route/stops", []string{"energy/taper"}, "the planner is pure: numbers in, numbers out"},
	{"route/read", []string{"route", "route/earth", "data/fault"}, "a reader knows a format and what it makes"},
	{"route/terrain", []string{"route", "route/earth", "data/fault"}, "heights know roads, not cars"},
	{"route/router", []string{"route", "route/read", "route/earth", "route/place", "data/fault"}, "a router gives a road"},
	{"route/place", []string{"route/earth", "data/fault"}, "a place is a name and a position"},
	{"route/question", []string{"route", "energy", "data/fault"}, "what can be asked is one table; what comes of it is for others"},
	{"route/trip", []string{"route", "route/", "stations", "stations/", "energy", "energy/", "data/fault", "data/money", "data/wording"}, "the one room where roads, cars, weather and stations meet; it does not print, serve or batch"},
	{"route/input", []string{"route", "route/", "stations", "stations/", "energy", "data", "data/fault", "data/settings", "data/cars"}, "names become what they stand for in one place, whoever asks"},
	{"route/study", []string{"route", "route/", "stations", "stations/", "energy", "energy/", "data", "data/"}, "a study is many trips; it does not know the command line"},
	{"route/year", []string{"route", "route/", "stations", "stations/", "energy", "energy/", "data", "data/fault", "data/money", "data/settings"}, "a year is a household's nights and its trips; it does not know the command line"},
	{"route", []string{"route/earth", "data/fault"}, "a road knows neither cars nor stations"},
	{"stations", []string{"stations", "stations/", "route/earth", "data/fault", "data/money", "data/settings", "data/wording"}, "stations know neither roads nor cars"},
	{"cmd/ampleway/internal/chart", nil, "a drawing is numbers and labels in, SVG out"},
	{"cmd/ampleway/internal/notices", nil, "licences are texts"},
	{"cmd/ampleway/internal/owner", []string{"energy", "energy/tables", "data/fault"}, "what an owner is asked makes a car file"},
	{"cmd/ampleway/internal/carsheet", []string{"cmd/ampleway/internal/answer", "cmd/ampleway/internal/chart", "energy", "route/question", "data/wording"}, "what is said of a car knows no road of its own"},
	{"cmd/ampleway/internal/nearby", []string{"route", "route/trip", "stations", "data/wording"}, "a list of stations plans nothing"},
	{"cmd/ampleway/internal/answer", []string{"cmd/ampleway/internal/chart", "energy", "energy/home", "route/earth", "route/question", "route/trip", "route/year", "stations", "data/money", "data/wording"}, "what is said of a plan; it reads no file and serves no page"},
	{"cmd/ampleway/internal/web", []string{"cmd/ampleway/internal/answer", "cmd/ampleway/internal/chart", "energy", "route", "route/question", "route/read", "route/stops", "route/trip", "stations", "data/fault"}, "a question from a form, an answer of the answer's room; it knows no command"},
	{"energy", []string{"energy", "energy/", "data/fault", "data/settings", "data/wording", "data/cars", "data/cycles"}, "a car knows neither roads nor stations"},
}

// The house holds: a package imports only packages below it.
func TestFloors(t *testing.T) {
	checked := map[string]int{}
	for path, imports := range sources(t) {
		f := floorOf(filepath.ToSlash(filepath.Dir(path)))
		if f == nil {
			continue
		}
		checked[f.room]++
		for _, name := range imports {
			own, ok := strings.CutPrefix(name, "ampleway/")
			if ok && !allows(f.imports, own) {
				t.Errorf("%s imports %s: %s", path, own, f.why)
			}
		}
	}
	for _, f := range floors {
		if checked[f.room] == 0 {
			t.Errorf("no file in %s was checked", f.room)
		}
	}
}

// The planner's core is free of the outside world.
func TestPlannerIsPure(t *testing.T) {
	for path, imports := range sources(t) {
		if filepath.ToSlash(filepath.Dir(path)) != "route/stops" {
			continue
		}
		for _, name := range imports {
			for _, banned := range []string{"os", "io", "net", "time", "math/rand", "sync", "github.com/paulmach/orb", "embed", "bufio"} {
				if name == banned || strings.HasPrefix(name, banned+"/") {
					t.Errorf("%s imports %s: the planner touches no files, clocks, randomness, geometry or goroutines", path, name)
				}
			}
		}
	}
}

// sources maps each non-test file of the module to what it imports.
func sources(t *testing.T) map[string][]string {
	t.Helper()
	files := map[string][]string{}
	root := testdata.Root()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "node_modules" || d.Name() == "make") {
			return filepath.SkipDir
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		short, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		files[short] = []string{}
		for _, i := range parsed.Imports {
			name, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			files[short] = append(files[short], name)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// floorOf finds the narrowest room that holds a folder.
func floorOf(folder string) *floor {
	var best *floor
	for i := range floors {
		f := &floors[i]
		if (folder == f.room || strings.HasPrefix(folder, f.room+"/")) && (best == nil || len(f.room) > len(best.room)) {
			best = f
		}
	}
	return best
}

// allows reports whether a name is listed; a name with a slash at its end
// lists what is below it.
func allows(list []string, name string) bool {
	return slices.ContainsFunc(list, func(l string) bool {
		return l == name || strings.HasSuffix(l, "/") && strings.HasPrefix(name, l)
	})
}

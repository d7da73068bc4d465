package input_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/data/fault"
	"ampleway/route/input"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/stations/snapshot"
)

const (
	road  = `{"type":"LineString","coordinates":[[10,50],[11,50]]}`
	sites = "id,source,lon,lat,connector,power_kw,stalls\na,one,10.1,50,CCS2,150,4\nb,one,10.5,50,CCS2,150,4\nx,one,999,50,CCS2,150,4\n"
	other = "id,source,lon,lat,connector,power_kw,stalls\nc,two,10.1,50,CCS2,150,4\n"
)

// files writes files into a folder of their own.
func files(t *testing.T, all map[string]string) input.Folder {
	t.Helper()
	folder := t.TempDir()
	for name, text := range all {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return input.Folder(folder)
}

// A relative name begins in its folder; what is built in is found from any.
func TestNamesBeginInTheirFolder(t *testing.T) {
	f := files(t, map[string]string{"road.geojson": road, "a.csv": sites})
	for _, name := range []string{"road.geojson", filepath.Join(string(f), "road.geojson"), "demo:pass"} {
		if r, err := f.Route(name); err != nil || r.Len() < 2 {
			t.Errorf("%s: %v", name, err)
		}
	}
	if car, err := f.Car("van"); err != nil || car.UsableKWh <= 0 {
		t.Errorf("van: %v", err)
	}
	if found, err := f.Glob("*.geojson"); err != nil || !slices.Equal(found, []string{"road.geojson"}) {
		t.Errorf("%q, %v", found, err)
	}
}

// A hash is the SHA-256 of what is read, by the standard library.
func TestHash(t *testing.T) {
	f := files(t, map[string]string{"road.geojson": road})
	for name, text := range map[string]string{"road.geojson": road, "demo:pass": corridor(t, "pass")} {
		want := sha256.Sum256([]byte(text))
		sum, size, err := f.Hash(input.Routes, name)
		if err != nil || sum != hex.EncodeToString(want[:]) || size != int64(len(text)) {
			t.Errorf("%s: %s, %d, %v", name, sum, size, err)
		}
	}
}

func corridor(t *testing.T, name string) string {
	t.Helper()
	text, err := data.Corridor(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// What cannot be read is a fault with the name, and says what is expected.
func TestFaults(t *testing.T) {
	f := files(t, map[string]string{"plain": "no car"})
	if err := os.Mkdir(filepath.Join(string(f), "folder"), 0o755); err != nil {
		t.Fatal(err)
	}
	routes := func(name string) error { _, err := f.Route(name); return err }
	cars := func(name string) error { _, err := f.Car(name); return err }
	places := func(name string) error { _, err := f.Places(name); return err }
	stationFiles := func(name string) error { _, _, err := f.Sites([]string{name}, open.Options{}); return err }
	for _, c := range []struct {
		read       func(string) error
		name, says string
	}{
		{routes, "none.gpx", "none.gpx: expected a route file that can be opened"},
		{routes, "folder", "found a folder: expected a route file"},
		{routes, "demo:nowhere", "found nowhere: expected one of north, pass, upland"},
		{cars, "none.yaml", "expected a car file, or one of the built-in cars: "},
		{places, "none.txt", "expected a list of places that can be opened"},
		{stationFiles, "none.csv", "expected a station file that can be read"},
		{stationFiles, "folder", "found a folder: expected a station file"},
	} {
		err := c.read(c.name)
		var bad *fault.Input
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), c.says) || strings.HasPrefix(c.name, "none") && !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: %v, want %q", c.name, err, c.says)
		}
	}
}

// Station files, a snapshot of them and both together are read on one path:
// aliases reach each, records of several sources that mean one site are one,
// and what was left out is told.
func TestStations(t *testing.T) {
	f := files(t, map[string]string{"a.csv": sites, "b.csv": other})
	list, reports, err := f.Sites([]string{"a.csv", "b.csv"}, open.Options{})
	if err != nil || len(list) != 3 || len(reports) != 2 {
		t.Fatalf("%d sites, %d reports, %v", len(list), len(reports), err)
	}
	packed, err := os.Create(filepath.Join(string(f), "all.parquet"))
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(snapshot.Write(packed, stations.Sites(list)), packed.Close()); err != nil {
		t.Fatal(err)
	}
	aliases, err := stations.ParseAliases([]string{"CCS2=ccs1"})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		names []string
		sites int
		notes int
	}{
		{[]string{"a.csv"}, 2, 1},
		{[]string{"a.csv", "b.csv"}, 2, 1},       // c is where a is
		{[]string{"all.parquet"}, 3, 0},          // as it was written
		{[]string{"all.parquet", "b.csv"}, 3, 0}, // the second c stays: records of one source are never merged
	} {
		n, err := f.Stations(t.Context(), c.names, open.Options{Aliases: aliases}, "")
		if err != nil || n.Len() != c.sites || len(n.Notes()) != c.notes {
			t.Errorf("%v: %v, %d sites, notes %q", c.names, err, n.Len(), n.Notes())
			continue
		}
		if plug := n.Set().Site(0).Stalls[0].Connectors[0].Type; plug != stations.CCS1 {
			t.Errorf("%v: the plug is %s", c.names, plug)
		}
	}
}

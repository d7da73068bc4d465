package open_test

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/stations/open"
)

// tight are limits that a fuzzer can pass.
var tight = open.Limits{RecordBytes: 1 << 14, Records: 2000, Depth: 16, Positions: 1000, Listed: 20}

// readAny asks of any input that it end in sites that hold, with counts that
// add up, or in an error that blames the input.
func readAny(t *testing.T, data []byte, o open.Options) {
	o.Limits = tight
	sites, report, err := open.Read(bytes.NewReader(data), "fuzz", o)
	if err != nil {
		var bad *fault.Input
		if !errors.As(err, &bad) {
			t.Fatalf("%T: %v", err, err)
		}
		return
	}
	if len(sites) == 0 || len(sites) != report.Sites {
		t.Fatalf("%d sites, %d counted", len(sites), report.Sites)
	}
	plugs := 0
	for i := range sites {
		if err := sites[i].Validate(); err != nil {
			t.Fatal(err)
		}
		for _, s := range sites[i].Stalls {
			plugs += len(s.Connectors)
		}
	}
	if plugs != sum(report.ByConnector) || plugs != sum(report.ByPowerKW) {
		t.Fatalf("%d connectors, counted %v", plugs, report.ByConnector)
	}
	if len(report.Rejected) > tight.Listed || len(report.Suspects) > tight.Listed || report.WriteText(&strings.Builder{}) != nil || report.WriteJSON(&strings.Builder{}) != nil {
		t.Fatal("report")
	}
}

func seed(f *testing.F, names ...string) {
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

func FuzzOwnCSV(f *testing.F) {
	f.Add([]byte(ownCSV))
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzOwnGeoJSON(f *testing.F) {
	f.Add([]byte(ownGeoJSON))
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzOCPI(f *testing.F) {
	seed(f, "testdata/samples/ocpi-page.json")
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzUS(f *testing.F) {
	seed(f, "testdata/samples/us.csv")
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzFrench(f *testing.F) {
	seed(f, "testdata/samples/french.csv")
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzMapped(f *testing.F) {
	m, err := readMapFile("testdata/samples/mapped.yaml")
	if err != nil {
		f.Fatal(err)
	}
	seed(f, "testdata/samples/mapped.csv")
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{Map: m}) })
}

func FuzzMap(f *testing.F) {
	seed(f, "testdata/samples/mapped.yaml", "testdata/maps/german.yaml")
	data, err := os.ReadFile("testdata/samples/mapped.csv")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if m, err := open.ReadMap(bytes.NewReader(text), "map"); err == nil {
			readAny(t, data, open.Options{Map: m})
		}
	})
}

func FuzzOSM(f *testing.F) {
	seed(f, island)
	f.Add([]byte(`{"version":0.6,"elements":[{"type":"node","id":1,"lat":44.1,"lon":-31.2,"tags":{"amenity":"charging_station","socket:type2_combo":"2","socket:type2_combo:output":"50;150 kW"}},{"type":"way","id":2,"center":{"lat":44.2,"lon":-31.2},"tags":{"amenity":"charging_station","capacity":"2"}},{"type":"relation","id":3,"members":[{"type":"way","ref":2,"role":""}],"tags":{"amenity":"charging_station"}}]}`))
	f.Add([]byte(`{"type":"FeatureCollection","features":[{"type":"Feature","id":"way/1","geometry":{"type":"Polygon","coordinates":[[[0,1],[1,1],[0,1]]]},"properties":{"@id":"way/1","amenity":"charging_station","socket:chademo":"1"}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

func FuzzPBF(f *testing.F) {
	seed(f, "testdata/samples/island.osm.pbf", "testdata/samples/island-plain.osm.pbf")
	f.Fuzz(func(t *testing.T, data []byte) { readAny(t, data, open.Options{}) })
}

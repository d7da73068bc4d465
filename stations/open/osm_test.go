package open_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmgeojson"
	"github.com/paulmach/osm/osmxml"

	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

const island = "testdata/osm/island.osm"

func read(t testing.TB, name string, o open.Options) ([]stations.Site, *open.Report) {
	t.Helper()
	sites, report, err := readFile(name, o)
	if err != nil {
		t.Fatal(err)
	}
	return sites, report
}

// islandPBF writes the island as .osm.pbf with osmium.
func islandPBF(t testing.TB, options ...string) string {
	osmium := testdata.Tool(t, "osmium")
	name := filepath.Join(t.TempDir(), "island.osm.pbf")
	args := append([]string{"cat", island, "-o", name, "--overwrite"}, options...)
	if out, err := exec.Command(osmium, args...).CombinedOutput(); err != nil {
		t.Fatalf("osmium: %v\n%s", err, out)
	}
	return name
}

func TestOSMTraps(t *testing.T) {
	sites, report := read(t, island, open.Options{})
	want := map[string]int{
		"CCS2 150": 4, "CCS2 50": 4, "CCS2 unknown": 1, "CCS2 100": 1, "CCS2 300": 6,
		"CHAdeMO 50": 2, "CHAdeMO unknown": 2,
		"Type 2 11": 1, "Type 2 22": 3, "xplug 120": 8, "J1772 3.68": 2,
	}
	if d := cmp.Diff(want, report.ByPowerKW); d != "" {
		t.Error(d)
	}
	if report.Closed != 1 || report.Restricted != 2 || report.RejectCount != 2 || report.Sites != 9 {
		t.Errorf("%+v", report)
	}
	for i, stalls := range map[int]int{0: 4, 7: 3, 8: 6} {
		if len(sites[i].Stalls) != stalls {
			t.Errorf("%s: %d stalls, want %d", sites[i].ID, len(sites[i].Stalls), stalls)
		}
	}
	if quay := sites[7]; quay.ID != "way/100" || math.Abs(quay.Lon+31.2995) > 1e-6 || math.Abs(quay.Lat-44.2005) > 1e-6 {
		t.Errorf("the way is at %v, %v", quay.Lon, quay.Lat)
	}
	if yard := sites[8]; yard.ID != "relation/200" || math.Abs(yard.Lon+31.299) > 1e-6 || math.Abs(yard.Lat-44.301) > 1e-6 {
		t.Errorf("the relation is at %v, %v", yard.Lon, yard.Lat)
	}
	var text strings.Builder
	if err := report.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{
		"node 5, motorcar: found no: expected a station for cars",
		"way 102, position: found none: expected a position",
		"node 3, socket:type2_combo:output: found 50;150: 2 powers for 4 sockets: the lowest is used",
		"node 4, socket:type2_combo:output: found 3000 kW: more kW",
		"node 6, socket:chademo:output: found fast: not a power",
		"node 8, capacity: found many",
		"node 4, hours: found when the gate is up: not understood",
	} {
		if !strings.Contains(text.String(), part) {
			t.Errorf("the report lacks %q:\n%s", part, text.String())
		}
	}
}

// The same elements in the four forms give the same sites. The PBF is written
// by osmium, the JSON and GeoJSON by paulmach/osm.
func TestOSMForms(t *testing.T) {
	fromXML, xmlReport := read(t, island, open.Options{})
	for _, options := range [][]string{nil, {"-f", "pbf,pbf_dense_nodes=false"}, {"-f", "pbf,pbf_compression=none"}} {
		fromPBF, report := read(t, islandPBF(t, options...), open.Options{})
		sameSites(t, "PBF", fromXML, fromPBF)
		if report.Format != open.OSMPBF || report.Records != xmlReport.Records || report.Ignored != xmlReport.Ignored {
			t.Errorf("PBF %v: %+v", options, report)
		}
	}
	file, err := os.Open(island)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var all osm.OSM
	scanner := osmxml.New(context.Background(), file)
	defer scanner.Close()
	for scanner.Scan() {
		all.Append(scanner.Object())
	}
	if err := scanner.Err(); err != nil {
		t.Fatal(err)
	}
	asJSON, err := json.Marshal(&all)
	if err != nil {
		t.Fatal(err)
	}
	fromJSON, report, err := open.Read(bytes.NewReader(asJSON), "island.json", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if report.Format != open.OSMJSON {
		t.Error(report.Format)
	}
	sameSites(t, "JSON", fromXML, fromJSON)
	collection, err := osmgeojson.Convert(&all)
	if err != nil {
		t.Fatal(err)
	}
	asGeoJSON, err := json.Marshal(collection)
	if err != nil {
		t.Fatal(err)
	}
	_, report, err = open.Read(bytes.NewReader(asGeoJSON), "island.geojson", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(xmlReport.ByPowerKW, report.ByPowerKW); d != "" || report.Format != open.OSMGeoJSON {
		t.Errorf("GeoJSON (%s): %s", report.Format, d)
	}
}

func sameSites(t *testing.T, form string, want, got []stations.Site) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-6), cmpopts.EquateApproxTime(0)); d != "" {
		t.Errorf("%s:\n%s", form, d)
	}
}

// The element counts of a real extract, which holds no station, against
// osmium's.
func TestRealPBF(t *testing.T) {
	name := testdata.OpenData(t, "roads", "andorra.osm.pbf")
	osmium := testdata.Tool(t, "osmium")
	_, report, err := readFile(name, open.Options{})
	if err == nil || report == nil {
		t.Fatal("stations in an extract of 2013 that has none")
	}
	out, err := exec.Command(osmium, "fileinfo", "-e", "-j", name).Output()
	if err != nil {
		t.Fatal(err)
	}
	var info struct {
		Data struct {
			Count struct{ Nodes, Ways, Relations int }
		}
	}
	if err := json.Unmarshal(out, &info); err != nil {
		t.Fatal(err)
	}
	n := info.Data.Count
	if want := n.Nodes + n.Ways + n.Relations; report.Records != want || want == 0 {
		t.Errorf("%d elements, osmium counts %d", report.Records, want)
	}
	t.Logf("%d elements, as osmium counts: %+v", report.Records, n)
}

func readFile(name string, o open.Options) ([]stations.Site, *open.Report, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	defer file.Close()
	return open.Read(file, name, o)
}

func readMapFile(name string) (*open.Map, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return open.ReadMap(file, name)
}

package snapshot_test

import (
	"encoding/json"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/stations"
	"ampleway/stations/snapshot"
	"ampleway/stations/synthetic"
	"ampleway/testdata"
	"os"
)

// hyparquet is a Parquet and GeoParquet reader in JavaScript that shares no
// code with ours.
const hyparquetScript = `
const [modules, file] = process.argv.slice(-2)
const { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } = await import('file://' + modules + '/hyparquet/src/node.js')
const buffer = await asyncBufferFromFile(file)
const metadata = await parquetMetadataAsync(buffer)
const geo = metadata.key_value_metadata.find(kv => kv.key === 'geo').value
const rows = await parquetReadObjects({ file: buffer, metadata })
const plain = (_, v) => typeof v === 'bigint' ? Number(v) : v
console.log(JSON.stringify({ geo: JSON.parse(geo), rows }, plain))
`

type hyparquetRow struct {
	ID       string  `json:"id"`
	Source   *string `json:"source"`
	Name     *string `json:"name"`
	Operator *string `json:"operator"`
	Access   *string `json:"access"`
	Geometry struct {
		Type        string     `json:"type"`
		Coordinates [2]float64 `json:"coordinates"`
	} `json:"geometry"`
	Stalls       *string  `json:"stalls"`
	StallCount   int      `json:"stall_count"`
	DCStallCount int      `json:"dc_stall_count"`
	PowerKW      *float64 `json:"power_kw"`
	Connectors   *string  `json:"connectors"`
}

func text(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

func TestAnotherReaderSeesTheSameSites(t *testing.T) {
	modules := testdata.NodeModules(t)
	node := testdata.Tool(t, "node")
	sites := synthetic.Sites(2000, 3)
	sites[17] = stations.Site{ID: "bare", Lon: -3.5, Lat: 51}
	path := filepath.Join(t.TempDir(), "sites.parquet")
	if err := os.WriteFile(path, write(t, sites), 0o644); err != nil {
		t.Fatal(err)
	}
	command := exec.Command(node, "--input-type=module", "-e", hyparquetScript, modules, path)
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, err.(*exec.ExitError).Stderr)
	}
	var seen struct {
		Geo struct {
			Version string `json:"version"`
			Primary string `json:"primary_column"`
			Columns map[string]struct {
				Encoding string     `json:"encoding"`
				Types    []string   `json:"geometry_types"`
				BBox     [4]float64 `json:"bbox"`
			} `json:"columns"`
		} `json:"geo"`
		Rows []hyparquetRow `json:"rows"`
	}
	if err := json.Unmarshal(out, &seen); err != nil {
		t.Fatal(err)
	}
	column := seen.Geo.Columns["geometry"]
	if seen.Geo.Version != "1.1.0" || seen.Geo.Primary != "geometry" || column.Encoding != "WKB" || !slices.Equal(column.Types, []string{"Point"}) {
		t.Errorf("geo metadata: %+v", seen.Geo)
	}
	table := read(t, mustRead(t, path))
	if len(seen.Rows) != len(sites) || table.Len() != len(sites) {
		t.Fatalf("it sees %d rows, we %d, written %d", len(seen.Rows), table.Len(), len(sites))
	}
	byID := make(map[string]stations.Site, len(sites))
	for _, s := range sites {
		byID[s.ID] = s
	}
	for _, r := range seen.Rows {
		s := byID[r.ID]
		powerKW, _ := s.MaxPowerKW()
		switch {
		case r.Geometry.Type != "Point" || r.Geometry.Coordinates != [2]float64{s.Lon, s.Lat}:
			t.Fatalf("%s stands at %v, written %g, %g", r.ID, r.Geometry, s.Lon, s.Lat)
		case text(r.Name) != s.Name || text(r.Operator) != s.Operator || text(r.Source) != s.Source:
			t.Fatalf("it sees %+v, written %+v", r, s)
		case r.StallCount != len(s.Stalls) || r.DCStallCount != s.DCStalls() || (r.PowerKW != nil) != (powerKW > 0) || r.PowerKW != nil && *r.PowerKW != powerKW:
			t.Fatalf("%s: it sees %d stalls, %d DC, %v kW", r.ID, r.StallCount, r.DCStallCount, r.PowerKW)
		case (r.Access == nil) != (s.Access == stations.AccessUnknown):
			t.Fatalf("%s: it sees access %q", r.ID, text(r.Access))
		}
		checkStallsText(t, text(r.Stalls), s)
		box := column.BBox
		if s.Lon < box[0] || s.Lat < box[1] || s.Lon > box[2] || s.Lat > box[3] {
			t.Fatalf("%s lies outside the bbox %v", r.ID, box)
		}
	}
}

// checkStallsText compares the stalls column, read as the JSON that doc.go
// says it is, with the stalls that were written.
func checkStallsText(t *testing.T, stalls string, s stations.Site) {
	t.Helper()
	if stalls == "" && len(s.Stalls) == 0 {
		return
	}
	var runs []struct {
		Count      int
		Connectors []struct {
			Type    string
			PowerKW float64 `json:"power_kw"`
		}
	}
	if err := json.Unmarshal([]byte(stalls), &runs); err != nil {
		t.Fatalf("%s: stalls %q: %v", s.ID, stalls, err)
	}
	n := 0
	for _, r := range runs {
		for range max(r.Count, 1) {
			for i, c := range r.Connectors {
				if want := s.Stalls[n].Connectors[i]; c.Type != string(want.Type) || c.PowerKW != want.PowerKW {
					t.Fatalf("%s: stall %d is %+v, written %+v", s.ID, n, c, want)
				}
			}
			n++
		}
	}
	if n != len(s.Stalls) {
		t.Fatalf("%s: %d stalls in %q, written %d", s.ID, n, strings.TrimSpace(stalls), len(s.Stalls))
	}
}

func mustRead(t *testing.T, path string) []byte {
	t.Helper()
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !snapshot.Is(content) {
		t.Fatal("the file does not look like a snapshot")
	}
	return content
}

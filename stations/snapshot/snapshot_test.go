package snapshot_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"ampleway/stations"
	"ampleway/stations/snapshot"
	"ampleway/stations/synthetic"
	"pgregory.net/rapid"
)

func write(t testing.TB, sites stations.Sites) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := snapshot.Write(&file, sites); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func read(t testing.TB, file []byte) *snapshot.Table {
	t.Helper()
	table, err := snapshot.Read(bytes.NewReader(file), int64(len(file)), "test.parquet")
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// lines gives each site as JSON, sorted.
func lines(t testing.TB, set stations.Set) []string {
	t.Helper()
	all := make([]string, set.Len())
	for i := range all {
		text, err := json.Marshal(set.Site(i))
		if err != nil {
			t.Fatal(err)
		}
		all[i] = string(text)
	}
	slices.Sort(all)
	return all
}

func word(t *rapid.T, label string) string {
	return rapid.SampledFrom([]string{"", "", "a", "Ä", "two words", "x;y", "line\nbreak", `"quoted"`}).Draw(t, label)
}

func figure(t *rapid.T, label string) float64 {
	return rapid.SampledFrom([]float64{0, 0, 0.1, 22, 150, 1e6}).Draw(t, label)
}

func drawStall(t *rapid.T) stations.Stall {
	s := stations.Stall{
		ID:      word(t, "stall"),
		Status:  stations.Status(rapid.IntRange(0, 4).Draw(t, "stall status")),
		Group:   rapid.IntRange(0, 2).Draw(t, "group"),
		GroupKW: figure(t, "group kW"),
	}
	for range rapid.IntRange(0, 2).Draw(t, "connectors") {
		s.Connectors = append(s.Connectors, stations.Connector{
			Type:    stations.ConnectorType(rapid.SampledFrom([]string{"CCS2", "Type 2", "XPLUG"}).Draw(t, "type")),
			DC:      rapid.Bool().Draw(t, "dc"),
			PowerKW: figure(t, "kW"), MaxA: figure(t, "A"), MaxV: figure(t, "V"),
			Phases:  rapid.IntRange(0, 3).Draw(t, "phases"),
			Assumed: rapid.Bool().Draw(t, "assumed"),
		})
	}
	return s
}

func drawSite(t *rapid.T) stations.Site {
	s := stations.Site{
		ID: word(t, "id"), Name: word(t, "name"), Operator: word(t, "operator"), Network: word(t, "network"),
		Address: word(t, "address"), Phone: word(t, "phone"), Country: word(t, "country"), Hours: word(t, "hours"), Zone: word(t, "zone"),
		Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"), Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"),
		Access:   stations.Access(rapid.IntRange(0, 3).Draw(t, "access")),
		Status:   stations.Status(rapid.IntRange(0, 4).Draw(t, "status")),
		SharedKW: figure(t, "shared"), DetourM: figure(t, "detour m"), DetourS: figure(t, "detour s"),
		Source: word(t, "source"), Licence: word(t, "licence"), Note: word(t, "note"),
	}
	for range rapid.IntRange(0, 4).Draw(t, "stalls") {
		s.Stalls = append(s.Stalls, drawStall(t))
	}
	if rapid.Bool().Draw(t, "priced") {
		s.Price = &stations.Price{Currency: "XTS", SessionFee: figure(t, "fee"), Rates: stations.Rates{PerKWh: figure(t, "per kWh")},
			Periods: []stations.Period{{Days: 3, From: 60, To: 1440, Rates: stations.Rates{PerMinute: 0.1}}}}
	}
	if rapid.Bool().Draw(t, "dated") {
		s.Updated = time.Unix(rapid.Int64Range(0, 2e9).Draw(t, "updated"), 0).UTC()
	}
	if rapid.Bool().Draw(t, "rare") {
		s.Amenities = []string{"food", "x;y"}
		s.Reach = stations.Reach{0, 90}
		s.Exit = &stations.Exit{Lon: 1, Lat: 2}
		s.Parts = []stations.Site{{ID: "p", Lon: 3, Source: "other"}}
	}
	return s
}

func TestReadGivesWhatWasWritten(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		sites := stations.Sites(rapid.SliceOfN(rapid.Custom(drawSite), 0, 30).Draw(rt, "sites"))
		table := read(t, write(t, sites))
		got, want := lines(t, table), lines(t, sites)
		if !slices.Equal(got, want) {
			rt.Fatalf("read\n%v\nwrote\n%v", got, want)
		}
		for i := range table.Len() {
			site := table.Site(i)
			lon, lat := table.Position(i)
			if wantLon, wantLat := site.RoadPosition(); lon != wantLon || lat != wantLat {
				rt.Fatalf("site %d stands at %g, %g, its position is %g, %g", i, wantLon, wantLat, lon, lat)
			}
		}
	})
}

func TestOrderOfSitesDoesNotChangeTheBytes(t *testing.T) {
	sites := synthetic.Sites(3000, 7)
	sites[5].Lon, sites[5].Lat, sites[5].ID = sites[6].Lon, sites[6].Lat, sites[6].ID
	want := write(t, sites)
	slices.Reverse(sites)
	if !bytes.Equal(write(t, sites), want) {
		t.Error("the same sites in another order give other bytes")
	}
}

// A site with much to say, as one of many parts has, comes back whole.
func TestLongTexts(t *testing.T) {
	sites := synthetic.Sites(3, 1)
	for i := range sites {
		sites[i].Note = strings.Repeat("by the mill ", 40_000+i)
		sites[i].Name = strings.Repeat("Mill Bridge ", 20_000+i)
	}
	file := write(t, sites)
	table, err := snapshot.Read(bytes.NewReader(file), int64(len(file)), "long.parquet")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for i := range table.Len() {
		found[table.Site(i).Note+"|"+table.Site(i).Name] = true
	}
	for i := range sites {
		if !found[sites[i].Note+"|"+sites[i].Name] {
			t.Errorf("site %d did not come back", i)
		}
	}
}

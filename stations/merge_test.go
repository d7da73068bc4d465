package stations

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"ampleway/route/earth"
	"pgregory.net/rapid"
)

func drawRecords(t *rapid.T) []Site {
	sites := make([]Site, rapid.IntRange(0, 25).Draw(t, "records"))
	for i := range sites {
		sites[i] = Site{
			ID:       fmt.Sprint(i),
			Source:   rapid.SampledFrom([]string{"one", "two", "three"}).Draw(t, "source"),
			Operator: rapid.SampledFrom([]string{"", "North", "NORTH Ltd.", "South"}).Draw(t, "operator"),
			Name:     rapid.SampledFrom([]string{"", "Mill"}).Draw(t, "name"),
			Licence:  rapid.SampledFrom([]string{"", "CC0-1.0", "ODbL-1.0"}).Draw(t, "licence"),
			Lon:      rapid.SampledFrom([]float64{180, -179.9995, 179.9993}).Draw(t, "lon"),
			Lat:      60 + float64(rapid.IntRange(0, 8).Draw(t, "lat"))*0.0004,
		}
		if kw := rapid.SampledFrom([]float64{0, 50, 150, 160}).Draw(t, "kW"); kw > 0 {
			sites[i].Stalls = []Stall{{Connectors: []Connector{{Type: CCS2, DC: true, PowerKW: kw}}}}
		}
	}
	return sites
}

func asLines(sites []Site) []string {
	lines := make([]string, len(sites))
	for i, s := range sites {
		text, _ := json.Marshal(s)
		lines[i] = string(text)
	}
	slices.Sort(lines)
	return lines
}

// What is merged can be taken apart again, and merging twice is merging once.
func TestMergeIsReversible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sites := drawRecords(t)
		before := asLines(sites)
		merged := MergeRule{}.Merge(sites)
		if !slices.Equal(asLines(Unmerge(merged)), before) {
			t.Fatal("the records do not come back")
		}
		if !slices.Equal(asLines(sites), before) {
			t.Fatal("the records that were handed in have changed")
		}
		if !slices.Equal(asLines(MergeRule{}.Merge(merged)), asLines(MergeRule{}.Merge(Unmerge(merged)))) {
			t.Fatal("merging what is merged is not merging its records")
		}
	})
}

// Every two parts of a site keep the rule as it is stated, no record stands in
// two sites, and no two sites are left that could still be joined whole.
func TestMergeKeepsTheRule(t *testing.T) {
	rule := MergeRule{DistanceM: 80}
	mayBeOne := func(a, b Site) bool {
		operators := map[string]string{"": "", "North": "north", "NORTH Ltd.": "northltd", "South": "south"}
		oa, ob := operators[a.Operator], operators[b.Operator]
		sameOperator := oa == "" || ob == "" || oa[0] == ob[0]
		ka, _ := a.MaxPowerKW()
		kb, _ := b.MaxPowerKW()
		samePower := ka == 0 || kb == 0 || max(ka, kb)-min(ka, kb) <= 0.1*max(ka, kb)
		return a.Source != b.Source && sameOperator && samePower && earth.DistanceM(a.Lon, a.Lat, b.Lon, b.Lat) <= 80
	}
	joined := 0
	rapid.Check(t, func(t *rapid.T) {
		merged := rule.Merge(drawRecords(t))
		parts := func(s Site) []Site { return Unmerge([]Site{s}) }
		for i, s := range merged {
			if len(s.Parts) > 0 {
				joined++
			}
			for n, a := range s.Parts {
				for _, b := range s.Parts[n+1:] {
					if !mayBeOne(a, b) {
						t.Fatalf("%+v and %+v were made one", a, b)
					}
				}
			}
			for _, other := range merged[i+1:] {
				all := true
				for _, a := range parts(s) {
					for _, b := range parts(other) {
						all = all && mayBeOne(a, b)
					}
				}
				if all {
					t.Fatalf("%v and %v could be one", parts(s), parts(other))
				}
			}
		}
	})
	if joined < 50 && !testing.Short() { // -short draws a fifth
		t.Errorf("%d sites were merged in all: too few to mean anything", joined)
	}
}

func TestMergeFillsWhatIsOpen(t *testing.T) {
	sites := []Site{
		{ID: "1", Source: "a", Operator: "North", Lon: 10, Lat: 50, Licence: "CC0-1.0"},
		{ID: "2", Source: "b", Operator: "North GmbH", Name: "Mill", Lon: 10.0001, Lat: 50, Licence: "ODbL-1.0", Hours: "24/7",
			Stalls: []Stall{{Connectors: []Connector{{Type: CCS2, DC: true, PowerKW: 150}}}}},
		{ID: "3", Source: "b", Name: "Elsewhere", Lon: 10.1, Lat: 50},
	}
	merged := MergeRule{}.Merge(sites)
	if len(merged) != 2 {
		t.Fatalf("%d sites: %+v", len(merged), merged)
	}
	m := merged[0]
	if m.ID != "1" || m.Operator != "North" || m.Name != "Mill" || m.Hours != "24/7" || len(m.Stalls) != 1 || m.Licence != "CC0-1.0; ODbL-1.0" || len(m.Parts) != 2 {
		t.Errorf("%+v", m)
	}
}

package open_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ampleway/stations"
	"ampleway/stations/open"
)

const ownCSV = `id,name,lon,lat,connector,power_kw,stalls,hours,access,currency,per_kwh,stall,current,colour
a1,Mill Bridge,-31.20,44.10,CCS2,150,4,24/7,public,EUR,0.45,,,red
a1,Mill Bridge,-31.20,44.10,Type 2,22,2,,,,,,,
a2,Ford Inn,-31.45,44.02,CCS2,100,1,Mo-Su 07:00-22:00,customers,,,x,,
a2,Ford Inn,-31.45,44.02,CHAdeMO,50,1,,,,,x,,
a3,Old Pier,-31.50,44.05,XPLUG,120,2,,,,,,dc,
`

const ownGeoJSON = `{"type": "FeatureCollection", "features": [
  {"type": "Feature", "id": "a1",
   "geometry": {"type": "Point", "coordinates": [-31.20, 44.10]},
   "properties": {"name": "Mill Bridge", "hours": "24/7", "access": "public",
     "price": {"currency": "EUR", "per_kwh": 0.45},
     "stalls": [{"count": 4, "connectors": [{"type": "CCS2", "power_kw": 150}]},
                {"count": 2, "connectors": [{"type": "Type 2", "power_kw": 22}]}]}},
  {"type": "Feature", "id": "a2",
   "geometry": {"type": "Point", "coordinates": [-31.45, 44.02]},
   "properties": {"name": "Ford Inn", "hours": "Mo-Su 07:00-22:00", "access": "customers",
     "stalls": [{"id": "x", "connectors": [{"type": "CCS2", "power_kw": 100}, {"type": "CHAdeMO", "power_kw": 50}]}]}},
  {"type": "Feature", "id": "a3",
   "geometry": {"type": "Point", "coordinates": [-31.50, 44.05]},
   "properties": {"name": "Old Pier", "connector": "XPLUG", "current": "dc", "power_kw": 120, "stalls": 2}}]}
`

// The two own forms say the same, so they must read as the same.
func TestOwnForms(t *testing.T) {
	fromCSV, report, err := open.Read(strings.NewReader(ownCSV), "own.csv", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	fromJSON, _, err := open.Read(strings.NewReader(ownGeoJSON), "own.geojson", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(fromCSV, fromJSON); d != "" {
		t.Errorf("CSV against GeoJSON:\n%s", d)
	}
	want := map[string]int{"CCS2": 5, "Type 2": 2, "CHAdeMO": 1, "XPLUG": 2}
	if d := cmp.Diff(want, report.ByConnector); d != "" {
		t.Error(d)
	}
	if report.Records != 5 || report.Sites != 3 || report.Stalls != 9 || report.DCSites != 3 || report.NotNamed != 2 {
		t.Errorf("%+v", report)
	}
	if len(report.Notes) != 1 || !strings.Contains(report.Notes[0], "colour") {
		t.Errorf("notes %q", report.Notes)
	}
	if s := fromCSV[1]; len(s.Stalls) != 1 || len(s.Stalls[0].Connectors) != 2 || s.Access != stations.AccessCustomers {
		t.Errorf("Ford Inn: %+v", s)
	}
}

func TestAlias(t *testing.T) {
	aliases, err := stations.ParseAliases([]string{"XPLUG = j3400"})
	if err != nil {
		t.Fatal(err)
	}
	_, report, err := open.Read(strings.NewReader(ownCSV), "own.csv", open.Options{Aliases: aliases})
	if err != nil {
		t.Fatal(err)
	}
	if report.ByConnector["J3400"] != 2 || report.NotNamed != 0 {
		t.Errorf("%v", report.ByConnector)
	}
}

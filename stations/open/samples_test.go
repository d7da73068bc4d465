package open_test

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"ampleway/stations"
	"ampleway/stations/hours"
	"ampleway/stations/open"
)

func TestUSSample(t *testing.T) {
	sites, report := read(t, "testdata/samples/us.csv", open.Options{})
	want := map[string]int{"CCS1 50 assumed": 4, "CHAdeMO 50 assumed": 4, "J1772 6.6 assumed": 3, "J1772 1.4 assumed": 1, "XPLUG unknown": 8}
	if d := cmp.Diff(want, report.ByPowerKW); d != "" {
		t.Error(d)
	}
	listed(t, "rejected", report.Rejected, []string{"line 8, Longitude: found nothing"})
	listed(t, "suspects", report.Suspects, []string{
		"line 5, Access Days Time: found by arrangement: not read as opening hours", "line 5, EV DC Fast Count: found 1: no plug of the list", "line 7, EV DC Fast Count: found none: the list has such a plug", "line 7, connector: no connector"})
	if report.Ignored != 1 || report.Planned != 1 || report.OutOfOrder != 1 || report.Restricted != 2 {
		t.Errorf("%+v", report)
	}
	if got := sites[0].Price; got == nil || got.SessionFee != 0.5 || got.PerKWh != 0.45 || got.Currency != "USD" {
		t.Errorf("price %+v", got)
	}
	if got := sites[2].Price; got == nil || got.PerKWh != 0.46 || got.IdlePerMinute != 1 || got.IdleAfterMinutes != 15 {
		t.Errorf("price %+v", got)
	}
	if sites[3].Price != nil || !strings.Contains(sites[3].Note, "ask inside") {
		t.Errorf("price %+v, note %q", sites[3].Price, sites[3].Note)
	}
	if sites[0].Hours != "24/7" || sites[2].Hours != "Mo 06:00-21:00; Tu 06:00-21:00" || sites[3].Hours != "" {
		t.Errorf("hours %q, %q, %q", sites[0].Hours, sites[2].Hours, sites[3].Hours)
	}
	if !sites[2].Stalls[0].Connectors[0].DC {
		t.Error("a token on stalls counted as direct current is not DC")
	}
}

// The GeoJSON form has the same fields under the names of the table's web
// service (from memory), connector types as a list.
func TestUSGeoJSON(t *testing.T) {
	text, err := os.ReadFile("testdata/samples/us.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var features []any
	for _, row := range rows[1 : len(rows)-1] {
		properties := map[string]any{}
		for i, name := range rows[0] {
			var v any = row[i]
			switch {
			case row[i] == "":
				v = nil
			case name == "EV Connector Types":
				v = strings.Fields(row[i])
			case name == "ID" || strings.HasSuffix(name, "Num") || strings.HasSuffix(name, "Count"):
				v = json.Number(row[i])
			}
			name = strings.ToLower(strings.ReplaceAll(name, " ", "_"))
			properties[strings.Replace(name, "fast_count", "fast_num", 1)] = v
		}
		position := []json.RawMessage{json.RawMessage(properties["longitude"].(string)), json.RawMessage(properties["latitude"].(string))}
		features = append(features, map[string]any{"type": "Feature", "geometry": map[string]any{"type": "Point", "coordinates": position}, "properties": properties})
	}
	asGeoJSON, err := json.Marshal(map[string]any{"type": "FeatureCollection", "features": features})
	if err != nil {
		t.Fatal(err)
	}
	got, report, err := open.Read(strings.NewReader(string(asGeoJSON)), "us.geojson", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want, _ := read(t, "testdata/samples/us.csv", open.Options{})
	if d := cmp.Diff(want, got); d != "" || report.Format != open.USGeoJSON {
		t.Errorf("%s:\n%s", report.Format, d)
	}
}

func TestFrenchSample(t *testing.T) {
	sites, report := read(t, "testdata/samples/french.csv", open.Options{})
	want := map[string]int{"CCS2 150": 1, "CHAdeMO 150": 1, "Domestic E unknown": 1, "Type 2 22": 1, "Type 2 unknown": 1}
	if d := cmp.Diff(want, report.ByPowerKW); d != "" {
		t.Error(d)
	}
	listed(t, "rejected", report.Rejected, []string{
		"line 5, id_pdc_itinerance: found FRXXXE00012: expected each point of charge once; it stands at line 4",
		"line 6, coordonneesXY: found 2.7, 46.3", "line 8, station_deux_roues"})
	listed(t, "suspects", report.Suspects, []string{
		"line 4, puissance_nominale: found 22000: more kW", "line 7, date_maj: found 01/02/2026", "line 7, prise_type_2: found perhaps",
		"line 7, prise_type_autre", "line 7, connector"})
	if len(sites) != 3 || len(sites[0].Stalls) != 2 || sites[2].Stalls[0].ID != "" || sites[1].Access != stations.AccessCustomers || sites[0].Price.PerKWh != 0.40 || sites[1].Price == nil || sites[2].ID != "2.700000,46.300000" {
		t.Errorf("%+v", sites)
	}
}

func TestMappedSample(t *testing.T) {
	m, err := readMapFile("testdata/samples/mapped.yaml")
	if err != nil {
		t.Fatal(err)
	}
	sites, report := read(t, "testdata/samples/mapped.csv", open.Options{Map: m})
	want := map[string]int{"CCS2 150": 1, "CHAdeMO 150": 1, "Domestic F unknown": 1, "Type 2 22": 2, "Stecker X 350": 1}
	if d := cmp.Diff(want, report.ByPowerKW); d != "" {
		t.Error(d)
	}
	listed(t, "rejected", report.Rejected, []string{"line 5, lon: found x"})
	listed(t, "suspects", report.Suspects, []string{"line 4, P2 [kW]: found 11: a power without a connector", "line 6, updated: found soon"})
	if s := sites[0]; len(sites) != 2 || len(s.Stalls) != 3 || s.Country != "XX" || s.Updated != time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC) || s.Address != "Quay 1 1 Saltmere" || s.Source != "invented island" {
		t.Errorf("%+v", sites)
	}
	if !sites[1].Stalls[0].Connectors[0].DC {
		t.Error("350 kW is not alternating current")
	}
}

func TestMapErrors(t *testing.T) {
	for text, says := range map[string]string{
		"columns: {lon: a}":                                "lon and lat",
		"columns: {lon: a, lat: b}\ncolour: red":           "colour",
		"columns: {lon: a, lat: b, colour: c}":             "colour: expected a column of the own CSV",
		"columns: {lon: a, lat: b}\nstalls: [{repeat: 2}]": "stalls, entry 1",
		"columns: {lon: a, lat: b}\ngroup: [hours]":        "group: found hours",
		"columns: {lon: a, lat: b}\nseparator: ab":         "one character",
		"columns: [":                     "a column map",
		"columns: {lon: a, lat: [b, c]}": "one column each for lon and lat",
		"columns: {lon: a, lat: b}\nstalls: [{connector: CCS2, connectors: x}]": "either connectors or connector",
	} {
		if _, err := open.ReadMap(strings.NewReader(text), "map.yaml"); err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), "map.yaml") {
			t.Errorf("%q: %v", text, err)
		}
	}
	m, err := open.ReadMap(strings.NewReader("columns: {lon: x, lat: y}"), "map.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := open.Read(strings.NewReader("a,b\n1,2\n"), "a.csv", open.Options{Map: m}); err == nil || !strings.Contains(err.Error(), "a.csv, line 1, y: found a, b") {
		t.Error(err)
	}
}

func TestOCPISample(t *testing.T) {
	sites, report := read(t, "testdata/samples/ocpi-page.json", open.Options{})
	want := map[string]int{"CCS2 300": 1, "CHAdeMO 62.5": 1, "MCS 1000": 1, "J3400 11.52": 1}
	if d := cmp.Diff(want, report.ByPowerKW); d != "" {
		t.Error(d)
	}
	if report.SuspectCount+report.RejectCount != 0 || report.Closed != 1 || report.Restricted != 1 {
		t.Errorf("%+v", report)
	}
	s := sites[0]
	if s.Status != stations.StatusOperating || s.Stalls[1].Status != stations.StatusPlanned || sites[1].Access != stations.AccessPrivate || sites[1].Stalls[0].Connectors[0].DC {
		t.Errorf("%+v", sites)
	}
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		t.Fatal(err)
	}
	opening, err := hours.Parse(s.Hours)
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]hours.State{
		"2026-06-22T12:00:00Z": hours.Open,   // a Monday
		"2026-06-21T10:00:00Z": hours.Open,   // a Sunday, opened by exception
		"2026-06-21T13:00:00Z": hours.Closed, // later that day
		"2026-06-20T10:00:00Z": hours.Open,   // a Saturday
		"2026-06-25T08:00:00Z": hours.Closed,
		"2026-06-16T08:00:00Z": hours.Open,   // a Tuesday
		"2026-06-17T08:00:00Z": hours.Closed, // a Wednesday
	} {
		when, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		if got := opening.At(when.In(zone)); got != want {
			t.Errorf("%s at %s: %v, want %v", s.Hours, at, got, want)
		}
	}
}

// The words on hours that occur in the United States table.
func TestUSHours(t *testing.T) {
	rows := "Fuel Type Code,EV Connector Types,Latitude,Longitude,Access Days Time,EV DC Fast Count,Status Code\n"
	cases := [][2]string{
		{"24 hours daily", "24/7"}, {"24 Hours Daily; parking fee", "24/7"}, {"8am-5pm daily", "08:00-17:00"}, {"8am-5pm M-F", "Mo-Fr 08:00-17:00"},
		{"8am-6pm M-F, 9am-5pm Sat, 10am-4pm Sun; customer use only", "Mo-Fr 08:00-18:00; Sa 09:00-17:00; Su 10:00-16:00"},
		{"Mon 6:00am - 11:59pm; Sun 12:00am - 12:00am", "Mo 06:00-24:00; Su 00:00-24:00"},
		{"9am - 9pm", ""}, {"Dealership business hours", ""}, {"6am-9pm daily (summer); 6am-6pm daily (winter)", ""}, {"", ""},
	}
	for _, c := range cases {
		rows += "ELEC,CHADEMO,44.1,-31.2,\"" + c[0] + "\",1,E\n"
	}
	sites, report, err := open.Read(strings.NewReader(rows), "us.csv", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range cases {
		if sites[i].Hours != c[1] {
			t.Errorf("%q: %q, want %q", c[0], sites[i].Hours, c[1])
		}
	}
	if report.HoursUnknown != 4 || report.HoursUnread != 3 {
		t.Errorf("%d unknown, %d unread", report.HoursUnknown, report.HoursUnread)
	}
}

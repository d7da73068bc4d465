package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const someStations = `id,name,lon,lat,operator,connector,power_kw,stalls,currency,per_kwh
a1,Mill Bridge,10.02,50.01,North,CCS2,150,4,XTS,0.5
a1,Mill Bridge,10.02,50.01,North,Type 2,22,2,XTS,0.5
a2,Ford Inn,10.08,50.02,South,CHAdeMO,50,1,,
a3,Far Away,12,50,South,CCS2,300,8,,
,No Place,,,South,CCS2,300,8,,
`

const sameStations = `id,name,lon,lat,operator,connector,power_kw,stalls,hours
b1,,10.0201,50.0101,North Ltd,CCS2,155,4,24/7
b2,Elsewhere,10.05,50,East,CCS2,100,1,
`

const someRoute = `{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[10,50],[10.05,50],[10.1,50]]}}`

// A station that only the other direction can enter is counted, and listed
// with what is left out.
func TestNearTellsOfTheOtherDirection(t *testing.T) {
	sites := tempFile(t, "s.csv", refusalColumns+"b,,10.5,50.001,North,CCS2,dc,150,4,,,W\n")
	args := []string{"stations", "near", "--route", refusalRoad(t), "--stations", sites}
	const why = "entered from the other direction alone"
	if code, out, errOut := ampleway(t, "", args...); code != exitOK || !strings.Contains(out, "left out, "+why+": 1\n") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
	if code, out, errOut := ampleway(t, "", append(args, "--all")...); code != exitOK || !strings.Contains(out, "  "+why+"\n") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
}

// folder writes the files above and returns where.
func folder(t *testing.T) (one, other, road, out string) {
	t.Helper()
	dir := t.TempDir()
	path := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	return path("one.csv", someStations), path("other.csv", sameStations), path("road.geojson", someRoute), filepath.Join(dir, "all.parquet")
}

func TestImportMergesAndNearListsTheSame(t *testing.T) {
	one, other, road, snapshot := folder(t)
	code, out, errOut := ampleway(t, "", "stations", "import", one, other, "--source", "", "-o", snapshot)
	if code != exitOK || out != "" || !strings.Contains(errOut, "1 rejected") {
		t.Fatalf("exit %d, %q, %q", code, out, errOut)
	}
	_, fromFiles, _ := ampleway(t, "", "stations", "near", "--route", road, "--stations", one, "--stations", other, "--format", "csv")
	code, fromSnapshot, errOut := ampleway(t, "", "stations", "near", "--route", road, "--stations", snapshot, "--format", "csv")
	if code != exitOK || errOut != "" {
		t.Fatalf("exit %d, %q", code, errOut)
	}
	if fromFiles != fromSnapshot {
		t.Errorf("from the files\n%s\nfrom the snapshot\n%s", fromFiles, fromSnapshot)
	}
	if !strings.Contains(fromSnapshot, "Mill Bridge") || strings.Contains(fromSnapshot, "Far Away") {
		t.Errorf("near lists\n%s", fromSnapshot)
	}
}

func TestImportKeepsDuplicates(t *testing.T) {
	one, _, _, snapshot := folder(t)
	second := filepath.Join(filepath.Dir(one), "second.csv")
	text, _ := os.ReadFile(one)
	if err := os.WriteFile(second, text, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"stations", "import", one, "--source", "first", "-o", snapshot}, "3 stations, 3 before merging"},
		{[]string{"stations", "import", snapshot, second, "-o", snapshot}, "3 stations, 6 before merging"},
		{[]string{"stations", "import", snapshot, "--keep-duplicates", "-o", snapshot}, "6 stations, 6 before merging"},
		{[]string{"stations", "import", snapshot, "-o", snapshot}, "3 stations, 6 before merging"},
	} {
		if code, _, errOut := ampleway(t, "", c.args...); code != exitOK || !strings.Contains(errOut, c.want) {
			t.Errorf("%v: exit %d, %q, want %q", c.args, code, errOut, c.want)
		}
	}
}

func TestCheckCounts(t *testing.T) {
	one, _, _, _ := folder(t)
	code, out, _ := ampleway(t, "", "stations", "check", one, "--format", "json")
	var report struct {
		Records     int            `json:"records"`
		Sites       int            `json:"sites"`
		DCSites     int            `json:"dc_sites"`
		ByConnector map[string]int `json:"by_connector"`
		Assumed     *int           `json:"assumed_power"`
		Rejected    []struct{ Where, Reason string }
		Suspects    []any
	}
	if err := json.Unmarshal([]byte(out), &report); err != nil || code != exitOK {
		t.Fatalf("exit %d, %v: %s", code, err, out)
	}
	if report.Records != 5 || report.Sites != 3 || report.DCSites != 3 || report.Assumed == nil || *report.Assumed != 0 {
		t.Errorf("%+v", report)
	}
	if report.ByConnector["CCS2"] != 12 || report.ByConnector["Type 2"] != 2 || report.ByConnector["CHAdeMO"] != 1 {
		t.Errorf("connectors %v", report.ByConnector)
	}
	if len(report.Rejected) != 1 || !strings.Contains(report.Rejected[0].Where, "line 6") || report.Rejected[0].Reason == "" {
		t.Errorf("rejected %+v", report.Rejected)
	}
}

func TestNearFormats(t *testing.T) {
	one, _, road, _ := folder(t)
	code, text, errOut := ampleway(t, "", "stations", "near", "--route", road, "--stations", one, "--least-power", "100")
	const want = `road: 7.2 km, 1 station passed within 5.0 km in a straight line; off road is the way by road, estimated unless the data say
at km  off road  best bay     bays  station      operator  hours      price
1.4    1.6 km    CCS2 150 kW  4     Mill Bridge  North     not known  0.5 XTS/kWh
left out, too little power: 1
Stations along the road: a source that the data do not name. Licence: not stated.
`
	if code != exitOK || text != want || !strings.Contains(errOut, "1 of 5 records cannot be used") {
		t.Errorf("exit %d, %q\n%s\nwant\n%s", code, errOut, text, want)
	}
	_, text, _ = ampleway(t, "", "stations", "near", "--route", road, "--stations", one, "--format", "geojson", "--all")
	var collection struct {
		Features []struct {
			ID         string
			Geometry   struct{ Coordinates [2]float64 }
			Properties struct {
				ChainageKM float64 `json:"chainage_km"`
				Name       string
			}
		}
	}
	if err := json.Unmarshal([]byte(text), &collection); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range collection.Features {
		names = append(names, f.Properties.Name)
	}
	if !slices.Equal(names, []string{"Mill Bridge", "Ford Inn"}) || collection.Features[0].Geometry.Coordinates != [2]float64{10.02, 50.01} {
		t.Errorf("%s", text)
	}
}

func TestStationsUsage(t *testing.T) {
	one, _, road, snapshot := folder(t)
	for _, args := range [][]string{
		{"stations", "import", one},
		{"stations", "import", filepath.Join(filepath.Dir(one), "none.csv"), "-o", snapshot},
		{"stations", "import", one, "--merge-within", "0", "-o", snapshot},
		{"stations", "import", one, "--alias", "X=nothing", "-o", snapshot},
		{"stations", "import", one, "--assume-kw", "CCS1=much", "-o", snapshot},
		{"stations", "check"},
		{"stations", "check", one, "--format", "xml"},
		{"stations", "near"},
		{"stations", "near", "--route", road, "--format", "xml"},
		{"stations", "near", "--route", road, "--half-width", "0"},
		{"stations", "near", "--route", road, "--stations", snapshot},
		{"stations", "near", "--route", one, "--stations", one},
	} {
		if code, _, errOut := ampleway(t, "", args...); code != exitUsage || errOut == "" {
			t.Errorf("%v: exit %d, %q", args, code, errOut)
		}
	}
	if _, err := os.Stat(snapshot); err == nil {
		t.Error("a snapshot was left behind by an import that failed")
	}
}

// Who plans a trip is told of a column that is not known, as the check tells it.
func TestATripTellsWhatItsStationsLack(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.csv")
	must(t, os.WriteFile(file, []byte("name,lon,lat,connector,power_kw,price_per_kwh\nA,-150.9,41.7,CCS2,150,0.5\nB,far,41.7,CCS2,150,0.5\n"), 0o644))
	_, _, errOut := ampleway(t, "", "trip", "--route", "demo:pass", "--stations", "demo", "--stations", file)
	for _, want := range []string{`mine.csv: column "price_per_kwh" is not one of the own form and was left out`, "mine.csv: 1 of 2 records cannot be used"} {
		if !strings.Contains(errOut, want) {
			t.Errorf("no word of %q in %q", want, errOut)
		}
	}
}

package open_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

// compare prints the counts of connectors by power beside those of another
// tool and asks that they be equal.
func compare(t *testing.T, tool string, want, got map[string]int) {
	t.Helper()
	all := maps.Clone(want)
	maps.Copy(all, got)
	for _, key := range slices.Sorted(maps.Keys(all)) {
		t.Logf("%8d  %-8d %s", got[key], want[key], key)
		if got[key] != want[key] {
			t.Errorf("%s: %d here, %d by %s", key, got[key], want[key], tool)
		}
	}
	if len(want) == 0 {
		t.Errorf("%s counted nothing", tool)
	}
}

// sql asks GDAL's SQLite dialect for rows of plug, kW and count. An empty kW is
// "unknown".
func sql(t *testing.T, file, query string, options ...string) map[string]int {
	t.Helper()
	args := append([]string{"-f", "CSV", "/vsistdout/", file, "-dialect", "SQLITE", "-sql", query}, options...)
	out, err := exec.Command(testdata.Tool(t, "ogr2ogr"), args...).Output()
	if err != nil {
		t.Fatalf("ogr2ogr: %v", err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(out))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	counts := map[string]int{}
	for _, row := range rows[1:] {
		n, err := strconv.Atoi(row[2])
		if err != nil {
			t.Fatalf("%v: %v", row, err)
		}
		key := row[0] + " unknown"
		if kw, err := strconv.ParseFloat(row[1], 64); err == nil {
			key = fmt.Sprintf("%s %.4g", row[0], kw)
		}
		counts[key] += n
	}
	return counts
}

// jq runs a filter that gives an object of counts.
func jq(t *testing.T, filter string, files ...string) map[string]int {
	t.Helper()
	out, err := exec.Command(testdata.Tool(t, "jq"), append([]string{"-s", filter}, files...)...).Output()
	if err != nil {
		t.Fatalf("jq: %v", err)
	}
	var counts map[string]int
	if err := json.Unmarshal(out, &counts); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	return counts
}

func TestFrenchCounts(t *testing.T) {
	file := testdata.OpenData(t, "irve", "problem-rows.csv")
	var parts []string
	for _, p := range []struct {
		column, plug string
		most         float64
	}{{"prise_type_combo_ccs", "CCS2", 1000}, {"prise_type_chademo", "CHAdeMO", 200}, {"prise_type_2", "Type 2", 44}, {"prise_type_ef", "Domestic E", 3.7}} {
		kw := fmt.Sprintf("CASE WHEN CAST(puissance_nominale AS REAL) BETWEEN 0.001 AND %g THEN CAST(puissance_nominale AS REAL) END", p.most)
		parts = append(parts, fmt.Sprintf(`SELECT '%s' AS plug, %s AS kw, COUNT(*) AS n FROM "problem-rows" WHERE LOWER(%s) = 'true' GROUP BY 2`, p.plug, kw, p.column))
	}
	want := sql(t, file, strings.Join(parts, " UNION ALL "), "-oo", "AUTODETECT_TYPE=NO")
	_, report := read(t, file, open.Options{})
	compare(t, "GDAL's SQL", want, report.ByPowerKW)
	sites := sql(t, file, `SELECT 'sites', '', COUNT(DISTINCT id_station_itinerance) FROM "problem-rows"`, "-oo", "AUTODETECT_TYPE=NO")
	if report.Sites != sites["sites unknown"] || report.Records != 500 || report.RejectCount != 0 {
		t.Errorf("%d records, %d sites, %d rejected; GDAL's SQL counts %v sites", report.Records, report.Sites, report.RejectCount, sites)
	}
	t.Logf("%d sites, GDAL's SQL %d; %d suspects", report.Sites, sites["sites unknown"], report.SuspectCount)
}

// The schema's own example has a second row that is wrong on purpose: its
// identifiers are not French. Both stations can be used.
func TestFrenchExample(t *testing.T) {
	_, report := read(t, testdata.OpenData(t, "irve", "static-example.csv"), open.Options{})
	if report.Sites != 2 || report.SuspectCount != 2 || report.Suspects[0].Where != "line 3" {
		t.Errorf("%+v", report)
	}
}

func TestUSCounts(t *testing.T) {
	file := testdata.OpenData(t, "us-alt-fuel", "sample.csv")
	has := func(token string) string { return `' ' || "EV Connector Types" || ' ' LIKE '% ` + token + ` %'` }
	level1 := "(" + has("NEMA515") + " OR " + has("NEMA520") + ")"
	query := strings.Join([]string{
		`SELECT 'CCS1' AS plug, '50' AS kw, SUM(CAST("EV DC Fast Count" AS INTEGER)) AS n FROM sample WHERE ` + has("J1772COMBO"),
		`SELECT 'CHAdeMO', '50', SUM(CAST("EV DC Fast Count" AS INTEGER)) FROM sample WHERE ` + has("CHADEMO"),
		`SELECT 'J1772', '6.6', SUM(CAST("EV Level2 EVSE Num" AS INTEGER)) FROM sample WHERE ` + has("J1772"),
		`SELECT 'J1772', '1.4', SUM(CAST("EV Level1 EVSE Num" AS INTEGER)) FROM sample WHERE NOT ` + level1 + ` AND ` + has("J1772"),
		`SELECT 'NEMA 14-50', '9.6', SUM(CAST("EV Level2 EVSE Num" AS INTEGER)) FROM sample WHERE ` + has("NEMA1450"),
		`SELECT 'NEMA 5-20', '1.9', SUM(CAST("EV Level1 EVSE Num" AS INTEGER)) FROM sample WHERE ` + has("NEMA520"),
	}, " UNION ALL ")
	want := map[string]int{}
	for key, n := range sql(t, file, query, "-oo", "AUTODETECT_TYPE=NO") {
		want[key+" assumed"] = n
	}
	_, report := read(t, file, open.Options{})
	compare(t, "GDAL's SQL", want, report.ByPowerKW)
	if report.AssumedPower != sum(report.ByConnector) || len(report.Notes) == 0 {
		t.Errorf("%d assumed, notes %q", report.AssumedPower, report.Notes)
	}
	none, bare := read(t, file, open.Options{AssumedKW: map[stations.ConnectorType]float64{}})
	if bare.AssumedPower != 0 || bare.UnknownPower != sum(bare.ByConnector) {
		t.Errorf("without defaults: %+v", bare)
	}
	if kw, _ := none[0].MaxPowerKW(); kw != 0 {
		t.Errorf("%g kW out of nothing", kw)
	}
}

func sum(counts map[string]int) int {
	n := 0
	for _, v := range counts {
		n += v
	}
	return n
}

func TestGermanCounts(t *testing.T) {
	file := testdata.OpenData(t, "bnetza", "cologne.csv")
	m, err := readMapFile("testdata/maps/german.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var parts []string
	for n := 1; n <= 4; n++ {
		kw := fmt.Sprintf(`CAST(REPLACE("P%d [kW]", ',', '.') AS REAL)`, n)
		words := fmt.Sprintf(`', ' || "Steckertypen%d" || ','`, n)
		for _, p := range []struct {
			word, plug string
			most       float64
		}{{"AC Steckdose Typ 2", "Type 2", 44}, {"AC Kupplung Typ 2", "Type 2", 44}, {"AC Schuko", "Domestic F", 3.7}, {"DC Kupplung Combo", "CCS2", 1000}, {"DC CHAdeMO", "CHAdeMO", 200}} {
			parts = append(parts, fmt.Sprintf(`SELECT '%s' AS plug, CASE WHEN %s <= %g THEN %s END AS kw, COUNT(*) AS n FROM cologne WHERE %s LIKE '%% %s,%%' GROUP BY 2`, p.plug, kw, p.most, kw, words, p.word))
		}
	}
	want := sql(t, file, strings.Join(parts, " UNION ALL "), "-oo", "AUTODETECT_TYPE=NO")
	_, report := read(t, file, open.Options{Map: m})
	compare(t, "GDAL's SQL", want, report.ByPowerKW)
	if report.Records != 290 || report.RejectCount != 0 || report.NotNamed != 0 {
		t.Errorf("%+v", report)
	}
}

// OCPI: the published example documents of both versions. Power as the
// standard says: max_electric_power, else volts times amps, times three for
// AC_3_PHASE, whose volts are from line to neutral.
const ocpiCount = `[.[] | .evses[]?.connectors[] |
  {plug: {"IEC_62196_T2": "Type 2", "IEC_62196_T2_COMBO": "CCS2", "CHADEMO": "CHAdeMO", "IEC_62196_T1": "J1772"}[.standard],
   kw: ((if .max_electric_power then .max_electric_power else .max_voltage * .max_amperage * (if .power_type == "AC_3_PHASE" then 3 else 1 end) end) / 1000)}]
  | group_by([.plug, .kw]) | map({key: "\(.[0].plug) \(.[0].kw)", value: length}) | from_entries`

func TestOCPICounts(t *testing.T) {
	for _, version := range []string{"2.2.1", "2.3.0"} {
		files, err := filepath.Glob(filepath.Join(testdata.OpenData(t, "ocpi", version), "location_example*.json"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%v: %d files", err, len(files))
		}
		got := map[string]int{}
		for _, file := range files {
			_, report := read(t, file, open.Options{})
			if report.Format != open.OCPI || report.Sites != 1 || report.RejectCount+report.SuspectCount > 0 {
				t.Errorf("%s: %+v", file, report)
			}
			for key, n := range report.ByPowerKW {
				got[key] += n
			}
		}
		compare(t, "jq", jq(t, ocpiCount, files...), got)
	}
}

// OpenStreetMap: the sockets of the invented island, filtered by osmium and
// counted by jq by the keys of the tags alone.
func TestOSMCounts(t *testing.T) {
	osmium := testdata.Tool(t, "osmium")
	dir := t.TempDir()
	filtered := filepath.Join(dir, "stations.osm.pbf")
	exported := filepath.Join(dir, "stations.geojson")
	for _, args := range [][]string{
		{"tags-filter", island, "amenity=charging_station", "disused:amenity=charging_station", "-o", filtered},
		{"export", filtered, "-f", "geojson", "-u", "type_id", "--geometry-types=point,polygon", "-o", exported},
	} {
		if out, err := exec.Command(osmium, args...).CombinedOutput(); err != nil {
			t.Fatalf("osmium: %v\n%s", err, out)
		}
	}
	want := jq(t, `[.[].features[].properties | select((.amenity // ."disused:amenity") == "charging_station" and .motorcar != "no")
	  | to_entries[] | select(.key | test("^socket:[^:]+$"))
	  | {key: {"type2_combo": "CCS2", "chademo": "CHAdeMO", "type2": "Type 2", "type2_cable": "Type 2", "type1": "J1772", "xplug": "xplug"}[.key[7:]], n: (if .value == "yes" then 1 else .value | tonumber end)}]
	  | group_by(.key) | map({key: .[0].key, value: (map(.n) | add)}) | from_entries`, exported)
	for _, name := range []string{island, filtered, exported} {
		_, report := read(t, name, open.Options{})
		compare(t, "osmium and jq", want, report.ByConnector)
	}
}

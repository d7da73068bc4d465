package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// machineWords are what belongs to the program or its libraries and says
// nothing to who gave the file.
var machineWords = regexp.MustCompile(`(^|\s)(json|yaml|xml|csv|gob|gzip|zip|parquet): |encoding/|strconv\.|parsing "|unmarshal|Unmarshal|invalid character|unexpected (end of JSON|EOF)|` +
	`Go (value|struct)|of type|\b(u?int|float)\d+\b|\bmap\[|\[\](string|byte|float)|interface \{|<nil>|%!|main\.|\bpanic\b|goroutine|runtime error|` +
	`reflect|syntax error|\b(read|open) \S+: |\btoken\b|map(ping)? (key|value)|alias|at \[\d`)

// Every command tells of a broken input in the words of the file: its name, and
// nothing of the program's own types and libraries.
func TestBrokenInputsAreToldInPlainWords(t *testing.T) {
	const (
		road = `{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[0,0],[0,1]]}}`
		car  = "name: x\nusable_kwh: 50\n"
		home = "households:\n  ours:\n    tariff: t\n    cars:\n      - {class: van, home_from: \"18:00\", home_until: \"07:00\", daily_km: {mo: 20}, road_kmh: 50}\n"
	)
	folder := t.TempDir()
	must(t, os.WriteFile(filepath.Join(folder, "road.geojson"), []byte(road), 0o644))
	must(t, os.WriteFile(filepath.Join(folder, "good.csv"), []byte("id,lat,lon,connector,kw\na,0,0,CCS2,50\n"), 0o644))
	must(t, os.Mkdir(filepath.Join(folder, "folder"), 0o755))
	at := func(name string) string { return filepath.Join(folder, name) }
	must(t, os.Mkdir(filepath.Join(folder, "part"), 0o755))
	trip := []string{"trip", "--route", at("road.geojson"), "--stations", at("good.csv"), "--car"}
	for _, c := range []struct {
		name    string // of the file; "folder" is one
		content string
		command []string // the path is added at its end, but for a file of the folder part
	}{
		{"words.yaml", car + "mass_kg: heavy\n", trip},
		{"unknown.yaml", car + "colour: red\n", trip},
		{"list.yaml", "usable_kwh: [50]\n", trip},
		{"number.yaml", "dc_taper: 5\n", trip},
		{"large.yaml", "usable_kwh: 1e999\n", trip},
		{"whole.yaml", "ac: {power_kw: 11, phases: 99999999999999999999, current_a: 16}\n", trip},
		{"cut.json", `{"name": "x", "usable_kwh": `, trip},
		{"type.json", `{"usable_kwh": {"of": "new"}}`, []string{"car", "show"}},
		{"null.json", `null`, []string{"car", "show"}},
		{"text.json", `"a car"`, []string{"car", "show"}},
		{"tab.yaml", "road_load:\n\trolling_coefficient: 0.01\n", []string{"car", "show"}},
		{"twice.yaml", car + "name: y\n", []string{"car", "show"}},
		{"empty.yaml", "", []string{"car", "show"}},
		{"binary.yaml", "\x00\x01\xff\xfe", []string{"car", "show"}},
		{"anchor.yaml", "name: *nowhere\n", []string{"car", "show"}},
		{"colon.yaml", "name: a: b\n", []string{"car", "show"}},
		{"prose.yaml", car + "a big car\n", []string{"car", "show"}},
		{"quote.yaml", "name: \"x\nusable_kwh: 50\n", []string{"car", "show"}},
		{"indent.yaml", "name: x\n  usable_kwh: 50\n", []string{"car", "show"}},
		{"brace.yaml", "ac: {power_kw: 11, phases: 3\n", []string{"car", "show"}},
		{"bool.yaml", "made_from: true\nclimate: yes\n", []string{"car", "show"}},
		{"fraction.yaml", "ac: {power_kw: 11, phases: one, current_a: 16}\n", []string{"car", "show"}},
		{"comma.json", `{"name": "x",, "usable_kwh": 50}`, []string{"car", "show"}},
		{"folder", "", []string{"car", "show"}},
		{"missing.yaml", "-", []string{"car", "show"}},
		{"folder", "", trip},
		{"serve.yaml", "usable_kwh: lots\n", []string{"serve", "--addr", "127.0.0.1:0", "--car"}},
		{"folder", "", []string{"serve", "--addr", "127.0.0.1:0", "--car"}},
		{"serve.geojson", road[:60], []string{"serve", "--addr", "127.0.0.1:0", "--stations", at("good.csv"), "--route"}},
		{"folder", "", []string{"serve", "--addr", "127.0.0.1:0", "--stations", at("good.csv"), "--route"}},
		{"serve.csv", "id,lat\n", []string{"serve", "--addr", "127.0.0.1:0", "--stations"}},
		{"like.yaml", "usable_kwh: lots\n", []string{"car", "new", "--usable-kwh", "50", "--assume", "--like"}},

		{"cut.geojson", road[:len(road)-9], []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"type.geojson", `{"type": 5}`, []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"point.geojson", strings.Replace(road, "[0,1]", `["0",1]`, 1), []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"large.geojson", strings.Replace(road, "[0,1]", `[0,1e999]`, 1), []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"properties.geojson", strings.Replace(road, "{}", `[]`, 1), []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"comma.geojson", strings.Replace(road, "{}", `{},`, 1), []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"empty.geojson", "", []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"folder", "", []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"lat.gpx", `<gpx><trk><trkseg><trkpt lat="north" lon="0"/><trkpt lat="1" lon="0"/></trkseg></trk></gpx>`, []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"large.gpx", `<gpx><trk><trkseg><trkpt lat="1e999" lon="0"/><trkpt lat="1" lon="0"/></trkseg></trk></gpx>`, []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"cut.gpx", `<gpx><trk><trkseg><trkpt lat="0" lon="0"/><trkpt lat="1"`, []string{"trip", "--stations", at("good.csv"), "--route"}},
		{"near.gpx", `<gpx><trk></gpx>`, []string{"stations", "near", "--route"}},
		{"folder", "", []string{"stations", "near", "--route"}},

		{"lat.csv", "id,lat,lon,connector,kw\na,north,0,CCS2,50\n", []string{"stations", "check"}},
		{"header.csv", "id,lat,lon\n", []string{"stations", "check"}},
		{"quote.csv", "id,lat,lon\n\"a,1,2\n", []string{"stations", "check"}},
		{"cut-sites.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[0,`, []string{"stations", "check"}},
		{"type-sites.geojson", `{"type":"FeatureCollection","features":{"a":1}}`, []string{"stations", "check"}},
		{"ocpi.json", `{"data":[{"id":5,"coordinates":{"latitude":true},"evses":{}}]}`, []string{"stations", "check"}},
		{"kinds.json", `{"data":[{"id":"5","coordinates":5},{"id":"6","evses":{}},{"id":"7","last_updated":[]}]}`, []string{"stations", "check"}},
		{"kinds.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","id":"a","properties":{"name":"x","connector":5,"power_kw":"much"},"geometry":{"type":"Point","coordinates":[0,0]}},{"type":"Feature","properties":5,"geometry":[]}]}`, []string{"stations", "check"}},
		{"cut.osm", `<osm version="0.6"><node id="1" lat="0"`, []string{"stations", "check"}},
		{"folder", "", []string{"stations", "check"}},
		{"folder", "", []string{"stations", "import", "-o", at("out.parquet")}},
		{"cut.parquet", "PAR1xxxxxxxxxxxxPAR1", []string{"stations", "near", "--route", at("road.geojson"), "--stations"}},
		{"cut.csv.gz", "\x1f\x8b\x08\x00\x00", []string{"stations", "check"}},
		{"map.yaml", "columns: [a, b]\n", []string{"stations", "check", at("good.csv"), "--map"}},
		{"map-key.yaml", "colums: {}\n", []string{"stations", "check", at("good.csv"), "--map"}},
		{"folder", "", []string{"stations", "check", at("good.csv"), "--map"}},
		{"status.json", `{"data": [{"id": 5, "evses": "x"}]}`, []string{"trip", "--status"}},
		{"cut-status.json", `{"data": [{"id": "5", `, []string{"trip", "--status"}},
		{"folder", "", []string{"trip", "--status"}},
		{"places.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":5},"geometry":{"type":"Point","coordinates":"x"}}]}`, []string{"trip", "--stations", at("good.csv"), "--from", "a", "--to", "b", "--router", "false", "--places"}},
		{"cut-places.geojson", `{"type":"FeatureCollection","features":[{`, []string{"trip", "--stations", at("good.csv"), "--from", "a", "--to", "b", "--router", "false", "--places"}},
		{"type-places.geojson", `{"type":"FeatureCollection","features":5}`, []string{"trip", "--stations", at("good.csv"), "--from", "a", "--to", "b", "--router", "false", "--places"}},
		{"places.txt", "1\tA\tA\t\tnorth\t0\tP\tPPL\n", []string{"trip", "--stations", at("good.csv"), "--from", "a", "--to", "b", "--router", "false", "--places"}},
		{"folder", "", []string{"trip", "--stations", at("good.csv"), "--from", "a", "--to", "b", "--router", "false", "--places"}},
		{"N00E000.hgt", "short", []string{"trip", "--stations", at("good.csv"), "--route", at("road.geojson"), "--heights"}},

		{"home.yaml", strings.Replace(home, "road_kmh: 50", "road_kmh: fast", 1), []string{"year", "--households"}},
		{"home-list.yaml", "households: [a]\n", []string{"year", "--households"}},
		{"home-key.yaml", home + "    rooms: 5\n", []string{"year", "--households"}},
		{"home.json", `{"households": {"ours": `, []string{"year", "--households"}},
		{"home-time.yaml", strings.Replace(home, "18:00", "25:00", 1), []string{"year", "--households"}},
		{"folder", "", []string{"year", "--households"}},
		{"tariffs.yaml", "tariffs: {t: {currency: USD, per_kwh: cheap}}\n", []string{"year", "--tariffs"}},
		{"folder", "", []string{"year", "--tariffs"}},
		{"climate.yaml", "months: {a: 1}\n", []string{"year", "--climate"}},
		{"climate-large.yaml", "months:\n  - {month: 99999999999999999999}\n", []string{"year", "--climate"}},
		{"study.yaml", "cars: 5\n", []string{"margins"}},
		{"study-key.yaml", "colour: red\n", []string{"margins"}},
		{"study.json", `{"cars": [`, []string{"margins"}},
		{"folder", "", []string{"margins"}},
		{"part/manifest.json", `{"cases": `, []string{"margins", "join", "-o", at("whole"), at("part")}},
		{"part/manifest.json", `{"study": 5}`, []string{"margins", "compare", at("part"), at("part")}},
		{"log.csv", "time_s,speed_kmh,battery_v,battery_a\n0,fast,400,5\n", []string{"car", "fit"}},
		{"log-quote.csv", "time_s,speed_kmh,battery_v,battery_a\n0,\"1,2,3\n", []string{"car", "fit"}},
		{"log-empty.csv", "", []string{"car", "fit"}},
		{"folder", "", []string{"car", "fit"}},
		{"table.csv", "a,b\n\"1,2\n", []string{"car", "new", "--find", "x", "--table"}},
		{"folder", "", []string{"car", "new", "--find", "x", "--table"}},
	} {
		path := at(c.name)
		if c.name != "folder" && c.content != "-" {
			must(t, os.WriteFile(path, []byte(c.content), 0o644))
		}
		command := append([]string{}, c.command...)
		if !strings.HasPrefix(c.name, "part/") {
			command = append(command, path)
		}
		code, out, errOut := ampleway(t, "", command...)
		said := strings.ReplaceAll(errOut, folder+string(filepath.Separator), "")
		if code != exitUsage {
			t.Errorf("%v %s: exit code %d, %q", c.command, c.name, code, said)
		}
		if !strings.Contains(said, c.name) {
			t.Errorf("%v: the message does not name %s: %q", c.command, c.name, said)
		}
		if word := machineWords.FindString(said + out); word != "" {
			t.Errorf("%v %s: %q in %q", c.command, c.name, word, said+out)
		}
	}
}

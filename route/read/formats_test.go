package read_test

import (
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/twpayne/go-polyline"
	"pgregory.net/rapid"

	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/read"
)

var nan = math.NaN()

var near = cmp.Options{cmpopts.EquateApprox(0, 1e-9), cmpopts.EquateNaNs()}

func parse(t testing.TB, text string, o read.Options) *route.Route {
	t.Helper()
	r, err := read.Read(strings.NewReader(text), "file.x", o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func wantPoints(t *testing.T, r *route.Route, want []route.Point) {
	t.Helper()
	if d := cmp.Diff(want, r.Points(), near); d != "" {
		t.Error(d)
	}
}

func TestGPX(t *testing.T) {
	for _, test := range []struct {
		name, text string
		wantName   string
		want       []route.Point
		note       string
	}{
		{
			"1.1 track with elevations, its name before the file's",
			`<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">
			<metadata><name>file</name></metadata><wpt lat="1" lon="2"/>
			<trk><name> Coast &amp; hills </name><trkseg>
			<trkpt lat="45.1" lon="7.1"><ele>250.5</ele><extensions><a:speed xmlns:a="urn:a">99</a:speed></extensions></trkpt>
			<trkpt lat="45.11" lon="7.11"/></trkseg></trk></gpx>`,
			"Coast & hills",
			[]route.Point{{Lon: 7.1, Lat: 45.1, ElevationM: 250.5}, {Lon: 7.11, Lat: 45.11, ElevationM: nan}}, "",
		},
		{
			"1.0 with a name at the top and speeds of its own",
			`<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"><name>old</name>
			<trk><trkseg><trkpt lat="45.1" lon="7.1"><speed>20</speed></trkpt><trkpt lat="45.2" lon="7.2"><speed>900</speed></trkpt><trkpt lat="45.3" lon="7.2"/></trkseg></trk></gpx>`,
			"old",
			[]route.Point{{Lon: 7.1, Lat: 45.1, ElevationM: nan, SpeedMS: 20}, {Lon: 7.2, Lat: 45.2, ElevationM: nan}, {Lon: 7.2, Lat: 45.3, ElevationM: nan}}, "",
		},
		{
			"a route, and a namespace prefix",
			`<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1"><g:rte><g:name>way</g:name><g:rtept lat="45.1" lon="7.1"/><g:rtept lat="45.11" lon="7.1"/></g:rte></g:gpx>`,
			"way",
			[]route.Point{{Lon: 7.1, Lat: 45.1, ElevationM: nan}, {Lon: 7.1, Lat: 45.11, ElevationM: nan}}, "",
		},
		{
			"a track goes before a route",
			`<gpx><rte><rtept lat="5" lon="7"/><rtept lat="6" lon="7"/></rte><trk><trkseg><trkpt lat="45.1" lon="7.1"/><trkpt lat="45.11" lon="7.1"/></trkseg></trk></gpx>`,
			"file",
			[]route.Point{{Lon: 7.1, Lat: 45.1, ElevationM: nan}, {Lon: 7.1, Lat: 45.11, ElevationM: nan}},
			"Routes left out, as the file has tracks too: 1.",
		},
		{
			"tracks and segments that nearly meet",
			`<gpx><trk><trkseg><trkpt lat="45.1" lon="7.1"/><trkpt lat="45.11" lon="7.1"/></trkseg><trkseg/></trk>
			<trk><trkseg><trkpt lat="45.112" lon="7.1"/><trkpt lat="45.12" lon="7.1"/></trkseg></trk></gpx>`,
			"file",
			[]route.Point{{Lon: 7.1, Lat: 45.1, ElevationM: nan}, {Lon: 7.1, Lat: 45.11, ElevationM: nan}, {Lon: 7.1, Lat: 45.112, ElevationM: nan}, {Lon: 7.1, Lat: 45.12, ElevationM: nan}},
			"Joined across a gap of 222 m: track 1 segment 1 and track 2 segment 1.",
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := parse(t, test.text, read.Options{})
			wantPoints(t, r, test.want)
			if r.Name != test.wantName || strings.Join(r.Notes, "\n") != test.note {
				t.Errorf("name %q, notes %q; want %q, %q", r.Name, r.Notes, test.wantName, test.note)
			}
		})
	}
}

func TestParts(t *testing.T) {
	const text = `{"type":"MultiLineString","coordinates":[[[7,45],[7,45.01]],[[7,46],[7,46.01]],[[7,46.0101],[7,46.02]]]}`
	if r := parse(t, text, read.Options{Part: 2}); r.Point(0).Lat != 46 || r.Len() != 2 {
		t.Errorf("part 2 is %v", r.Points())
	}
	if r := parse(t, text, read.Options{JoinM: 200e3}); r.Len() != 6 {
		t.Errorf("joined across the gap: %d points", r.Len())
	}
	_, err := read.Read(strings.NewReader(text), "f", read.Options{Part: 4})
	wantFault(t, err, "f", "part: found 4: expected 1 to 3, the parts of this file")
	_, err = read.Read(strings.NewReader(text[:51]+"]}"), "f", read.Options{Part: -1})
	if err == nil {
		t.Error("part -1 is taken")
	}
	const near = `{"type":"MultiLineString","coordinates":[[[7,45],[7,45.01]],[[7,45.012],[7,45.02]]]}`
	if r := parse(t, near, read.Options{JoinM: 223}); r.Len() != 4 {
		t.Errorf("joined across 222 m: %d points", r.Len())
	}
	_, err = read.Read(strings.NewReader(near), "f", read.Options{JoinM: 222})
	wantFault(t, err, "f", "line 1 to line 2: found a gap of 222 m between the 2 parts of the line: expected parts in driving order with gaps up to 222 m (choose one part, or allow a wider gap)")
	const meeting = `{"type":"MultiLineString","coordinates":[[[7,45],[7,45.01]],[[7,45.01],[7,45.02]],[[7,45.0201],[7,45.03]]]}`
	_, err = read.Read(strings.NewReader(meeting), "f", read.Options{JoinM: -1})
	wantFault(t, err, "f", "line 2 to line 3: found a gap of 11 m between the 3 parts of the line: expected parts in driving order with gaps up to 0 m (choose one part, or allow a wider gap)")
}

func TestGeoJSON(t *testing.T) {
	two := []route.Point{{Lon: 7, Lat: 45, ElevationM: 100}, {Lon: 7, Lat: 45.01, ElevationM: nan}}
	four := append(two[:2:2], route.Point{Lon: 7, Lat: 45.012, ElevationM: nan}, route.Point{Lon: 7, Lat: 45.02, ElevationM: nan})
	line := `{"type":"LineString","coordinates":[[7,45,100],[7,45.01]]}`
	next := `{"type":"LineString","coordinates":[[7,45.012],[7,45.02]]}`
	for _, test := range []struct {
		name, text, wantName string
		want                 []route.Point
	}{
		{"LineString", line, "file", two},
		{"MultiLineString", `{"type":"MultiLineString","coordinates":[[[7,45,100],[7,45.01]],[[7,45.012],[7,45.02]]]}`, "file", four},
		{"Feature", `{"type":"Feature","id":1,"properties":{"name":"street"},"geometry":` + line + `}`, "street", two},
		{"Feature without properties", `{"type":"Feature","geometry":` + line + `}`, "file", two},
		{"FeatureCollection", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":7},"geometry":` + line + `},
			{"type":"Feature","properties":null,"geometry":{"type":"Point","coordinates":[1,2]}},{"type":"Feature","properties":null,"geometry":` + next + `}]}`, "file", four},
		{"GeometryCollection", `{"type":"GeometryCollection","geometries":[` + line + `,{"type":"GeometryCollection","geometries":[` + next + `]}]}`, "file", four},
		{"null elevation", `{"type":"LineString","coordinates":[[7,45,100],[7,45.01,null]]}`, "file", two},
		{"more than three numbers", `{"type":"LineString","coordinates":[[7,45,100,5,6],[7,45.01]]}`, "file", two},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := parse(t, test.text, read.Options{})
			wantPoints(t, r, test.want)
			if r.Name != test.wantName {
				t.Errorf("name %q, want %q", r.Name, test.wantName)
			}
		})
	}
}

func TestGeoJSONSpeeds(t *testing.T) {
	feature := func(speeds, geometry string) string {
		return `{"type":"Feature","properties":{"speed_kmh":` + speeds + `},"geometry":` + geometry + `}`
	}
	const line = `{"type":"LineString","coordinates":[[7,45],[7,45.01],[7,45.02]]}`
	const lines = `{"type":"MultiLineString","coordinates":[[[7,45],[7,45.01],[7,45.02]],[[7,45.02],[7,45.03]]]}`
	for _, test := range []struct {
		name, text string
		wantKmH    []float64
	}{
		{"one number", feature("90", line), []float64{90, 90, 0}},
		{"one a piece", feature("[36,72]", line), []float64{36, 72, 0}},
		{"one a position", feature("[36,72,108]", line), []float64{36, 72, 0}},
		{"unknown", feature("[null,72]", line), []float64{0, 72, 0}},
		{"none", feature("null", line), []float64{0, 0, 0}},
		{"lists of lists", feature("[[36,72],[108]]", lines), []float64{36, 72, 108, 0}},
		{"one number a line", feature("[36,72]", lines), []float64{36, 36, 72, 0}},
		{"one number for all lines", feature("50", lines), []float64{50, 50, 50, 0}},
	} {
		t.Run(test.name, func(t *testing.T) {
			var got []float64
			for _, p := range parse(t, test.text, read.Options{}).All() {
				got = append(got, p.SpeedMS*3.6)
			}
			if d := cmp.Diff(test.wantKmH, got, near); d != "" {
				t.Error(d)
			}
		})
	}
	for _, bad := range []string{feature(`"fast"`, line), feature(`[1,"fast"]`, line), feature("[[1,2]]", lines), feature("[1,2,3]", lines), feature("400", line)} {
		if _, err := read.Read(strings.NewReader(bad), "f", read.Options{}); err == nil || !strings.Contains(err.Error(), "speed_kmh") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

// The worked example printed in the public description of the encoded
// polyline algorithm: (38.5, -120.2), (40.7, -120.95), (43.252, -126.453).
func TestPolylineWorkedExample(t *testing.T) {
	want := []route.Point{{Lon: -120.2, Lat: 38.5, ElevationM: nan}, {Lon: -120.95, Lat: 40.7, ElevationM: nan}, {Lon: -126.453, Lat: 43.252, ElevationM: nan}}
	const example = "_p~iF~ps|U_ulLnnqC_mqNvxq`@"
	for name, text := range map[string]string{"bare": example, "line ends": "\r\n" + example + "\r\n\r\n", "quoted": `"` + example + `"`} {
		t.Run(name, func(t *testing.T) {
			wantPoints(t, parse(t, text, read.Options{}), want)
			wantPoints(t, parse(t, text, read.Options{Format: read.Polyline5}), want)
		})
	}
}

// The manual of PostGIS gives `_izlhA~rlgdF` with 6 decimals for one position
// that starts at longitude -120.2, latitude 38.5 (ST_AsEncodedPolyline).
func TestPolylinePrecision6(t *testing.T) {
	const text = "_izlhA~rlgdF_{geC~ywl@_kwzCn`{nI"
	want := []route.Point{{Lon: -120.2, Lat: 38.5, ElevationM: nan}, {Lon: -120.95, Lat: 40.7, ElevationM: nan}, {Lon: -126.453, Lat: 43.252, ElevationM: nan}}
	r := parse(t, text, read.Options{})
	wantPoints(t, r, want)
	wantPoints(t, parse(t, text, read.Options{Format: read.Polyline6}), want)
	if !strings.Contains(strings.Join(r.Notes, "\n"), "with 6 decimals") {
		t.Errorf("notes %q", r.Notes)
	}
	_, err := read.Read(strings.NewReader(text), "f", read.Options{Format: read.Polyline5})
	wantFault(t, err, "f", "line 1, position 1, latitude: found 385: expected degrees within ±90")
}

// A backslash that a JSON string doubles is taken back by the quotation
// marks, and several lines are parts.
func TestPolylineQuotedAndInLines(t *testing.T) {
	text := `"` + strings.ReplaceAll(encode(5, [][]float64{{45, 7}, {45.01, 7.00029}}), `\`, `\\`) + `"` + "\n\n" + encode(5, [][]float64{{45.01, 7.00029}, {45.02, 7}}) + "\n"
	wantPoints(t, parse(t, text, read.Options{}), []route.Point{{Lon: 7, Lat: 45, ElevationM: nan}, {Lon: 7.00029, Lat: 45.01, ElevationM: nan}, {Lon: 7, Lat: 45.02, ElevationM: nan}})
	_, err := read.Read(strings.NewReader("??\n?a b?"), "f", read.Options{Format: read.Polyline5})
	wantFault(t, err, "f", "line 2, byte 3: found ' ': expected the characters '?' to '~' of an encoded polyline")
}

func encode(precision int, latLon [][]float64) string {
	return string(polyline.Codec{Dim: 2, Scale: math.Pow10(precision)}.EncodeCoords(nil, latLon))
}

// What is written with a precision is read back to half of its last decimal.
func TestPolylineRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		precision := rapid.SampledFrom([]int{5, 6}).Draw(t, "precision")
		format := map[int]read.Format{5: read.Polyline5, 6: read.Polyline6}[precision]
		latLon := [][]float64{{45, 7}}
		for range rapid.IntRange(1, 50).Draw(t, "points") {
			latLon = append(latLon, []float64{rapid.Float64Range(1, 89).Draw(t, "lat"), rapid.Float64Range(-179, 179).Draw(t, "lon")})
		}
		r, err := read.Read(strings.NewReader(encode(precision, latLon)), "f", read.Options{Format: format})
		if err != nil {
			t.Fatal(err)
		}
		if r.Len() != len(latLon) {
			t.Skip("two positions fell together")
		}
		half := 0.500001 * math.Pow10(-precision)
		for i, p := range r.All() {
			if math.Abs(p.Lat-latLon[i][0]) > half || math.Abs(p.Lon-latLon[i][1]) > half {
				t.Fatalf("point %d is %v, was %v", i, p, latLon[i])
			}
		}
	})
}

// GPX and GeoJSON of the same points read the same.
func TestFormatsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := points(rapid.Float64Range(-179, 179).Draw(t, "lon"), rapid.IntRange(2, 30).Draw(t, "points"))
		a, errA := read.Read(strings.NewReader(gpx(list...)), "f.x", read.Options{})
		b, errB := read.Read(strings.NewReader(geojson(list...)), "f.y", read.Options{})
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if d := cmp.Diff(a.Points(), b.Points(), near); d != "" {
			t.Fatal(d)
		}
	})
}

func TestStandardInput(t *testing.T) {
	in, out, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	stdin := os.Stdin
	os.Stdin = in
	defer func() { os.Stdin = stdin }()
	if _, err := out.WriteString(geojson(points(7, 3)...)); err != nil {
		t.Fatal(err)
	}
	out.Close()
	r, err := input.Here.Route("-")
	if err != nil {
		t.Fatal(err)
	}
	if r.Name != "route" || r.Len() != 3 {
		t.Errorf("%q with %d points", r.Name, r.Len())
	}
}

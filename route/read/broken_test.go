package read_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/read"
	"ampleway/testdata"
)

// rejected lists the broken files and the error that each must give.
var rejected = map[string]string{
	"bad-elevation.gpx":          `line 5, ele: found "high": expected a number of metres`,
	"bad-time.gpx":               `line 4, time: found "yesterday": expected an ISO 8601 time such as 2026-03-01T08:30:00Z`,
	"bare-list.geojson":          `found a JSON list: expected a GeoJSON object such as {"type": "LineString", ...}`,
	"binary.bin":                 `found bytes 0e 10 d9 07 4a 1b 00 00 2e 46 49 54 91 33: expected GPX, GeoJSON or an encoded polyline`,
	"blank.gpx":                  `found an empty file: expected GPX, GeoJSON or an encoded polyline`,
	"compressed.gpx.gz":          `found a gzip archive (unpack it first): expected GPX, GeoJSON or an encoded polyline`,
	"decimal-comma.gpx":          `line 4, lat: found "45,10": expected decimal degrees with a decimal point`,
	"deep.gpx":                   `line 3: found elements inside elements: expected at most 64 levels`,
	"empty-line.geojson":         `found no line: expected a line of at least two different positions`,
	"empty-track.gpx":            `found 0 waypoints and no line: expected GPX with a track or a route`,
	"empty.gpx":                  `found an empty file: expected GPX, GeoJSON or an encoded polyline`,
	"entities.gpx":               `line 6, DOCTYPE: found an entity declaration: expected a file without entity declarations`,
	"flat-coordinates.geojson":   `position 1, coordinates: found -30.1: expected longitude, latitude and perhaps elevation, all finite numbers`,
	"gap.gpx":                    `track 1 segment 1 to track 1 segment 2: found a gap of 53049 m between the 2 parts of the line: expected parts in driving order with gaps up to 1000 m (choose one part, or allow a wider gap)`,
	"huge-number.geojson":        `position 2, coordinates: found [-30.2,1e999]: expected longitude, latitude and perhaps elevation, all finite numbers`,
	"infinite.gpx":               `line 5, lon: found "-Inf": expected decimal degrees with a decimal point`,
	"missing-lat.gpx":            `line 5, lat: found no such attribute in <trkpt>: expected decimal degrees with a decimal point`,
	"nan.geojson":                `line 1: expected well-formed JSON: the character N cannot stand there`,
	"nan.gpx":                    `line 5, lat: found "NaN": expected decimal degrees with a decimal point`,
	"negative-speed.geojson":     `feature 1, speed_kmh: found -60: expected 0 to 252 km/h`,
	"nested-collections.geojson": `found geometry collections inside each other: expected at most 16 levels`,
	"no-coordinates.geojson":     `coordinates: found nothing: expected a list of positions`,
	"no-type.geojson":            `type: found nothing: expected a GeoJSON type such as LineString, Feature or FeatureCollection`,
	"not-a-feature.geojson":      `feature 1, type: found "LineString": expected Feature`,
	"not-utf8.gpx":               `line 3: expected well-formed XML: invalid UTF-8`,
	"null-island.gpx":            `track 1 segment 1, position: found longitude 0, latitude 0 far from its neighbours: expected a real position (0, 0 is what a receiver writes without a fix)`,
	"null-position.geojson":      `position 2, coordinates: found [null,45.2]: expected longitude, latitude and perhaps elevation, all finite numbers`,
	"one-number.geojson":         `position 2, coordinates: found [-30.2]: expected longitude, latitude and perhaps elevation, all finite numbers`,
	"one-place.geojson":          `found 1 different positions in 3 points: expected a line of at least two different positions`,
	"other.kml":                  `line 2, root element: found <kml>: expected GPX, with the root element <gpx>`,
	"points-only.geojson":        `found no line: expected GeoJSON with a LineString or a MultiLineString`,
	"polyline-off-earth.txt":     `line 1, position 1, latitude: found 95 beside longitude 0.1: expected degrees within ±90 (longitude and latitude look swapped) with 5 or with 6 decimals`,
	"polyline-overflow.txt":      `line 1: expected a complete encoded polyline: it holds a number too large for a position`,
	"polyline-strange.txt":       `found _p~iF~ps|U_ulLnnqC 12: expected GPX, GeoJSON or an encoded polyline`,
	"polyline-truncated.txt":     `line 1: expected a complete encoded polyline: it ends in the middle of a number`,
	"projected.geojson":          `position 1, latitude: found 5635549.2: expected degrees within ±90 of WGS 84 (this looks like a projected coordinate)`,
	"speeds-length.geojson":      `feature 1, speed_kmh: found [50,60,70,80,90]: expected a list of 2 numbers, one a piece`,
	"strings.geojson":            `position 2, coordinates: found ["-30.2","45.2"]: expected longitude, latitude and perhaps elevation, all finite numbers`,
	"swapped.geojson":            `position 1, latitude: found -120.1 beside longitude 45.1: expected degrees within ±90 (longitude and latitude look swapped)`,
	"swapped.gpx":                `line 4, latitude: found -120.1 beside longitude 45.1: expected degrees within ±90 (longitude and latitude look swapped)`,
	"text.txt":                   `found Take the coast road sout: expected GPX, GeoJSON or an encoded polyline`,
	"topology.geojson":           `type: found "Topology": expected a GeoJSON type such as LineString, Feature or FeatureCollection`,
	"trailing-comma.geojson":     `line 6: expected well-formed JSON: the character ] cannot stand there`,
	"truncated.geojson":          `line 1: expected a complete file: it ends in the middle of a value`,
	"truncated.gpx":              `line 6: expected a complete file: it ends in the middle of an element`,
	"two-lines-apart.geojson":    `line 1 to line 2: found a gap of 71644 m between the 2 parts of the line: expected parts in driving order with gaps up to 1000 m (choose one part, or allow a wider gap)`,
	"two-roots.gpx":              `line 9: found <gpx> after the root element: expected one root element`,
	"type-is-number.geojson":     `type: found a JSON number: expected a GeoJSON object`,
	"unclosed.gpx":               `line 7: expected well-formed XML: element <trkseg> closed by </trk>`,
	"unknown-encoding.gpx":       `line 1: expected well-formed XML: xml: opening charset "x-unheard-of": the encoding "x-unheard-of" is not known`,
	"unknown-entity.gpx":         `line 3: expected well-formed XML: invalid character entity &street;`,
	"utf32.gpx":                  `found UTF-32 text (save it as UTF-8): expected GPX, GeoJSON or an encoded polyline`,
	"waypoints-only.gpx":         `found 2 waypoints and no line: expected GPX with a track or a route`,
	"web-page.gpx":               `line 1: found a web page: expected GPX, with the root element <gpx>`,
}

// handled lists the files that look broken and are read all the same. All
// but two hold the same three positions.
var handled = map[string]struct {
	name    string
	points  int
	lengthM float64
	note    string
}{
	"antimeridian.geojson":   {"antimeridian", 3, 47982, "runs straight for 24 km"},
	"beyond-180.geojson":     {"beyond-180", 3, 47982, "runs straight for 24 km"},
	"bom.gpx":                {"bom", 3, 2724, ""},
	"duplicates.gpx":         {"duplicates", 3, 2724, ""},
	"latin1.gpx":             {"Küstenstraße", 3, 2724, ""},
	"times-backwards.gpx":    {"times-backwards", 4, 4085, "Times left out on track 1 segment 1, as they run backwards: 1."},
	"times-still.gpx":        {"times-still", 3, 2724, "not used for speeds: they stand still"},
	"utf16be-no-bom.geojson": {"utf16be-no-bom", 3, 2724, ""},
	"utf16le.gpx":            {"utf16le", 3, 2724, ""},
	"void-elevation.gpx":     {"void-elevation", 3, 2724, "Elevations taken as unknown, as they are below -1000 m or above 9000 m: 1"},
}

func TestBrokenFiles(t *testing.T) {
	entries, err := os.ReadDir(testdata.Path("broken", "routes"))
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != len(rejected)+len(handled) {
		t.Errorf("%d files, %d expectations", len(entries), len(rejected)+len(handled))
	}
	for _, entry := range entries {
		name := entry.Name()
		t.Run(name, func(t *testing.T) {
			r, err := input.Here.Route(testdata.Path("broken", "routes", name))
			if want, ok := rejected[name]; ok {
				wantFault(t, err, testdata.Path("broken", "routes", name), want)
				return
			}
			want, ok := handled[name]
			if !ok {
				t.Fatal("no expectation for this file")
			}
			if err != nil {
				t.Fatal(err)
			}
			if r.Name != want.name || r.Len() != want.points || math.Abs(r.LengthM()-want.lengthM) > 0.5 {
				t.Errorf("%q with %d points over %.1f m, want %q, %d, %.0f", r.Name, r.Len(), r.LengthM(), want.name, want.points, want.lengthM)
			}
			if notes := strings.Join(r.Notes, "\n"); !strings.Contains(notes, want.note) || want.note == "" && notes != "" {
				t.Errorf("notes %q, want %q", notes, want.note)
			}
		})
	}
}

func wantFault(t *testing.T, err error, file, want string) {
	t.Helper()
	var in *fault.Input
	if !errors.As(err, &in) {
		t.Fatalf("got %v, want a *fault.Input", err)
	}
	if in.File != file {
		t.Errorf("file %q, want %q", in.File, file)
	}
	got := strings.TrimPrefix(strings.TrimPrefix(err.Error(), file), ", ")
	if got = strings.TrimPrefix(got, ": "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// Files too large to keep.
func TestHugeFiles(t *testing.T) {
	deep := func(open, close string, n int) string { return strings.Repeat(open, n) + strings.Repeat(close, n) }
	for _, test := range []struct {
		name, text string
		options    read.Options
		want       string
	}{
		{"JSON bomb", `{"type":"LineString","coordinates":` + deep("[", "]", 1_000_000) + "}", read.Options{}, "line 1: expected well-formed JSON: lists and objects are nested too deeply"},
		{"XML bomb", "<gpx>" + deep("<a>", "</a>", 1_000_000) + "</gpx>", read.Options{}, "line 1: found elements inside elements: expected at most 64 levels"},
		{"collections", strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 5000) + strings.Repeat("]}", 5000), read.Options{}, "found geometry collections inside each other: expected at most 16 levels"},
		{"too many bytes", strings.Repeat("?", 1001), read.Options{MaxBytes: 1000}, "found more: expected at most 1000 bytes"},
		{"too many points in GPX", gpx(points(0, 101)...), read.Options{MaxPoints: 100}, "line 103, points: found more: expected at most 100 points"},
		{"too many points in GeoJSON", geojson(points(0, 101)...), read.Options{MaxPoints: 100}, "points: found more: expected at most 100 points"},
		{"too many points in a polyline", strings.Repeat("?", 202), read.Options{MaxPoints: 100}, "line 1, points: found more: expected at most 100 points"},
		{"one attribute", `<gpx><trk><trkseg><trkpt lat="` + strings.Repeat("9", 5_000_000) + `" lon="1"/></trkseg></trk></gpx>`, read.Options{}, "line 1, lat: found \"" + strings.Repeat("9", 79) + "…: expected decimal degrees with a decimal point"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := read.Read(strings.NewReader(test.text), "huge", test.options)
			wantFault(t, err, "huge", test.want)
		})
	}
}

// A recording of a million points is read, in each format.
func TestMillionPoints(t *testing.T) {
	n := 100_000
	if testdata.Slow() {
		n = 1_000_000
	}
	all := points(0, n)
	for name, text := range map[string]string{"gpx": gpx(all...), "geojson": geojson(all...), "polyline": strings.Repeat("CC", n)} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			r, err := read.Read(strings.NewReader(text), name, read.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Len() != n {
				t.Errorf("%d points, want %d", r.Len(), n)
			}
			t.Logf("%d points, %.1f MB, %.0f km in %s", n, float64(len(text))/1e6, r.LengthM()/1000, time.Since(start).Round(time.Millisecond))
		})
	}
}

// points gives n positions along a line from a start.
func points(start float64, n int) []route.Point {
	list := make([]route.Point, n)
	for i := range list {
		list[i] = route.Point{Lon: start + float64(i)*1e-5, Lat: 45 + float64(i)*1e-5, ElevationM: 100}
	}
	return list
}

func gpx(points ...route.Point) string {
	var b bytes.Buffer
	b.WriteString("<gpx version=\"1.1\">\n<trk><trkseg>\n")
	for _, p := range points {
		fmt.Fprintf(&b, "<trkpt lat=\"%.6f\" lon=\"%.6f\"><ele>%.1f</ele></trkpt>\n", p.Lat, p.Lon, p.ElevationM)
	}
	b.WriteString("</trkseg></trk></gpx>\n")
	return b.String()
}

func geojson(points ...route.Point) string {
	var b bytes.Buffer
	b.WriteString(`{"type":"LineString","coordinates":[`)
	for i, p := range points {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "[%.6f,%.6f,%.1f]", p.Lon, p.Lat, p.ElevationM)
	}
	b.WriteString("]}")
	return b.String()
}

func TestUnreadable(t *testing.T) {
	_, err := read.Read(failing{}, "pipe", read.Options{})
	wantFault(t, err, "pipe", "expected a file that can be read to its end: the pipe broke")
	_, err = input.Here.Route("no-such-file.gpx")
	wantFault(t, err, "no-such-file.gpx", "expected a route file that can be opened: no such file or directory")
	_, err = read.Read(strings.NewReader("??"), "x", read.Options{Format: "shape"})
	wantFault(t, err, "x", "format: found shape: expected gpx, geojson, polyline5 or polyline6")
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errors.New("the pipe broke") }

var _ io.Reader = failing{}

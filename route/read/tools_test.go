package read_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"ampleway/route/input"
	"ampleway/route/read"
	"ampleway/testdata"
)

func tool(t *testing.T, name string, arguments ...string) {
	t.Helper()
	if out, err := exec.Command(testdata.Tool(t, name), arguments...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
}

// What GDAL and gpsbabel write of a recording reads as the recording does:
// positions, elevations, and the speeds of its times where those are kept.
func TestFilesOfOtherTools(t *testing.T) {
	folder := t.TempDir()
	path := func(name string) string { return filepath.Join(folder, name) }
	rec := newRecording()
	rec.drive(200, 15, 1, 0.5)
	rec.drive(200, 25, 2, 0.5)
	source := rec.text.String() + "</trkseg></trk></gpx>"
	if err := os.WriteFile(path("source.gpx"), []byte(source), 0o644); err != nil {
		t.Fatal(err)
	}
	want := parse(t, source, read.Options{})
	flat := geojson(points(7, 200)...)
	if err := os.WriteFile(path("source.geojson"), []byte(flat), 0o644); err != nil {
		t.Fatal(err)
	}
	wantFlat := parse(t, flat, read.Options{})

	for _, test := range []struct {
		name, file string
		write      []string
		timed      bool
		within     float64 // degrees; the tools round
	}{
		{"gpsbabel GPX 1.0", "10.gpx", []string{"gpsbabel", "-i", "gpx", "-f", path("source.gpx"), "-o", "gpx,gpxver=1.0", "-F", path("10.gpx")}, true, 1e-8},
		{"gpsbabel GPX 1.1", "11.gpx", []string{"gpsbabel", "-i", "gpx", "-f", path("source.gpx"), "-o", "gpx,gpxver=1.1", "-F", path("11.gpx")}, true, 1e-8},
		{"gpsbabel route", "route.gpx", []string{"gpsbabel", "-i", "gpx", "-f", path("source.gpx"), "-x", "transform,rte=trk,del", "-o", "gpx", "-F", path("route.gpx")}, true, 1e-8},
		{"ogr2ogr GPX track", "ogr.gpx", []string{"ogr2ogr", "-f", "GPX", path("ogr.gpx"), path("source.gpx"), "tracks"}, false, 1e-8},
		{"ogr2ogr GeoJSON of a MultiLineString", "ogr.geojson", []string{"ogr2ogr", "-f", "GeoJSON", "-lco", "RFC7946=YES", "-lco", "COORDINATE_PRECISION=9", path("ogr.geojson"), path("source.gpx"), "tracks"}, false, 1e-7},
		{"ogr2ogr GPX route of a line with elevations", "flat.gpx", []string{"ogr2ogr", "-f", "GPX", path("flat.gpx"), path("source.geojson")}, false, 1e-8},
	} {
		t.Run(test.name, func(t *testing.T) {
			tool(t, test.write[0], test.write[1:]...)
			got, err := input.Here.Route(path(test.file))
			if err != nil {
				t.Fatal(err)
			}
			want := want
			if test.file == "flat.gpx" {
				want = wantFlat
			}
			if got.Len() != want.Len() {
				t.Fatalf("%d points, want %d", got.Len(), want.Len())
			}
			for i, p := range got.All() {
				q := want.Point(i)
				if math.Abs(p.Lon-q.Lon) > test.within || math.Abs(p.Lat-q.Lat) > test.within {
					t.Fatalf("point %d: %v, want %v", i, p, q)
				}
				if test.file == "flat.gpx" && p.ElevationM != q.ElevationM {
					t.Fatalf("point %d: elevation %g, want %g", i, p.ElevationM, q.ElevationM)
				}
				if test.timed && math.Abs(p.SpeedMS-q.SpeedMS) > 0.01 {
					t.Fatalf("point %d: %g m/s, want %g", i, p.SpeedMS, q.SpeedMS)
				}
			}
		})
	}
}

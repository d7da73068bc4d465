package read_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"ampleway/data/fault"
	"ampleway/route/read"
	"ampleway/testdata"
)

// seed adds the broken files and some good ones to the corpus.
func seed(f *testing.F) {
	files, err := filepath.Glob(testdata.Path("broken", "routes", "*"))
	if err != nil || len(files) == 0 {
		f.Fatal("no seeds", err)
	}
	for _, file := range files {
		content, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(content)
	}
	f.Add([]byte(gpx(points(7, 5)...)))
	f.Add([]byte(geojson(points(7, 5)...)))
	f.Add([]byte("_p~iF~ps|U_ulLnnqC_mqNvxq`@"))
	f.Add([]byte("_izlhA~rlgdF_{geC~ywl@_kwzCn`{nI"))
	f.Add([]byte(`<gpx><trk><trkseg><trkpt lat="1" lon="2"><time>2026-03-01T08:00:00Z</time><ele>3</ele></trkpt><trkpt lat="1.1" lon="2"><time>2026-03-01T08:10:00Z</time></trkpt></trkseg></trk></gpx>`))
}

// holds reads the content and checks what every caller relies on.
func holds(t *testing.T, content []byte, format read.Format) {
	r, err := read.Read(bytes.NewReader(content), "fuzz", read.Options{Format: format, MaxPoints: 10_000})
	if err != nil {
		var in *fault.Input
		if !errors.As(err, &in) || in.File != "fuzz" {
			t.Fatalf("not a located input error: %v", err)
		}
		return
	}
	if r.Len() < 2 || !(r.LengthM() > 0) || math.IsInf(r.LengthM(), 0) {
		t.Fatalf("%d points over %g m", r.Len(), r.LengthM())
	}
	for i, p := range r.All() {
		if !(math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 180 && p.SpeedMS >= 0 && p.SpeedMS <= 70) || math.IsInf(p.ElevationM, 0) {
			t.Fatalf("point %d: %+v", i, p)
		}
		if i > 0 && !(r.ChainageM(i) > r.ChainageM(i-1)) {
			t.Fatalf("chainage %d does not rise", i)
		}
	}
}

func FuzzRead(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, content []byte) { holds(t, content, read.Detect) })
}

func FuzzGPX(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, content []byte) { holds(t, content, read.GPX) })
}

func FuzzGeoJSON(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, content []byte) { holds(t, content, read.GeoJSON) })
}

func FuzzPolyline(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, content []byte) {
		holds(t, content, read.Polyline5)
		holds(t, content, read.Polyline6)
	})
}

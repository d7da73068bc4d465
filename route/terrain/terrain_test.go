package terrain_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/terrain"
)

const void = -32768

// tile writes the heights of a function of the post's longitude and latitude.
func tile(west, south, side int, heightM func(lon, lat float64) float64) []byte {
	out := make([]byte, 0, 2*side*side)
	for i := range side {
		lat := float64(south+1) - float64(i)/float64(side-1)
		for k := range side {
			lon := float64(west) + float64(k)/float64(side-1)
			out = binary.BigEndian.AppendUint16(out, uint16(int16(math.Round(heightM(lon, lat)))))
		}
	}
	return out
}

func write(t testing.TB, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, content, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func zipped(t testing.TB, names []string, content []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range names {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(content); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func gzipped(t testing.TB, content []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := z.Write(content); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func open(t testing.TB, paths ...string) *terrain.Model {
	t.Helper()
	m, err := terrain.Open(paths...)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func elevation(t testing.TB, m *terrain.Model, lon, lat float64) float64 {
	t.Helper()
	e, err := m.ElevationM(lon, lat)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// plane rises by whole metres from post to post, so that no rounding hides
// an error: bilinear interpolation gives it back exactly.
func plane(side int) func(lon, lat float64) float64 {
	return func(lon, lat float64) float64 { return 100 + (lon-7)*float64(side-1) + 2*(lat-46)*float64(side-1) }
}

func TestBilinearGivesAPlaneBack(t *testing.T) {
	for _, side := range []int{1201, 3601} {
		if side == 3601 && testing.Short() {
			continue
		}
		m := open(t, write(t, "N46E007.hgt", tile(7, 46, side, plane(side))))
		for _, at := range [][2]float64{{7, 46}, {8, 47}, {7, 47}, {8, 46}, {7.5, 46.5}, {7.123456, 46.654321}, {7.99999, 46.00001}} {
			want := plane(side)(at[0], at[1])
			if got := elevation(t, m, at[0], at[1]); math.Abs(got-want) > 1e-6 {
				t.Errorf("side %d at %v: %.6f m, want %.6f", side, at, got, want)
			}
		}
	}
}

func TestEveryPacking(t *testing.T) {
	raw := tile(7, 46, 1201, plane(1201))
	for name, path := range map[string]string{
		"plain":          write(t, "N46E007.hgt", raw),
		"lower case":     write(t, "n46e007.hgt", raw),
		"zip":            write(t, "N46E007.hgt.zip", zipped(t, []string{"N46E007.hgt"}, raw)),
		"zip by product": write(t, "N46E007.SRTMGL3.zip", zipped(t, []string{"N46E007.hgt"}, raw)),
		"gzip":           write(t, "N46E007.hgt.gz", gzipped(t, raw)),
	} {
		t.Run(name, func(t *testing.T) {
			if got, want := elevation(t, open(t, path), 7.3, 46.7), plane(1201)(7.3, 46.7); math.Abs(got-want) > 1e-6 {
				t.Errorf("%.3f m, want %.3f", got, want)
			}
		})
	}
}

func TestFolderOfTilesInAllHemispheres(t *testing.T) {
	folder := t.TempDir()
	tiles := []struct {
		name        string
		west, south int
		heightM     float64
	}{
		{"N00E000.hgt", 0, 0, 10},
		{"S01E000.hgt", 0, -1, 20},
		{"N00W001.hgt", -1, 0, 30},
		{"deeper/S01W001.hgt", -1, -1, 40},
		{"N60E179.hgt", 179, 60, 50},
		{"N60W180.hgt", -180, 60, 60},
	}
	for _, test := range tiles {
		level := func(lon, lat float64) float64 { return test.heightM }
		path := filepath.Join(folder, test.name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, tile(test.west, test.south, 1201, level), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(folder, "readme.txt"), []byte("not a tile"), 0o644); err != nil {
		t.Fatal(err)
	}
	m := open(t, folder)
	for _, test := range tiles {
		if got := elevation(t, m, float64(test.west)+0.5, float64(test.south)+0.5); got != test.heightM {
			t.Errorf("%s: %g m, want %g", test.name, got, test.heightM)
		}
	}
	if got := elevation(t, m, 180, 60.5); got != 50 {
		t.Errorf("on the eastern edge of the last tile: %g m, want 50", got)
	}
	if got := elevation(t, m, 1, 1); got != 10 {
		t.Errorf("on the corner of a tile without neighbours: %g m, want 10", got)
	}
	for _, at := range [][2]float64{{5, 5}, {200, 0}, {0, math.NaN()}} {
		if got := elevation(t, m, at[0], at[1]); !math.IsNaN(got) {
			t.Errorf("outside all tiles, at %v: %g m", at, got)
		}
	}
}

func TestVoids(t *testing.T) {
	const step = 1.0 / 1200
	m := open(t, write(t, "N46E007.hgt", tile(7, 46, 1201, func(lon, lat float64) float64 {
		if math.Abs(lon-7.5) < step/2 && math.Abs(lat-46.5) < step/2 {
			return void
		}
		return 400
	})))
	if got := elevation(t, m, 7.5+0.4*step, 46.5+0.4*step); !math.IsNaN(got) {
		t.Errorf("nearest a void: %g m, want unknown", got)
	}
	if got := elevation(t, m, 7.5+0.6*step, 46.5+0.3*step); math.Abs(got-400) > 1e-9 {
		t.Errorf("beside a void: %g m, want 400", got)
	}
	r, err := m.Fill(line(t, [2]float64{7.49, 46.5}, [2]float64{7.51, 46.5}), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if c := r.Climb(0); c.MinM < 399.999 || c.MaxM > 400.001 {
		t.Errorf("a void on the way: %+v, want level at 400 m", c)
	}
	if !strings.Contains(strings.Join(r.Notes, "\n"), "knows no elevation for 2 of") {
		t.Errorf("notes %q", r.Notes)
	}
}

func line(t testing.TB, places ...[2]float64) *route.Route {
	t.Helper()
	points := make([]route.Point, len(places))
	for i, at := range places {
		points[i] = route.Point{Lon: at[0], Lat: at[1], ElevationM: math.NaN()}
	}
	r, err := route.New("line", points)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A cone 600 m high over a plain of 200 m: a road straight over its top climbs
// 600 m and falls 600 m, whatever the points of the line.
func TestAscentOverACone(t *testing.T) {
	m := open(t, write(t, "N46E007.hgt", tile(7, 46, 1201, func(lon, lat float64) float64 {
		awayM := math.Hypot((lon-7.5)*77000, (lat-46.5)*111170)
		return 200 + math.Max(0, 600-awayM/10)
	})))
	r, err := m.Fill(line(t, [2]float64{7.4, 46.5}, [2]float64{7.6, 46.5}), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	raw, smooth := r.Climb(0), r.Climb(route.DefaultSmoothingM)
	if math.Abs(raw.AscentM-600) > 3 || math.Abs(raw.DescentM-600) > 3 {
		t.Errorf("raw climb %+v, want 600 m up and down", raw)
	}
	// Smoothing over 250 m takes a quarter of 125 m × 10 % off the top.
	if math.Abs(smooth.MaxM-(800-12.5/2)) > 2 || math.Abs(smooth.AscentM-(600-12.5/2)) > 3 {
		t.Errorf("smoothed climb %+v", smooth)
	}
}

func TestFillReplacesKnownElevations(t *testing.T) {
	m := open(t, write(t, "N46E007.hgt", tile(7, 46, 1201, func(lon, lat float64) float64 { return 300 })))
	r := line(t, [2]float64{7.4, 46.5}, [2]float64{7.41, 46.5}, [2]float64{7.42, 46.5}).WithElevations([]float64{310, math.NaN(), 320})
	filled, err := m.Fill(r, terrain.Options{SpacingM: 5000})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range filled.All() {
		if p.ElevationM != 300 {
			t.Errorf("point %d: %g m, want 300", i, p.ElevationM)
		}
	}
}

func TestSteepRoadIsNoted(t *testing.T) {
	m := open(t, write(t, "N46E007.hgt", tile(7, 46, 1201, func(lon, lat float64) float64 {
		return math.Max(0, 1000-math.Abs(lon-7.5)*77000)
	})))
	r, err := m.Fill(line(t, [2]float64{7.4, 46.5}, [2]float64{7.6, 46.5}), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(r.Notes, "\n"), "steeper than 15 %") {
		t.Errorf("notes %q", r.Notes)
	}
}

func TestErrors(t *testing.T) {
	raw := tile(7, 46, 1201, plane(1201))
	truncatedGzip := gzipped(t, raw)
	for _, test := range []struct {
		name, file string
		content    []byte
		want       string
	}{
		{"short", "N46E007.hgt", raw[:1000], "found 1000 bytes: expected 2884802 bytes (3 arc-seconds) or 25934402 bytes (1 arc-second)"},
		{"empty", "N46E007.hgt", nil, "found 0 bytes"},
		{"long", "N46E007.hgt", make([]byte, 26<<20), "found more than 25934402 bytes"},
		{"name", "hills.hgt", raw, "file name: found hills.hgt: expected a tile named for its south-west corner"},
		{"corner", "N95E007.hgt", raw, "file name: found N95E007.hgt"},
		{"kind", "N46E007.tif", raw, "file name: found N46E007.tif"},
		{"broken zip", "N46E007.zip", []byte("PK\x03\x04 and no more"), "zip: not a valid zip file"},
		{"empty zip", "N46E007.zip", zipped(t, []string{"a.txt"}, raw), "found 1 entries: expected an archive with an .hgt file in it"},
		{"two in a zip", "N46E007.zip", zipped(t, []string{"N46E007.hgt", "N46E008.hgt"}, raw), "found N46E007.hgt and N46E008.hgt: expected one tile an archive"},
		{"truncated gzip", "N46E007.hgt.gz", truncatedGzip[:len(truncatedGzip)/2], "the file ends too early"},
		{"gzip bomb", "N46E007.hgt.gz", gzipped(t, make([]byte, 60<<20)), "found more than 25934402 bytes"},
	} {
		t.Run(test.name, func(t *testing.T) {
			m, err := terrain.Open(write(t, test.file, test.content))
			if err == nil {
				_, err = m.Fill(line(t, [2]float64{7.4, 46.5}, [2]float64{7.6, 46.5}), terrain.Options{})
			}
			var in *fault.Input
			if !errors.As(err, &in) || !strings.HasSuffix(in.File, test.file) || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got  %v\nwant %s", err, test.want)
			}
		})
	}
	for _, path := range []string{filepath.Join(t.TempDir(), "absent.hgt"), t.TempDir()} {
		if _, err := terrain.Open(path); err == nil {
			t.Errorf("%s: no error", path)
		}
	}
}

func Example() {
	folder, err := os.MkdirTemp("", "tiles")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	// An invented tile: level at 250 m.
	heights := bytes.Repeat([]byte{0, 250}, 1201*1201)
	if err := os.WriteFile(filepath.Join(folder, "N46E007.hgt"), heights, 0o644); err != nil {
		fmt.Println(err)
		return
	}
	model, err := terrain.Open(folder)
	if err != nil {
		fmt.Println(err)
		return
	}
	elevationM, err := model.ElevationM(7.5, 46.5)
	fmt.Printf("%.0f m, %v\n", elevationM, err)
	// Output: 250 m, <nil>
}

func BenchmarkFill(b *testing.B) {
	m := open(b, write(b, "N46E007.hgt", tile(7, 46, 1201, plane(1201))))
	r := line(b, [2]float64{7.01, 46.01}, [2]float64{7.99, 46.99})
	for b.Loop() {
		if _, err := m.Fill(r, terrain.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

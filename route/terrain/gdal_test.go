package terrain_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ampleway/route"
	"ampleway/route/read"
	"ampleway/route/terrain"
	"ampleway/testdata"
)

func run(t testing.TB, stdin []byte, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(testdata.Tool(t, name), args...)
	var stderr bytes.Buffer
	cmd.Stdin, cmd.Stderr = bytes.NewReader(stdin), &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, stderr.Bytes())
	}
	return out
}

// sampled asks gdallocationinfo for the value of the pixel that holds each
// place.
func sampled(t testing.TB, raster string, places [][2]float64) []float64 {
	t.Helper()
	var in bytes.Buffer
	for _, at := range places {
		fmt.Fprintf(&in, "%.12f %.12f\n", at[0], at[1])
	}
	var values []float64
	for line := range strings.Lines(string(run(t, in.Bytes(), "gdallocationinfo", "-valonly", "-wgs84", raster))) {
		x, err := strconv.ParseFloat(strings.TrimSpace(line), 64)
		if err != nil {
			t.Fatalf("gdallocationinfo said %q", line)
		}
		values = append(values, x)
	}
	if len(values) != len(places) {
		t.Fatalf("gdallocationinfo gave %d values for %d places", len(values), len(places))
	}
	return values
}

func realTile(t testing.TB) (path, raster string) {
	t.Helper()
	path = testdata.OpenData(t, "terrain", "N42E001.hgt.zip")
	return path, "/vsizip/" + path + "/N42E001.hgt"
}

// At a post gdallocationinfo shows the height in the file. GDAL's pixels are
// centred on the posts, so it is the post itself that must agree.
func TestPostsAgainstGDAL(t *testing.T) {
	path, raster := realTile(t)
	m := open(t, path)
	r := rand.New(rand.NewPCG(8, 9))
	places := make([][2]float64, 2000)
	for i := range places {
		places[i] = [2]float64{1 + float64(r.IntN(1201))/1200, 42 + float64(r.IntN(1201))/1200}
	}
	voids := 0
	for i, want := range sampled(t, raster, places) {
		got := elevation(t, m, places[i][0], places[i][1])
		if want == void {
			voids++
			want = math.NaN()
		}
		if !(math.Abs(got-want) < 1e-6) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("post %v: %g m, GDAL %g m", places[i], got, want)
		}
	}
	t.Logf("%d posts, %d of them voids", len(places), voids)
}

// finePixel is the grid on which GDAL's own bilinear resampling is taken,
// degrees: a 20th of a post, 4.6 m on a meridian.
const finePixel = 1.0 / 24000

// bilinear makes GDAL resample a window of a raster to finePixel.
// gdallocationinfo of GDAL 3.6 only shows the nearest pixel, so its value on
// this grid is GDAL's bilinear value within half a fine pixel of the place.
func bilinear(t testing.TB, raster string, west, south, east, north float64) string {
	t.Helper()
	fine := filepath.Join(t.TempDir(), "fine.tif")
	degrees := func(x float64) string { return strconv.FormatFloat(x, 'f', 12, 64) }
	run(t, nil, "gdalwarp", "-q", "-r", "bilinear", "-ot", "Float32", "-wo", "SOURCE_EXTRA=10",
		"-te", degrees(west), degrees(south), degrees(east), degrees(north),
		"-tr", degrees(finePixel), degrees(finePixel), raster, fine)
	return fine
}

// On the centres of GDAL's fine grid its bilinear values must be ours but for
// the rounding of 32-bit numbers.
func TestBilinearAgainstGDAL(t *testing.T) {
	path, raster := realTile(t)
	m := open(t, path)
	const west, south, span = 1.45, 42.45, 2400
	fine := bilinear(t, raster, west, south, west+span*finePixel, south+span*finePixel)
	r := rand.New(rand.NewPCG(10, 11))
	places := make([][2]float64, 3000)
	for i := range places {
		places[i] = [2]float64{west + (float64(r.IntN(span))+0.5)*finePixel, south + (float64(r.IntN(span))+0.5)*finePixel}
	}
	worst, compared := 0.0, 0
	for i, want := range sampled(t, fine, places) {
		got := elevation(t, m, places[i][0], places[i][1])
		if want == void || math.IsNaN(got) {
			continue
		}
		compared++
		worst = math.Max(worst, math.Abs(got-want))
	}
	t.Logf("%d places, worst difference %.4f m", compared, worst)
	if compared < 2900 || worst > 0.01 {
		t.Errorf("%d places compared, worst difference %.4f m", compared, worst)
	}
}

// mountainDrive is a drive over the highest paved pass of the small real road
// network, as found by the router routino: from the valley in the south-west
// to the border town beyond the pass.
func mountainDrive(t testing.TB) *route.Route {
	t.Helper()
	roads := testdata.OpenData(t, "roads", "andorra.osm.pbf")
	folder := t.TempDir()
	xml := filepath.Join(folder, "roads.osm")
	run(t, nil, "osmium", "cat", "-o", xml, roads)
	run(t, nil, "planetsplitter", "--dir="+folder, "--prefix=roads", xml)
	gpx := run(t, nil, "routino-router", "--dir="+folder, "--prefix=roads",
		"--profiles=/usr/share/routino/profiles.xml", "--translations=/usr/share/routino/translations.xml",
		"--transport=motorcar", "--quickest", "--output-gpx-track", "--output-stdout", "--quiet",
		"--lon1=1.5012", "--lat1=42.4640", "--lon2=1.7336", "--lat2=42.5425")
	r, err := read.Read(bytes.NewReader(gpx), "drive.gpx", read.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestMountainDriveAgainstGDAL(t *testing.T) {
	path, raster := realTile(t)
	m := open(t, path)
	ours, err := m.Fill(mountainDrive(t), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var places [][2]float64
	west, south, east, north := 180.0, 90.0, -180.0, -90.0
	for _, p := range ours.All() {
		places = append(places, [2]float64{p.Lon, p.Lat})
		west, east = math.Min(west, p.Lon), math.Max(east, p.Lon)
		south, north = math.Min(south, p.Lat), math.Max(north, p.Lat)
	}
	fine := bilinear(t, raster, west-0.001, south-0.001, east+0.001, north+0.001)
	gdalM := sampled(t, fine, places)
	worst := 0.0
	for i, p := range ours.All() {
		if gdalM[i] == void || math.IsNaN(p.ElevationM) {
			t.Fatalf("point %d: GDAL %g m, ours %g m", i, gdalM[i], p.ElevationM)
		}
		worst = math.Max(worst, math.Abs(p.ElevationM-gdalM[i]))
	}
	theirs := ours.WithElevations(gdalM)
	for _, smoothingM := range []float64{0, route.DefaultSmoothingM} {
		a, b := ours.Climb(smoothingM), theirs.Climb(smoothingM)
		t.Logf("smoothed over %3.0f m: ascent %.0f m (GDAL %.0f m), descent %.0f m (%.0f m), lowest %.1f m (%.1f m), highest %.1f m (%.1f m)",
			smoothingM, a.AscentM, b.AscentM, a.DescentM, b.DescentM, a.MinM, b.MinM, a.MaxM, b.MaxM)
		if math.Abs(a.MinM-b.MinM) > 2 || math.Abs(a.MaxM-b.MaxM) > 2 {
			t.Errorf("extremes %.1f and %.1f m, GDAL %.1f and %.1f m", a.MinM, a.MaxM, b.MinM, b.MaxM)
		}
		if math.Abs(a.AscentM/b.AscentM-1) > 0.01 {
			t.Errorf("ascent %.0f m, GDAL %.0f m", a.AscentM, b.AscentM)
		}
	}
	t.Logf("%.1f km, %d points, worst difference %.2f m a point", ours.LengthM()/1000, ours.Len(), worst)
	if worst > 2 {
		t.Errorf("a point differs by %.2f m, at most 2 m wanted", worst)
	}
	// The road over the pass of Envalira is at 2,408 m (signposted height, from
	// memory); a height model of 90 m posts is good to some 10 m there.
	if top := ours.Climb(0).MaxM; math.Abs(top-2408) > 10 {
		t.Errorf("the pass is at %.0f m, known as 2408 m", top)
	}
}

// The line of GDAL in the package comment makes a tile of another raster.
func TestOtherRastersThroughGDAL(t *testing.T) {
	path, raster := realTile(t)
	folder := t.TempDir()
	tif, hgt := filepath.Join(folder, "any.tif"), filepath.Join(folder, "N42E001.hgt")
	run(t, nil, "gdal_translate", "-q", "-ot", "Float32", raster, tif)
	run(t, nil, "gdal_translate", "-q", "-of", "SRTMHGT", "-ot", "Int16", "-r", "bilinear", "-outsize", "1201", "1201",
		"-projwin", "0.999583333", "43.000416667", "2.000416667", "41.999583333", tif, hgt)
	if info, err := os.Stat(hgt); err != nil || info.Size() != 2884802 {
		t.Fatalf("GDAL wrote %v, %v", info, err)
	}
	before, after := open(t, path), open(t, hgt)
	for i := range 500 {
		lon, lat := 1+float64(i*7%500)/500, 42+float64(i)/500
		a, b := elevation(t, before, lon, lat), elevation(t, after, lon, lat)
		if !(math.Abs(a-b) <= 1) && !(math.IsNaN(a) && math.IsNaN(b)) {
			t.Errorf("at %.3f, %.3f: %g m, converted %g m", lon, lat, a, b)
		}
	}
}

package router_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-polyline"

	"ampleway/data"
	"ampleway/route"
	"ampleway/route/place"
	"ampleway/route/read"
	"ampleway/route/router"
	"ampleway/testdata"
)

// routino prepares the road router of the Debian package of that name for a
// file of OpenStreetMap XML, and returns a command template for it.
func routino(t *testing.T, osmXML string) string {
	t.Helper()
	folder := t.TempDir()
	run(t, "planetsplitter", "--dir="+folder, "--prefix=roads", osmXML)
	return testdata.Tool(t, "routino-router") + " '--dir=" + folder + "' --prefix=roads" +
		" --profiles=/usr/share/routino/profiles.xml --translations=/usr/share/routino/translations.xml" +
		" --transport=motorcar --quickest --output-gpx-track --output-stdout --quiet" +
		" --lon1={from.lon} --lat1={from.lat} --lon2={to.lon} --lat2={to.lat}"
}

func run(t *testing.T, tool string, arguments ...string) {
	t.Helper()
	if out, err := exec.Command(testdata.Tool(t, tool), arguments...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", tool, err, out)
	}
}

// realRoads is the small real road network, from the valley town in the
// south-west to the border town beyond the pass.
func realRoads(t *testing.T) (template string, valley, beyond orb.Point) {
	t.Helper()
	pbf := testdata.OpenData(t, "roads", "andorra.osm.pbf")
	xml := filepath.Join(t.TempDir(), "roads.osm")
	run(t, "osmium", "cat", "-o", xml, pbf)
	return routino(t, xml), orb.Point{1.5012, 42.4640}, orb.Point{1.7336, 42.5425}
}

func TestRoutinoByCommand(t *testing.T) {
	template, valley, beyond := realRoads(t)
	r, err := router.New(template, router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	way, err := r.Route(context.Background(), valley, beyond)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s: %.1f km, %d points", way.Name, way.LengthM()/1000, way.Len())
	if way.LengthM() < 30e3 || way.LengthM() > 60e3 || way.Len() < 300 {
		t.Errorf("%.1f km, %d points", way.LengthM()/1000, way.Len())
	}
	// A router without a road near the place says so.
	_, err = r.Route(context.Background(), orb.Point{5, 42.464}, beyond)
	wantFault(t, err, "from 5,42.464 to 1.7336,42.5425: expected a route on standard output: exit status 1: Error: Cannot find node close to specified point 1.")
	// One that begins on a road farther away than allowed is not believed.
	strict, err := router.New(template, router.Options{SnapM: 10})
	if err != nil {
		t.Fatal(err)
	}
	_, err = strict.Route(context.Background(), valley, beyond)
	wantFault(t, err, "found a route that begins ")
	// Detours: off the road to a place and back on, in one batch.
	pairs := []router.Pair{{From: valley, To: beyond}, {From: beyond, To: valley}, {From: orb.Point{5, 5}, To: valley}}
	ways, errs, err := r.Routes(context.Background(), pairs)
	if err != nil || errs[0] != nil || errs[1] != nil || errs[2] == nil {
		t.Fatalf("%v, %v", errs, err)
	}
	if ways[0] != way {
		t.Error("a known answer was asked for again")
	}
	if math.Abs(ways[1].LengthM()/way.LengthM()-1) > 0.2 {
		t.Errorf("%.1f km there, %.1f km back", way.LengthM()/1000, ways[1].LengthM()/1000)
	}
}

// The same router behind HTTP on loopback, answering as services do.
func TestRoutinoOverHTTP(t *testing.T) {
	template, valley, beyond := realRoads(t)
	command, err := router.New(template, router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want, err := command.Route(context.Background(), valley, beyond)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(service(t, command))
	defer server.Close()
	for _, test := range []struct {
		name, template string
		within         float64 // degrees, half of the last decimal
	}{
		{"GeoJSON", "/{from.lonlat}/{to.lonlat}/geojson", 1e-9},
		{"5 decimals", "/{from.lonlat}/{to.lonlat}/5#line=ways.0.line&format=polyline5&duration_s=ways.0.took", 0.500001e-5},
		{"6 decimals", "/{from.lon},{from.lat}/{to.lon},{to.lat}/6#line=ways.0.line&format=polyline6", 0.500001e-6},
	} {
		t.Run(test.name, func(t *testing.T) {
			r, err := router.New(server.URL+test.template, router.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := r.Route(context.Background(), valley, beyond)
			if err != nil {
				t.Fatal(err)
			}
			if got.Len() != want.Len() {
				t.Fatalf("%d points, want %d", got.Len(), want.Len())
			}
			for i, p := range got.All() {
				if q := want.Point(i); math.Abs(p.Lon-q.Lon) > test.within || math.Abs(p.Lat-q.Lat) > test.within {
					t.Fatalf("point %d: %v, want %v", i, p, q)
				}
			}
			if strings.Contains(test.template, "duration_s") && math.Abs(got.Point(0).SpeedMS-got.LengthM()/3600) > 1e-6 {
				t.Errorf("speed %g m/s", got.Point(0).SpeedMS)
			}
		})
	}
	exchanged, err := router.New(server.URL+"/{from.latlon}/{to.latlon}/geojson", router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = exchanged.Route(context.Background(), valley, beyond)
	wantFault(t, err, "502 Bad Gateway")
}

// service answers lon,lat/lon,lat/form with a route of a router that takes an
// hour.
func service(t *testing.T, r *router.Router) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) {
		var from, to orb.Point
		var form string
		if _, err := fmt.Sscanf(strings.ReplaceAll(strings.TrimPrefix(request.URL.Path, "/"), "/", " "), "%f,%f %f,%f %s", &from[0], &from[1], &to[0], &to[1], &form); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		way, err := r.Route(request.Context(), from, to)
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadGateway)
			return
		}
		var body any = map[string]any{"type": "LineString", "coordinates": way.Line()}
		if form != "geojson" {
			scale := map[string]float64{"5": 1e5, "6": 1e6}[form]
			body = map[string]any{"ways": []any{map[string]any{"line": encoded(way, scale), "took": 3600}}}
		}
		if err := json.NewEncoder(w).Encode(body); err != nil {
			t.Error(err)
		}
	})
}

func encoded(way *route.Route, scale float64) string {
	var latLon [][]float64
	for _, p := range way.All() {
		latLon = append(latLon, []float64{p.Lat, p.Lon})
	}
	return string(polyline.Codec{Dim: 2, Scale: scale}.EncodeCoords(nil, latLon))
}

// The invented demo roads: between the ends of each corridor, asked for by
// name, the router's shortest road is no longer than the corridor.
func TestRoutinoOverTheDemoRoads(t *testing.T) {
	template := routino(t, filepath.Join(testdata.Root(), "data", "demo", "roads.osm"))
	// Without its preference for large roads the router takes the shortest way.
	template = strings.Replace(template, "--quickest", "--shortest --highway-motorway=100 --highway-trunk=100"+
		" --highway-primary=100 --highway-secondary=100 --highway-tertiary=100", 1)
	r, err := router.New(template, router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	places, err := place.Read(bytes.NewReader(data.Places()), "places.geojson")
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ corridor, from, to string }{
		{"pass", "Velmouth", "Corrowen"},
		{"upland", "Dunmarrow", "Skarrow"},
		{"north", "Velmouth", "Sallow Reach"},
	} {
		t.Run(test.corridor, func(t *testing.T) {
			text, err := data.Corridor(test.corridor)
			if err != nil {
				t.Fatal(err)
			}
			corridor, err := read.Read(bytes.NewReader(text), test.corridor, read.Options{})
			if err != nil {
				t.Fatal(err)
			}
			from, err := places.Find(test.from)
			if err != nil {
				t.Fatal(err)
			}
			to, err := places.Find(test.to)
			if err != nil {
				t.Fatal(err)
			}
			way, err := r.Route(context.Background(), from.At, to.At)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s to %s: router %.1f km, corridor %.1f km", test.from, test.to, way.LengthM()/1000, corridor.LengthM()/1000)
			if way.LengthM() > 1.001*corridor.LengthM() || way.LengthM() < 0.5*corridor.LengthM() {
				t.Errorf("%.1f km, the corridor has %.1f km", way.LengthM()/1000, corridor.LengthM()/1000)
			}
		})
	}
}

func Example() {
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) {
		ends := strings.Split(strings.Trim(request.URL.Path, "/"), "/")
		fmt.Fprintf(w, `{"way": {"type": "LineString", "coordinates": [[%s], [7.5, 45.6], [%s]]}, "seconds": 7200}`, ends[0], ends[1])
	}))
	defer server.Close()
	r, err := router.New(server.URL+"/{from.lonlat}/{to.lonlat}#line=way&duration_s=seconds", router.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	way, err := r.Route(context.Background(), orb.Point{7, 45}, orb.Point{8, 46})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d points, %.0f km, %.0f km/h\n", way.Len(), way.LengthM()/1000, way.Point(0).SpeedMS*3.6)
	// Output:
	// 3 points, 136 km, 68 km/h
}

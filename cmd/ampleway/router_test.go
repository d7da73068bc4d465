package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"ampleway/route/input"
)

// A road router on this machine is asked for the road between two places, and
// the plan is that of the same road from a file.
func TestRouterOverHTTP(t *testing.T) {
	road, err := input.Here.Route("demo:upland")
	if err != nil {
		t.Fatal(err)
	}
	first, last := road.Point(0), road.Point(road.Len()-1)
	var line [][]float64
	for i := range road.Len() {
		p := road.Point(i)
		line = append(line, []float64{p.Lon, p.Lat, p.ElevationM})
	}
	asked := ""
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = r.URL.Path
		if strings.HasPrefix(r.URL.Path, "/none/") {
			http.Error(w, "no road there", http.StatusNotFound)
			return
		}
		if err := json.NewEncoder(w).Encode(map[string]any{"routes": []any{map[string]any{"geometry": map[string]any{"type": "LineString", "coordinates": line}}}}); err != nil {
			t.Error(err)
		}
	}))
	defer server.Close()
	from, to := fmt.Sprintf("%g,%g", first.Lon, first.Lat), fmt.Sprintf("%g,%g", last.Lon, last.Lat)
	args := func(path string) []string {
		return []string{"trip", "--from", from, "--to", to, "--router", server.URL + path + "#line=routes.0.geometry", "--stations", "demo", "--unknown-speed", "90", "--detour-questions", "0", "--format", "json"}
	}
	code, out, errOut := ampleway(t, "", args("/way/{from.lonlat}/{to.lonlat}")...)
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	if asked != "/way/"+from+"/"+to {
		t.Errorf("the router was asked for %s", asked)
	}
	var d struct {
		Route string `json:"route"`
		Legs  []struct {
			DistanceKM float64 `json:"distance_km"`
		} `json:"legs"`
		Stops []struct {
			DetourKM float64 `json:"detour_km"`
		} `json:"stops"`
	}
	if err := readDrive(out, &d); err != nil {
		t.Fatal(err)
	}
	sumKM := 0.0
	for _, l := range d.Legs {
		sumKM += l.DistanceKM
	}
	for _, s := range d.Stops {
		sumKM -= s.DetourKM
	}
	if want := road.LengthM() / 1000; sumKM < want-0.1 || sumKM > want+0.1 {
		t.Errorf("planned over %.2f km, the road has %.2f", sumKM, want)
	}
	if code, out, errOut := ampleway(t, "", args("/none/{from.lonlat}/{to.lonlat}")...); code == exitOK || out != "" || !strings.Contains(errOut, "404") {
		t.Errorf("no road: exit %d, %q, %q", code, out, errOut)
	}
	server.Close()
	if code, out, errOut := ampleway(t, "", args("/way/{from.lonlat}/{to.lonlat}")...); code == exitOK || out != "" || errOut == "" {
		t.Errorf("no server: exit %d, %q, %q", code, out, errOut)
	}
}

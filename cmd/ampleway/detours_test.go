package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ampleway/route"
	"ampleway/route/earth"
	"ampleway/route/input"
	"ampleway/testdata"
)

// roadService is a road router over HTTP that knows one road and a straight
// way from each place to the nearest point of it; from some places the way
// there and back is over a bridge far away.
type roadService struct {
	road *route.Route
	far  map[string]bool // "lon,lat"
	both bool            // the road is driven both ways

	mu    sync.Mutex
	asked map[string]int
}

func (s *roadService) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	s.asked[r.URL.Path]++
	s.mu.Unlock()
	ends := strings.Split(strings.Trim(r.URL.Path, "/"), "/")
	if len(ends) != 2 {
		http.NotFound(w, r)
		return
	}
	line := s.off(ends[0])
	fromM, toM := s.nearestM(ends[0]), s.nearestM(ends[1])
	if toM < fromM && !s.both {
		http.Error(w, "one way", http.StatusNotFound)
		return
	}
	line = append(line, s.at(fromM))
	var between [][]float64
	for i := range s.road.Len() {
		if m := s.road.ChainageM(i); m > min(fromM, toM) && m < max(fromM, toM) {
			between = append(between, s.at(m))
		}
	}
	if toM < fromM {
		slices.Reverse(between)
	}
	line = append(append(line, between...), s.at(toM))
	back := s.off(ends[1])
	for i := len(back) - 1; i >= 0; i-- {
		line = append(line, back[i])
	}
	json.NewEncoder(w).Encode(map[string]any{"ways": []any{map[string]any{"line": map[string]any{"type": "LineString", "coordinates": line}}}})
}

// off is the way from a place to the road: itself, and a bridge 15 km away.
func (s *roadService) off(end string) [][]float64 {
	lon, lat := lonLat(end)
	out := [][]float64{{lon, lat}}
	if s.far[end] {
		out = append(out, []float64{lon, lat + 15/111.2})
	}
	return out
}

func (s *roadService) at(m float64) []float64 {
	p := s.road.At(m)
	return []float64{p.Lon, p.Lat}
}

func (s *roadService) nearestM(end string) float64 {
	lon, lat := lonLat(end)
	best, bestM := math.Inf(1), 0.0
	for m := 0.0; m <= s.road.LengthM(); m += 50 {
		p := s.road.At(m)
		if d := earth.DistanceM(lon, lat, p.Lon, p.Lat); d < best {
			best, bestM = d, m
		}
	}
	return bestM
}

func lonLat(text string) (lon, lat float64) {
	fmt.Sscanf(text, "%f,%f", &lon, &lat)
	return lon, lat
}

type stopsOf struct {
	Assumptions []string
	DurationMin float64 `json:"duration_min"`
	Stops       []struct {
		Station  struct{ Lon, Lat float64 }
		DetourKM float64 `json:"detour_km"`
	}
}

// Asked over HTTP, a first stop that turns out to be far over a bridge is no
// longer one; the questions are few, none is put twice, and they can be limited
// or turned off.
func TestDetoursOverHTTP(t *testing.T) {
	road, err := input.Here.Route("demo:upland")
	if err != nil {
		t.Fatal(err)
	}
	service := &roadService{road: road, far: map[string]bool{}}
	server := httptest.NewServer(service)
	defer server.Close()
	plan := func(more ...string) (stopsOf, string) {
		t.Helper()
		service.asked = map[string]int{}
		args := append([]string{"trip", "--route", "demo:upland", "--stations", "demo", "--router", server.URL + "/{from.lonlat}/{to.lonlat}#line=ways.0.line", "--leave-with", "70", "--format", "json"}, more...)
		code, out, errOut := ampleway(t, "", args...)
		if code != exitOK {
			t.Fatalf("exit %d, %s", code, errOut)
		}
		for path, n := range service.asked {
			if n > 1 {
				t.Errorf("%s was asked for %d times", path, n)
			}
		}
		var d stopsOf
		if err := readDrive(out, &d); err != nil {
			t.Fatal(err)
		}
		return d, errOut
	}
	off, _ := plan("--detour-questions", "0")
	if len(service.asked) > 0 || len(off.Stops) == 0 || strings.Contains(strings.Join(off.Assumptions, "\n"), "your router") {
		t.Errorf("turned off: %d questions, %+v", len(service.asked), off)
	}
	limited, _ := plan("--detour-questions", "7")
	if n := len(service.asked); n > 7 || !strings.Contains(strings.Join(limited.Assumptions, "\n"), "the limit on questions") {
		t.Errorf("at most 7: %d questions, %s", n, limited.Assumptions)
	}
	first := off.Stops[0]
	service.far[fmt.Sprintf("%g,%g", first.Station.Lon, first.Station.Lat)] = true
	asked, errOut := plan()
	t.Logf("%d questions; %s; %s", len(service.asked), errOut, asked.Assumptions[3])
	for _, s := range asked.Stops {
		if s.Station == first.Station || s.DetourKM > 12 {
			t.Errorf("the plan stops at %v, %.1f km there and back", s.Station, s.DetourKM)
		}
	}
	if len(service.asked) > 60 || !strings.Contains(asked.Assumptions[3], "your router gave ") {
		t.Errorf("%d questions: %s", len(service.asked), asked.Assumptions[3])
	}
}

// The way back is asked for too, and every case of a comparison, no question
// twice.
func TestDetoursOnTheWayBack(t *testing.T) {
	testdata.Sequential(t)
	road, err := input.Here.Route("demo:upland")
	must(t, err)
	service := &roadService{road: road, far: map[string]bool{}, both: true, asked: map[string]int{}}
	server := httptest.NewServer(service)
	defer server.Close()
	args := []string{"trip", "--route", "demo:upland", "--stations", "demo", "--router", server.URL + "/{from.lonlat}/{to.lonlat}#line=ways.0.line", "--leave-with", "70", "--back", "--stay", "1h none", "--format", "json"}
	plan := func(more ...string) (drives []stopsOf, said string) {
		t.Helper()
		code, out, errOut := ampleway(t, "", append(args, more...)...)
		if code != exitOK {
			t.Fatalf("exit %d, %s", code, errOut)
		}
		var d struct{ Drives []stopsOf }
		must(t, json.Unmarshal([]byte(out), &d))
		return d.Drives, out
	}
	estimated, _ := plan("--detour-questions", "0")
	first := estimated[1].Stops[0]
	service.far[fmt.Sprintf("%g,%g", first.Station.Lon, first.Station.Lat)] = true
	drives, said := plan()
	for _, s := range drives[1].Stops {
		if s.Station == first.Station || s.DetourKM > 12 {
			t.Errorf("the way back stops at %v, %.1f km there and back", s.Station, s.DetourKM)
		}
	}
	if len(service.asked) == 0 || !strings.Contains(said, "your router gave ") {
		t.Errorf("%d questions: %s", len(service.asked), said)
	}
	clear(service.asked)
	if code, _, errOut := ampleway(t, "", append(args, "--temp", "5,6")...); code != exitOK || len(service.asked) == 0 {
		t.Errorf("a comparison: exit %d, %d questions, %s", code, len(service.asked), errOut)
	}
	for path, n := range service.asked {
		if n > 1 {
			t.Errorf("%s was asked for %d times", path, n)
		}
	}
}

// A router that does not answer, by a command: an interrupt ends the wait, the
// command and the program at once.
func TestInterruptWhileDetoursAreAsked(t *testing.T) {
	shell, err := exec.LookPath("sh")
	if err != nil {
		t.Skip("skipped: the program sh is absent")
	}
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(500*time.Millisecond, cancel)
	var out, errOut bytes.Buffer
	output := filepath.Join(t.TempDir(), "plan.json")
	began := time.Now()
	code := run(ctx, []string{"trip", "--route", "demo:upland", "--stations", "demo", "--leave-with", "50", "-o", output,
		"--router", shell + " -c 'sleep 60; : {from.lonlat} {to.lonlat}'"}, strings.NewReader(""), &out, &errOut)
	if took := time.Since(began); code != exitInterrupted || took > 20*time.Second || out.Len() > 0 {
		t.Errorf("exit %d after %s, %q, %q", code, took, out.String(), errOut.String())
	}
	if _, err := os.Stat(output); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a plan was written: %v", err)
	}
}

func TestFewerThanNoQuestions(t *testing.T) {
	code, out, errOut := ampleway(t, "", "trip", "--detour-questions", "-1")
	if code != exitUsage || out != "" || !strings.Contains(errOut, "--detour-questions -1: expected 0 or more") {
		t.Errorf("exit code %d, %q, %q", code, out, errOut)
	}
}

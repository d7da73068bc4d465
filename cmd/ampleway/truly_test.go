package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"ampleway/testdata"

	"github.com/spf13/cobra"
)

// full is a writer that has no room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// eachCommand calls see for every command and what holds it.
func eachCommand(c *cobra.Command, see func(*cobra.Command)) {
	see(c)
	for _, sub := range c.Commands() {
		eachCommand(sub, see)
	}
}

// No help names a default that is nothing, and a help that cannot be written
// is a failure.
func TestHelpOfEveryCommand(t *testing.T) {
	n := 0
	eachCommand(newRoot(func() {}), func(c *cobra.Command) {
		n++
		args := append(strings.Fields(c.CommandPath())[1:], "--help")
		code, out, errOut := ampleway(t, "", args...)
		if code != exitOK || out == "" {
			t.Errorf("%v: exit code %d: %s", args, code, errOut)
		}
		for _, none := range []string{"(default )", "(default [])", `(default "")`} {
			if strings.Contains(out, none) {
				t.Errorf("%v says %q", args, none)
			}
		}
		var e bytes.Buffer
		if code := run(context.Background(), args, strings.NewReader(""), full{}, &e); code != exitFailed || !strings.Contains(e.String(), "no space left") {
			t.Errorf("%v to a full disk: exit code %d: %s", args, code, e.String())
		}
	})
	if n < 15 {
		t.Errorf("only %d commands", n)
	}
}

// A station whose names steer terminals, turn text and begin formulas: nothing
// of it reaches standard output as it stands, and CSV, GPX and JSON are what
// they claim to be.
func TestNamesThatSteer(t *testing.T) {
	testdata.Sequential(t)
	const name = "=cmd()\x1b]0;owned\x07\x1b[31m\u202egnp.\u202c\u2066x\u009b2J\u200f"
	file := filepath.Join(t.TempDir(), "hostile.geojson")
	quoted, err := json.Marshal(name)
	if err != nil {
		t.Fatal(err)
	}
	var features []string
	for _, at := range [][2]string{{"-150.94", "a"}, {"-150.90", "b"}} {
		features = append(features, `{"type":"Feature","geometry":{"type":"Point","coordinates":[`+at[0]+`,41.7]},"properties":{"id":"`+at[1]+`","name":`+string(quoted)+`,"operator":`+string(quoted)+`,"stalls":[{"count":4,"connectors":[{"type":"ccs2","power_kw":150}]}]}}`)
	}
	must(t, os.WriteFile(file, []byte(`{"type":"FeatureCollection","features":[`+strings.Join(features, ",")+`]}`), 0o644))
	road := filepath.Join(t.TempDir(), "road.geojson")
	must(t, os.WriteFile(road, []byte(`{"type":"Feature","properties":{"name":`+string(quoted)+`},"geometry":{"type":"LineString","coordinates":[[-152.9,41.7],[-150.92,41.701],[-149.3,41.7]]}}`), 0o644))
	clean := func(what, out string) {
		t.Helper()
		for _, r := range out {
			if r != '\n' && r != '\r' && r != '\t' && (r < ' ' || r >= 0x7f && r < 0xa0) || strings.ContainsRune("\u202e\u202c\u2066\u200f", r) {
				t.Errorf("%s: %U is in\n%q", what, r, out)
				return
			}
		}
	}
	for _, form := range []string{"text", "csv", "gpx", "json", "geojson", "html"} {
		code, out, errOut := ampleway(t, "", "trip", "--route", road, "--stations", file, "--car", "mid-size-sedan", "--temp", "-5", "--format", form)
		if code != exitOK {
			t.Fatalf("%s: exit code %d: %s%s", form, code, out, errOut)
		}
		clean(form, out+errOut)
		switch form {
		case "csv":
			rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
			if err != nil || len(rows) < 4 || !strings.HasPrefix(rows[2][2], "'=cmd()") {
				t.Errorf("%q, %v", rows, err)
			}
		case "gpx":
			d := xml.NewDecoder(strings.NewReader(out))
			for _, err = d.Token(); err == nil; _, err = d.Token() {
			}
			if !errors.Is(err, io.EOF) {
				t.Errorf("GPX: %v", err)
			}
		case "json", "geojson":
			if !json.Valid([]byte(out)) {
				t.Errorf("%s is none", form)
			}
		}
	}
	for _, args := range [][]string{{"stations", "check", file}, {"stations", "near", "--route", road, "--stations", file}, {"trip", "--route", road, "--stations", file, "--reserve", "90"}} {
		_, out, errOut := ampleway(t, "", args...)
		clean(args[0], out+errOut)
	}
}

// With US units the temperatures by the hour are °F, as --temp is.
func TestTemperaturesByTheHourInUSUnits(t *testing.T) {
	testdata.Sequential(t)
	arrival := func(args ...string) float64 {
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--depart", "2026-12-24T08:30", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit code %d: %s", args, code, errOut)
		}
		var d struct {
			DurationMin float64 `json:"duration_min"`
		}
		must(t, readDrive(out, &d))
		return d.DurationMin
	}
	f, c := arrival("--units", "us", "--temp-by-hour", "06:00=14,14:00= 32"), arrival("--temp-by-hour", "06:00=-10,14:00=0")
	if f != c || f == 0 || math.Abs(f-arrival("--temp", "20")) < 1 {
		t.Errorf("%g min in °F, %g in °C", f, c)
	}
}

// A track with a pause and 2.24 km crawled at 0.8 m/s, on a road that turns
// there, keeps all of its road: what a pause cuts is time.
func TestACrawlKeepsItsRoad(t *testing.T) {
	var gpx strings.Builder
	gpx.WriteString(`<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>crawl</name><trkseg>`)
	eastM, northM, atS := 0.0, 0.0, 0
	drive := func(seconds int, v float64, north bool) {
		for range seconds {
			lat, lon := 41+northM/111_050, -150+eastM/84_000 // metres a degree there, near enough
			if atS%5 == 0 {
				gpx.WriteString(`<trkpt lat="` + trim(lat) + `" lon="` + trim(lon) + `"><time>2026-06-01T` + clockOf(atS) + `Z</time></trkpt>`)
			}
			if north {
				northM += v
			} else {
				eastM += v
			}
			atS++
		}
	}
	drive(600, 25, false)
	drive(900, 0, false)
	drive(1400, 0.8, false)
	drive(1400, 0.8, true)
	drive(900, 0, true)
	drive(601, 25, true)
	gpx.WriteString(`</trkseg></trk></gpx>`)
	file := filepath.Join(t.TempDir(), "crawl.gpx")
	must(t, os.WriteFile(file, []byte(gpx.String()), 0o644))
	code, out, errOut := ampleway(t, "", "trip", "--route", file, "--stations", "demo", "--format", "json")
	if code != exitOK {
		t.Fatalf("exit code %d: %s", code, errOut)
	}
	var d struct {
		DistanceKM  float64 `json:"distance_km"`
		DurationMin float64 `json:"duration_min"`
	}
	must(t, readDrive(out, &d))
	if want := 2*15 + 2*1.12; math.Abs(d.DistanceKM-want) > 0.2 {
		t.Errorf("%g km, driven %g km", d.DistanceKM, want)
	}
	// 20 min at 25 m/s, 2.24 km at a walk, and none of the 30 min at rest.
	if d.DurationMin < 20+25 || d.DurationMin > 20+50 {
		t.Errorf("%g min", d.DurationMin)
	}
}

func trim(degrees float64) string { return strconv.FormatFloat(degrees, 'f', 7, 64) }

func clockOf(seconds int) string {
	return time.Date(2026, 6, 1, 8, 0, seconds, 0, time.UTC).Format("15:04:05")
}

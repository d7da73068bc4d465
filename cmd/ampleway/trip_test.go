package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ampleway/data"
	"ampleway/testdata"
)

// ampleway runs the program and returns its exit code and what it printed.
func ampleway(t testing.TB, stdin string, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(stdin), &o, &e)
	return code, o.String(), e.String()
}

func TestDemoTrip(t *testing.T) {
	code, out, errOut := ampleway(t, "", "trip")
	if code != exitOK || errOut != "" {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	for _, want := range []string{"Arrive with", "Invented", "This is an estimate", "Never drive on below your reserve"} {
		if !strings.Contains(out, want) {
			t.Errorf("the demo does not print %q", want)
		}
	}
	_, again, _ := ampleway(t, "", "trip")
	if again != out {
		t.Error("the demo prints something else the second time")
	}
}

// What the command line gives counts, what it leaves out comes from the demo.
func TestGivenOptionsStay(t *testing.T) {
	code, out, errOut := ampleway(t, "", "trip", "--temp", "-12", "--car", "crossover", "--reserve", "22", "--format", "json")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	var d struct {
		Car         string   `json:"car"`
		ReservePct  float64  `json:"reserve_pct"`
		DestPct     float64  `json:"destination_reserve_pct"`
		DepartAt    string   `json:"depart_at"`
		Assumptions []string `json:"assumptions"`
	}
	if err := json.Unmarshal([]byte(out), &d); err != nil {
		t.Fatal(err)
	}
	if d.Car != "crossover" || d.ReservePct != 22 || d.DestPct != 22 || d.DepartAt == "" {
		t.Errorf("got %+v", d)
	}
	if text := strings.Join(d.Assumptions, " "); !strings.Contains(text, "-12 °C") || !strings.Contains(text, "wind 40 km/h") {
		t.Errorf("weather: %s", text)
	}
}

func TestUnits(t *testing.T) {
	_, metric, _ := ampleway(t, "", "trip", "--temp", "-5", "--wind", "16.09344", "--payload", "90.718474")
	_, us, errOut := ampleway(t, "", "trip", "--units", "us", "--temp", "23", "--wind", "10", "--payload", "200")
	headline := func(s string) string { return strings.SplitN(s, "\n", 2)[0] }
	if headline(metric) != headline(us) {
		t.Errorf("the same trip in two units:\n%s\n%s%s", headline(metric), headline(us), errOut)
	}
	if !strings.Contains(us, "23 °F") || !strings.Contains(us, "10 mph") || strings.Contains(us, "km/h") {
		t.Errorf("the US text is not in US units:\n%s", us)
	}
}

func TestRouteFromStandardInput(t *testing.T) {
	text, err := data.Corridor("upland")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	sites := filepath.Join(folder, "sites.geojson")
	if err := os.WriteFile(sites, data.Stations(), 0o644); err != nil {
		t.Fatal(err)
	}
	stdin, err := os.CreateTemp(folder, "route")
	if err != nil {
		t.Fatal(err)
	}
	defer stdin.Close()
	if _, err := stdin.Write(text); err != nil {
		t.Fatal(err)
	}
	if _, err := stdin.Seek(0, 0); err != nil {
		t.Fatal(err)
	}
	old := os.Stdin
	os.Stdin = stdin
	defer func() { os.Stdin = old }()
	code, out, errOut := ampleway(t, "", "trip", "--route", "-", "--stations", sites)
	if code != exitOK || !strings.Contains(out, "Arrive with") {
		t.Fatalf("exit %d, %s%s", code, out, errOut)
	}
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		code int
		says string
	}{
		{"no such flag", []string{"trip", "--nope"}, exitUsage, "nope"},
		{"no such format", []string{"trip", "--format", "pdf"}, exitUsage, "text, json"},
		{"no such car", []string{"trip", "--car", "nope"}, exitUsage, "mid-size-sedan"},
		{"no such corridor", []string{"trip", "--route", "demo:nope", "--stations", "demo"}, exitUsage, "upland"},
		{"route without stations", []string{"trip", "--route", "demo:upland"}, exitUsage, "--stations"},
		{"temperature", []string{"trip", "--temp", "300"}, exitUsage, "--temp"},
		{"departure", []string{"trip", "--depart", "tomorrow"}, exitUsage, "ISO 8601"},
		{"reserve", []string{"trip", "--reserve", "120"}, exitUsage, "0 to 100"},
		{"units", []string{"trip", "--units", "imperial"}, exitUsage, "metric or us"},
		{"adapter", []string{"trip", "--adapter", "x"}, exitUsage, "CHAdeMO=CCS2"},
		{"alias", []string{"trip", "--alias", "x=y"}, exitUsage, "j3400"},
		{"power class", []string{"trip", "--power-between", "9-1"}, exitUsage, "50-149"},
		{"wind", []string{"trip", "--wind-from", "up"}, exitUsage, "compass"},
		{"no plan", []string{"trip", "--leave-with", "5"}, exitNoPlan, "What would make it possible"},
		{"no command", []string{"nope"}, exitUsage, "nope"},
		{"arguments", []string{"trip", "here"}, exitUsage, "here"},
	} {
		code, out, errOut := ampleway(t, "", c.args...)
		if code != c.code || !strings.Contains(errOut, c.says) || out != "" {
			t.Errorf("%s: exit %d, want %d; standard error %q should say %q; standard output %q", c.name, code, c.code, errOut, c.says, out)
		}
	}
}

// A file appears only when it is complete, and a failure leaves what was there.
func TestOutputFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "trip.json")
	if err := os.WriteFile(path, []byte("before"), 0o640); err != nil {
		t.Fatal(err)
	}
	if code, _, _ := ampleway(t, "", "trip", "--leave-with", "5", "-o", path); code != exitNoPlan {
		t.Fatalf("exit %d", code)
	}
	if text, _ := os.ReadFile(path); string(text) != "before" {
		t.Errorf("a run without a plan has changed the file to %q", text)
	}
	if code, out, errOut := ampleway(t, "", "trip", "--format", "json", "-o", path); code != exitOK || out != "" {
		t.Fatalf("exit %d, %s%s", code, out, errOut)
	}
	if text, _ := os.ReadFile(path); !json.Valid(text) {
		t.Error("the file is not JSON")
	}
	if code, _, errOut := ampleway(t, "", "trip", "-o", filepath.Join(t.TempDir(), "no", "such", "folder")); code != exitFailed || !strings.Contains(errOut, "cannot write") {
		t.Errorf("exit %d, %s", code, errOut)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Every malformed file ends in its named error or in a plan: the program
// prints where and what, exits 2, writes nothing, and never panics.
func TestBrokenFiles(t *testing.T) {
	testdata.Sequential(t)
	sites := filepath.Join(t.TempDir(), "sites.geojson")
	if err := os.WriteFile(sites, data.Stations(), 0o644); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, kind := range []string{"routes", "stations"} {
		files, err := filepath.Glob(testdata.Path("broken", kind, "*"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			tried++
			args := []string{"trip", "--route", file, "--stations", sites}
			if kind == "stations" {
				args = []string{"trip", "--route", "demo:upland", "--stations", file}
			}
			code, out, errOut := ampleway(t, "", args...)
			switch code {
			case exitUsage:
				if !strings.Contains(errOut, filepath.Base(file)) || out != "" {
					t.Errorf("%s: the error does not name the file, or something was written: %q, %q", file, errOut, out)
				}
			case exitOK, exitNoPlan:
			default:
				t.Errorf("%s: exit %d, %s", file, code, errOut)
			}
		}
	}
	if tried < 30 {
		t.Errorf("only %d malformed files were tried", tried)
	}
}

// readDrive reads a journey of one drive: what is said of the whole, and of the
// drive.
func readDrive(document string, to any) error {
	var whole struct{ Drives []json.RawMessage }
	if err := json.Unmarshal([]byte(document), &whole); err != nil {
		return err
	}
	if len(whole.Drives) != 1 {
		return fmt.Errorf("%d drives", len(whole.Drives))
	}
	if err := json.Unmarshal([]byte(document), to); err != nil {
		return err
	}
	return json.Unmarshal(whole.Drives[0], to)
}

// Several cars or temperatures make one table, in the text, as JSON and CSV.
func TestComparison(t *testing.T) {
	testdata.Sequential(t)
	code, out, errOut := ampleway(t, "", "trip", "--car", "small-hatch", "--car", "crossover", "--temp", "-10,20", "--format", "json")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	var d struct {
		Cases []struct {
			Car   string `json:"car"`
			Asked struct {
				TempC float64 `json:"temp_c"`
			} `json:"asked"`
			Journey struct {
				DurationMin float64 `json:"duration_min"`
			} `json:"journey"`
		} `json:"cases"`
	}
	if err := json.Unmarshal([]byte(out), &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Cases) != 4 {
		t.Fatalf("%d cases, want 4", len(d.Cases))
	}
	for i, want := range []struct {
		car   string
		tempC float64
	}{{"small hatch", -10}, {"small hatch", 20}, {"crossover", -10}, {"crossover", 20}} {
		c := d.Cases[i]
		if c.Car != want.car || c.Asked.TempC != want.tempC {
			t.Errorf("case %d is %s at %g °C, want %s at %g °C", i+1, c.Car, c.Asked.TempC, want.car, want.tempC)
		}
		// Each case is the trip that is planned for it alone.
		_, alone, _ := ampleway(t, "", "trip", "--car", strings.ReplaceAll(want.car, " ", "-"), "--temp", strconv.FormatFloat(want.tempC, 'g', -1, 64), "--format", "json")
		var one struct {
			DurationMin float64 `json:"duration_min"`
		}
		if err := json.Unmarshal([]byte(alone), &one); err != nil {
			t.Fatal(err)
		}
		if one.DurationMin != c.Journey.DurationMin {
			t.Errorf("case %d takes %g min, alone %g min", i+1, c.Journey.DurationMin, one.DurationMin)
		}
	}
	for _, bad := range [][]string{
		{"trip", "--temp", "1,x"}, {"trip", "--temp", "1,2", "--back", "--stay", "1h none", "--stay", "2h none"},
		{"trip", "--car", "van", "--car", "nope"}, {"trip", "--confidence", "101"}, {"trip", "--fallback", "perhaps"},
	} {
		if code, out, _ := ampleway(t, "", bad...); code != exitUsage || out != "" {
			t.Errorf("%v: exit %d, %q", bad, code, out)
		}
	}
}

// Journeys there and back are compared as well, each as it is planned alone.
func TestComparisonThereAndBack(t *testing.T) {
	testdata.Sequential(t)
	way := []string{"trip", "--back", "--stay", "5h level2:40", "--format", "json", "--temp"}
	_, out, errOut := ampleway(t, "", append(way, "-5,20")...)
	var d struct {
		Cases []struct {
			Journey struct {
				DurationMin float64 `json:"duration_min"`
				Stops       int     `json:"stop_count"`
				DistanceKM  float64 `json:"distance_km"`
			} `json:"journey"`
		} `json:"cases"`
	}
	if err := json.Unmarshal([]byte(out), &d); err != nil || len(d.Cases) != 2 || d.Cases[0].Journey.DistanceKM < 1000 {
		t.Fatalf("%v, %s, %+v", err, errOut, d)
	}
	for i, temp := range []string{"-5", "20"} {
		_, alone, _ := ampleway(t, "", append(way, temp)...)
		var one struct {
			DurationMin float64 `json:"duration_min"`
			Drives      []struct {
				Stops []any `json:"stops"`
			} `json:"drives"`
		}
		if err := json.Unmarshal([]byte(alone), &one); err != nil || len(one.Drives) != 2 {
			t.Fatalf("%v, %s", err, alone)
		}
		c, stops := d.Cases[i].Journey, len(one.Drives[0].Stops)+len(one.Drives[1].Stops)
		if one.DurationMin != c.DurationMin || c.Stops != stops {
			t.Errorf("at %s °C %g min and %d stops, alone %g min and %d", temp, c.DurationMin, c.Stops, one.DurationMin, stops)
		}
	}
}

// A confidence and a required fallback reach the plan and the output.
func TestSurerDemo(t *testing.T) {
	duration := func(args ...string) (float64, string) {
		t.Helper()
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		var d struct {
			DurationMin float64 `json:"duration_min"`
			Risk        struct {
				ConfidencePct   float64 `json:"confidence_pct"`
				BelowReservePct float64 `json:"below_reserve_pct"`
			} `json:"risk"`
			Fallbacks []struct {
				Possible bool `json:"possible"`
			} `json:"fallbacks"`
		}
		if err := readDrive(out, &d); err != nil {
			t.Fatal(err)
		}
		for i, f := range d.Fallbacks {
			if !f.Possible {
				t.Errorf("%v: no fallback for stop %d", args, i+1)
			}
		}
		if want := 100 - d.Risk.ConfidencePct; d.Risk.ConfidencePct > 0 && d.Risk.BelowReservePct > want+2 {
			t.Errorf("%v: %g %% below the reserve", args, d.Risk.BelowReservePct)
		}
		return d.DurationMin, out
	}
	plain, first := duration("--confidence", "0")
	sure, _ := duration("--confidence", "95")
	safe, _ := duration("--confidence", "0", "--fallback", "required", "--fallback-floor", "9")
	if sure <= plain || safe < plain {
		t.Errorf("%g min as it is, %g min with 95 %% confidence, %g min with fallbacks", plain, sure, safe)
	}
	if _, again := duration("--confidence", "0"); again != first {
		t.Error("the same trip is written in other bytes the second time")
	}
}

// The demo from a snapshot made by stations import is the demo, byte for byte.
func TestDemoFromSnapshot(t *testing.T) {
	folder := t.TempDir()
	published, snapshot := filepath.Join(folder, "sites.geojson"), filepath.Join(folder, "sites.parquet")
	if err := os.WriteFile(published, data.Stations(), 0o644); err != nil {
		t.Fatal(err)
	}
	if code, _, errOut := ampleway(t, "", "stations", "import", published, "-o", snapshot); code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	_, want, _ := ampleway(t, "", "trip", "--format", "json")
	code, got, errOut := ampleway(t, "", "trip", "--stations", snapshot, "--format", "json")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	if got != want {
		t.Error("the demo trip from a snapshot differs from the demo trip")
	}
}

// A stop that live data calls out of order is not planned, and the program
// says how many stations the live data knows.
func TestLiveStatus(t *testing.T) {
	_, plain, _ := ampleway(t, "", "trip", "--format", "json")
	var d struct {
		Stops []struct {
			Station struct {
				ID  string  `json:"id"`
				Lon float64 `json:"lon"`
				Lat float64 `json:"lat"`
			} `json:"station"`
		} `json:"stops"`
	}
	if err := readDrive(plain, &d); err != nil || len(d.Stops) == 0 {
		t.Fatalf("%v, %d stops", err, len(d.Stops))
	}
	first := d.Stops[0].Station
	live := filepath.Join(t.TempDir(), "live.json")
	text := fmt.Sprintf(`[{"country_code":"XX","party_id":"AMP","id":%q,"publish":true,"name":"x","address":"x","city":"x","country":"XXX",
		"coordinates":{"latitude":"%g","longitude":"%g"},"time_zone":"Etc/GMT+10","last_updated":"2026-10-17T00:00:00Z",
		"evses":[{"uid":"1","status":"OUTOFORDER","last_updated":"2026-10-17T00:00:00Z","connectors":[{"id":"1","standard":"IEC_62196_T2_COMBO","format":"CABLE","power_type":"DC","max_voltage":1000,"max_amperage":200,"last_updated":"2026-10-17T00:00:00Z"}]}]}]`, first.ID, first.Lat, first.Lon)
	if err := os.WriteFile(live, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	code, got, errOut := ampleway(t, "", "trip", "--status", live, "--format", "json")
	if code != exitOK || !strings.Contains(errOut, "1 of") {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	if err := readDrive(got, &d); err != nil {
		t.Fatal(err)
	}
	for _, s := range d.Stops {
		if s.Station.ID == first.ID {
			t.Errorf("the plan stops at %s, which is out of order", first.ID)
		}
	}
}

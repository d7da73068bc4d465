package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampleway/testdata"

	"ampleway/data"
)

// There and back is held at the confidence that a person gets for one way, and
// says what to do at each stop.
func TestVisitIsSure(t *testing.T) {
	testdata.Sequential(t)
	type visit struct {
		DurationMin float64 `json:"duration_min"`
		Drives      []struct {
			Stops      []any `json:"stops"`
			LeaveRules []any `json:"rules"`
			Fallbacks  []any `json:"fallbacks"`
		} `json:"drives"`
		Risk struct {
			ConfidencePct         float64 `json:"confidence_pct"`
			BelowReservePct       float64 `json:"below_reserve_pct"`
			BelowReserveStdErrPct float64 `json:"below_reserve_std_error_pct"`
		} `json:"risk"`
	}
	plan := func(args ...string) (v visit) {
		t.Helper()
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--back", "--stay", "5h level2:40", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		if err := json.Unmarshal([]byte(out), &v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	sure, plain := plan(), plan("--confidence", "0")
	if r := sure.Risk; r.ConfidencePct != 95 || r.BelowReservePct > 5+2*r.BelowReserveStdErrPct {
		t.Errorf("%+v", r)
	}
	if plain.Risk.BelowReservePct < 20 || sure.DurationMin < plain.DurationMin {
		t.Errorf("by the estimate alone %+v", plain)
	}
	for i, d := range sure.Drives {
		if len(d.LeaveRules) != len(d.Stops) || len(d.Fallbacks) != len(d.Stops) {
			t.Errorf("drive %d: %d stops, %d rules, %d fallbacks", i+1, len(d.Stops), len(d.LeaveRules), len(d.Fallbacks))
		}
	}
	_, text, _ := ampleway(t, "", "trip", "--back", "--stay", "5h level2:40")
	for _, want := range []string{"holds with a probability of 95 %", "Reached with more or less than planned:", "If it cannot charge you:", "licensed electrician", "Never drive on below your reserve"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("the text does not say %q", want)
		}
	}
	if sure.DurationMin <= 300 {
		t.Errorf("%g min in all", sure.DurationMin)
	}
}

// Temperatures by the hour reach the plan and the text.
func TestTemperatureByTheHour(t *testing.T) {
	testdata.Sequential(t)
	energy := func(args ...string) float64 {
		t.Helper()
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		var d struct {
			DrivenKWh float64 `json:"driven_kwh"`
		}
		if err := json.Unmarshal([]byte(out), &d); err != nil {
			t.Fatal(err)
		}
		return d.DrivenKWh
	}
	plain := energy("--temp", "8")
	same, cold := energy("--temp-by-hour", "00:00=8"), energy("--temp-by-hour", "09:00=8,12:00=-12,23:00=-12")
	if same != plain || cold < 1.03*plain {
		t.Errorf("%g kWh at 8 °C, %g with 8 °C at every hour, %g with a day that gets cold", plain, same, cold)
	}
	_, text, _ := ampleway(t, "", "trip", "--temp-by-hour", "09:00=8,12:00=-12,23:00=-12")
	if !strings.Contains(text, "Temperature by the hour") {
		t.Error("the text does not speak of the hours")
	}
	for _, bad := range []string{"1,2", "09:00=x"} {
		if code, _, errOut := ampleway(t, "", "trip", "--temp-by-hour", bad); code != exitUsage || !strings.Contains(errOut, "--temp-by-hour: found "+bad) {
			t.Errorf("%q: exit %d, %s", bad, code, errOut)
		}
	}
}

// journeyOf is what a journey is as JSON.
type journeyOf struct {
	Drives []struct {
		DepartAt   string  `json:"depart_at"`
		ArriveAt   string  `json:"arrive_at"`
		Stops      []any   `json:"stops"`
		LeaveRules []any   `json:"rules"`
		Fallbacks  []any   `json:"fallbacks"`
		Stresses   []any   `json:"harder_days"`
		DrivenKWh  float64 `json:"driven_kwh"`
	} `json:"drives"`
	Stays []struct {
		ReachPct float64 `json:"reach_pct"`
		LeavePct float64 `json:"leave_pct"`
	} `json:"stays"`
	Risk struct {
		BelowReservePct float64  `json:"below_reserve_pct"`
		InTimePct       *float64 `json:"in_time_pct"`
	} `json:"risk"`
}

func planJourney(t *testing.T, args ...string) (j journeyOf) {
	t.Helper()
	code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
	if code != exitOK {
		t.Fatalf("%v: exit %d, %s", args, code, errOut)
	}
	if err := json.Unmarshal([]byte(out), &j); err != nil {
		t.Fatal(err)
	}
	return j
}

// A wanted arrival is that at the end of the first drive, and temperatures by the
// hour follow the clock of every drive.
func TestArrivalAndHoursThereAndBack(t *testing.T) {
	testdata.Sequential(t)
	const by = "2027-01-15T18:00:00-10:00"
	j := planJourney(t, "--arrive-by", by, "--back", "--stay", "2h level2:40")
	arrive, err := time.Parse(time.RFC3339, j.Drives[0].ArriveAt)
	if err != nil {
		t.Fatal(err)
	}
	if wanted, _ := time.Parse(time.RFC3339, by); arrive.After(wanted) || arrive.Before(wanted.Add(-15*time.Minute)) {
		t.Errorf("there at %s", j.Drives[0].ArriveAt)
	}
	if j.Risk.InTimePct == nil || *j.Risk.InTimePct < 10 || j.Risk.BelowReservePct > 6 {
		t.Errorf("%+v", j.Risk)
	}
	mild := planJourney(t, "--temp", "8", "--back", "--stay", "2h level2:40")
	night := planJourney(t, "--temp-by-hour", "00:00=-12,07:00=8,16:30=8,17:30=-12", "--back", "--stay", "2h level2:40")
	out, back := night.Drives[0].DrivenKWh/mild.Drives[0].DrivenKWh, night.Drives[1].DrivenKWh/mild.Drives[1].DrivenKWh
	if out > 1.03 || back < 1.05 {
		t.Errorf("in a day that is cold by night the way out takes %.3f, the way back %.3f of a mild one's", out, back)
	}
	if _, text, _ := ampleway(t, "", "trip", "--back", "--arrive-by", "2026-10-17T16:00-10:00", "--temp-by-hour", "06:00=-3,14:30=8,22:00=-5"); strings.Contains(text, "for 0.0 kWh") {
		t.Error("nothing is charged, and a charge is told of")
	}
	own := planJourney(t, "--temp-by-hour", "00:00=-12", "--back-temp", "8", "--back", "--stay", "2h level2:40")
	if share := own.Drives[1].DrivenKWh / mild.Drives[1].DrivenKWh; share > 1.02 {
		t.Errorf("with a temperature of its own the way back takes %.3f of a mild one's", share)
	}
}

// Three days with two nights: every drive has what a trip has, and every night
// gives what its plug gives.
func TestThreeDaysTwoNights(t *testing.T) {
	first, second := demoInTwo(t)
	j := planJourney(t, "--route", first, "--route", second, "--back", "--stations", "demo", "--car", "mid-size-sedan",
		"--depart", "2026-10-17T08:00:00-10:00", "--stay", "14h level2:16", "--stay", "10h none")
	if len(j.Drives) != 3 || len(j.Stays) != 2 {
		t.Fatalf("%d drives, %d stays", len(j.Drives), len(j.Stays))
	}
	for i, d := range j.Drives {
		if n := len(d.Stops); len(d.LeaveRules) != n || len(d.Fallbacks) != n || len(d.Stresses) < 4 {
			t.Errorf("drive %d: %d stops, %d rules, %d fallbacks, %d harder days", i+1, n, len(d.LeaveRules), len(d.Fallbacks), len(d.Stresses))
		}
	}
	if s := j.Stays; s[0].LeavePct < s[0].ReachPct+20 || s[1].LeavePct != s[1].ReachPct {
		t.Errorf("%+v", s)
	}
	if j.Risk.BelowReservePct > 6 {
		t.Errorf("%+v", j.Risk)
	}
}

// demoInTwo is the road of the demo, cut in the middle.
func demoInTwo(t *testing.T) (first, second string) {
	t.Helper()
	text, err := data.Corridor("pass")
	must(t, err)
	var road struct {
		Geometry struct {
			Coordinates [][]float64 `json:"coordinates"`
		} `json:"geometry"`
	}
	must(t, json.Unmarshal(text, &road))
	at := road.Geometry.Coordinates
	part := func(name string, points [][]float64) string {
		line, err := json.Marshal(map[string]any{"type": "LineString", "coordinates": points})
		must(t, err)
		path := filepath.Join(t.TempDir(), name)
		must(t, os.WriteFile(path, line, 0o644))
		return path
	}
	return part("first.geojson", at[:len(at)/2+1]), part("second.geojson", at[len(at)/2:])
}

// The ending of -o chooses the form of a visit too.
func TestVisitInEveryForm(t *testing.T) {
	testdata.Sequential(t)
	folder := t.TempDir()
	for ending, holds := range map[string]string{
		"txt": "Home again with", "text": "Home again with", "json": `"format": "ampleway-journey/1"`, "geojson": `"FeatureCollection"`,
		"gpx": "<gpx xmlns=", "csv": "drive,stop,name", "html": "<!doctype html>",
	} {
		path := filepath.Join(folder, "visit."+ending)
		code, out, errOut := ampleway(t, "", "trip", "--back", "--stay", "2h level1", "-o", path)
		if code != exitOK || out != "" {
			t.Fatalf("%s: exit %d, %s%s", ending, code, out, errOut)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), holds) {
			t.Errorf("%s: %q is not in %.300s", ending, holds, text)
		}
	}
	code, _, errOut := ampleway(t, "", "trip", "--back", "--format", "docx")
	if code != exitUsage || !strings.Contains(errOut, "expected one of text, json, geojson, gpx, csv, html") {
		t.Errorf("exit %d, %s", code, errOut)
	}
}

// --reverse turns the visit round: out is the way back of the other.
func TestVisitReversed(t *testing.T) {
	type visit struct {
		Drives []struct {
			Route string `json:"route"`
			Legs  []struct {
				From string `json:"from"`
				To   string `json:"to"`
			} `json:"legs"`
		} `json:"drives"`
		EndsAtStart bool `json:"ends_at_start"`
	}
	ends := func(args ...string) (out [2][2]string) {
		t.Helper()
		code, text, errOut := ampleway(t, "", append([]string{"trip", "--back", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("exit %d, %s", code, errOut)
		}
		var v visit
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		if !v.EndsAtStart {
			t.Error("there and back does not end at the start")
		}
		for i, d := range v.Drives {
			out[i] = [2]string{d.Legs[0].From, d.Legs[len(d.Legs)-1].To}
		}
		return out
	}
	out, reversed := ends(), ends("--reverse")
	if want := [2][2]string{{"Velmouth", "Corrowen"}, {"Corrowen", "Velmouth"}}; out != want {
		t.Errorf("%v, want %v", out, want)
	}
	if want := [2][2]string{out[1], out[0]}; reversed != want {
		t.Errorf("reversed %v, want %v", reversed, want)
	}
}

// Where the way back cannot be made, the answer says that it is that drive.
func TestVisitNamesTheDriveThatFails(t *testing.T) {
	code, _, errOut := ampleway(t, "", "trip", "--route", "demo:upland", "--stations", "demo", "--only", "nobody", "--leave-with", "100", "--temp", "20", "--confidence", "0", "--back", "--stay", "2h none")
	text := strings.Join(strings.Fields(errOut), " ")
	if code != exitNoPlan || !strings.Contains(text, "Drive 2 of this journey cannot be planned") || !strings.Contains(text, "What would make drive 2 possible") {
		t.Errorf("exit %d, %s", code, errOut)
	}
}

package main

import (
	"encoding/json"
	"strings"
	"testing"
)

// There and back is held at the confidence that a person gets for one way, and
// says what to do at each stop.
func TestVisitIsSure(t *testing.T) {
	type visit struct {
		DurationMin float64 `json:"duration_min"`
		Drives      []struct {
			Stops      []any `json:"stops"`
			LeaveRules []any `json:"leave_rules"`
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
	for _, want := range []string{"holds with 95 %", "What to leave with", "If the charger is down", "licensed electrician", "Never drive on below your reserve"} {
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
		if code, _, errOut := ampleway(t, "", "trip", "--temp-by-hour", bad); code != exitUsage || !strings.Contains(errOut, "temp_by_hour") {
			t.Errorf("%q: exit %d, %s", bad, code, errOut)
		}
	}
}

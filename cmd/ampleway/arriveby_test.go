package main

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
)

// A wanted arrival gives the departure first, arrives by then, and a minute
// later would be too late.
func TestArriveBy(t *testing.T) {
	const by = "2027-01-15T18:00:00-10:00"
	code, text, errOut := ampleway(t, "", "trip", "--arrive-by", by)
	if code != exitOK || !strings.HasPrefix(text, "Leave home at ") || !strings.Contains(text, "There by 18:00 are") {
		t.Fatalf("exit %d, %s%s", code, errOut, text)
	}
	read := func(args ...string) (depart, arrive time.Time, inTime float64) {
		t.Helper()
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		var d struct {
			DepartAt time.Time `json:"depart_at"`
			ArriveAt time.Time `json:"arrive_at"`
			Risk     struct {
				InTimePct float64 `json:"in_time_pct"`
			} `json:"risk"`
		}
		if err := json.Unmarshal([]byte(out), &d); err != nil {
			t.Fatal(err)
		}
		return d.DepartAt, d.ArriveAt, d.Risk.InTimePct
	}
	wanted, _ := time.Parse(time.RFC3339, by)
	depart, arrive, inTime := read("--arrive-by", by)
	if arrive.After(wanted) || wanted.Sub(arrive) > time.Hour || inTime <= 0 {
		t.Errorf("leaves at %s, arrives at %s, %g %% in time", depart, arrive, inTime)
	}
	if !strings.Contains(text, "Leave home at "+depart.Format("15:04")) {
		t.Errorf("the text has another departure than %s", depart)
	}
	if _, late, _ := read("--depart", depart.Add(time.Minute).Format(time.RFC3339)); !late.After(wanted) {
		t.Errorf("a minute later arrives at %s too", late)
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--arrive-by", by, "--depart", by}, "one of the two"},
		{[]string{"--arrive-by", "teatime"}, "--arrive-by: found teatime"},
	} {
		if code, out, errOut := ampleway(t, "", append([]string{"trip"}, c.args...)...); code != exitUsage || out != "" || !strings.Contains(errOut, c.says) {
			t.Errorf("%v: exit %d, %q", c.args, code, errOut)
		}
	}
}

package trip_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"ampleway/route/trip"
)

// thereAndBack is a visit at the end of the second corridor, driven both ways.
func thereAndBack(t testing.TB, stay string, ask trip.Request) *trip.Visit {
	t.Helper()
	s, err := trip.ParseStay(stay)
	if err != nil {
		t.Fatal(err)
	}
	r, index, c := demoRoute(t, "upland"), demoStations(t), car(t, "mid-size-sedan")
	out, goal, err := trip.Prepare(r, index, c, ask)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := trip.Prepare(r.Reverse(), index, c, ask)
	if err != nil {
		t.Fatal(err)
	}
	return &trip.Visit{Drives: []*trip.Drive{out, back}, Stays: []trip.Stay{s}, Goal: goal}
}

func TestThereAndBack(t *testing.T) {
	ask := trip.NewRequest()
	ask.DepartAt = "2026-11-07T09:00:00Z"
	total := map[string]float64{}
	for _, stay := range []string{"6h none", "6h level1", "6h level2:40", "6h dc:50"} {
		visit := thereAndBack(t, stay, ask)
		plan, err := visit.Plan(nil)
		if err != nil {
			t.Fatalf("%s: %v", stay, err)
		}
		for _, p := range plan.Plans {
			replay(t, p)
			closes(t, p)
			total[stay] += p.TimeS
		}
		s := plan.Stays[0]
		if math.Abs(s.ArriveSoC-plan.Plans[0].ArriveSoC) > 1e-6 {
			t.Errorf("%s: the stay begins with %.6f, the drive ends with %.6f", stay, s.ArriveSoC, plan.Plans[0].ArriveSoC)
		}
		if back := plan.Plans[1]; back.Goal.DepartSoC != s.LeaveSoC {
			t.Errorf("%s: the way back begins with %.6f, the stay ends with %.6f", stay, back.Goal.DepartSoC, s.LeaveSoC)
		}
		at, _ := time.Parse(time.RFC3339, ask.DepartAt)
		if got, want := plan.Plans[1].Goal.Depart.Sub(at).Seconds(), plan.Plans[0].TimeS+6*3600; math.Abs(got-want) > 0.01 {
			t.Errorf("%s: the way back begins after %.1f s, want %.1f", stay, got, want)
		}
		t.Logf("%s: %.0f %% to %.0f %%, %.0f min on the road in all", stay, 100*s.ArriveSoC, 100*s.LeaveSoC, total[stay]/60)
	}
	if !(total["6h none"] >= total["6h level1"] && total["6h level1"] >= total["6h level2:40"]) {
		t.Errorf("a better plug makes the visit longer: %v", total)
	}
}

// Common practice, no source: a level 1 outlet gives about 6 km for each hour;
// a level 2 circuit fills an ordinary day's driving in three to five hours.
func TestPlugsAsCommonPractice(t *testing.T) {
	ask := trip.NewRequest()
	ask.TempC, ask.Surface, ask.WindKMH, ask.PayloadKg = 0, "wet", 20, 160 // a car that needs about 19 kWh/100 km
	for _, c := range []struct {
		stay     string
		hours    float64
		low, top float64 // km an hour
	}{{"10h level1", 10, 4.5, 9}, {"3h level2:40", 3, 25, 60}} {
		visit := thereAndBack(t, c.stay, ask)
		plan, err := visit.Plan(nil)
		if err != nil {
			t.Fatal(err)
		}
		d := visit.Drives[0]
		perKM := 1000 * d.Profile.EnergyKWh(d.Profile.LengthM()) / d.Profile.LengthM()
		got := plan.Stays[0].BatteryKWh / perKM / c.hours
		t.Logf("%s: %.1f km an hour", c.stay, got)
		if got < c.low || got > c.top {
			t.Errorf("%s gives %.1f km an hour, want %g to %g", c.stay, got, c.low, c.top)
		}
	}
}

// A visit can fail where either drive alone could be made; a better plug then
// makes it possible.
func TestVisitThatCannotBeMade(t *testing.T) {
	ask := trip.NewRequest()
	ask.Only = []string{"nobody"}
	ask.DepartSoCPct = 100
	visit := thereAndBack(t, "2h none", ask)
	_, err := visit.Plan(nil)
	var why *trip.NoPlan
	if !errors.As(err, &why) {
		t.Fatalf("error %v, want a *NoPlan", err)
	}
	if why.MissingKWh <= 0 {
		t.Errorf("missing %.2f kWh", why.MissingKWh)
	}
	if _, err := visit.Drives[0].Plan(nil, visit.Goal); err != nil {
		t.Errorf("the way out alone: %v", err)
	}
	visit.Stays[0], _ = trip.ParseStay("12h level2:40")
	if _, err := visit.Plan(nil); err != nil {
		t.Errorf("with a night on a level 2 circuit: %v", err)
	}
}

func TestParseStay(t *testing.T) {
	for _, bad := range []string{"", "6", "6h level2", "6h level2:0", "6h dc", "6h level3:40", "-2h none", "6h level1:15x3", "6h none:4", "6h level2:x3", "1h 2h 3h", "9999999h none"} {
		if _, err := trip.ParseStay(bad); err == nil {
			t.Errorf("%q is accepted", bad)
		}
	}
	s, err := trip.ParseStay("90m level2:16x3")
	if err != nil || s.TimeS != 5400 || s.Plug.Circuit.Phases != 3 || s.Plug.Circuit.VoltageV != 230 {
		t.Errorf("%+v, %v", s, err)
	}
}

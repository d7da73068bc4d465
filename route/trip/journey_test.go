package trip_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// thereAndBack is a visit at the end of the second corridor, driven both ways.
func thereAndBack(t testing.TB, stay string, ask question.Question) *trip.Journey {
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
	return &trip.Journey{Drives: []*trip.Drive{out, back}, Stays: []trip.Stay{s}, Goal: goal}
}

// By cost a long stay that charges for nothing leaves many ways out and back to
// compare: a plan is found all the same, and it costs no more than the quickest.
func TestThereAndBackByCost(t *testing.T) {
	index := demoStations(t)
	for _, name := range []string{"mid-size-sedan", "van", "small-hatch"} {
		if testing.Short() && name != "mid-size-sedan" {
			continue
		}
		plans := map[string]*trip.JourneyPlan{}
		for _, best := range []string{"cost", "time"} {
			ask := byEstimate()
			ask.Best, ask.Depart, ask.ReservePct, ask.ArriveWithPct = best, "2026-10-17T08:00:00-10:00", 10, 15
			from := 150.0
			ask.TempC, ask.WindKMH, ask.WindFromDeg, ask.PayloadKg = 8, 40, &from, 160
			r, c := demoRoute(t, "pass"), car(t, name)
			out, goal, err := trip.Prepare(r, index, c, ask)
			if err != nil {
				t.Fatal(err)
			}
			back, _, err := trip.Prepare(r.Reverse(), index, c, ask)
			if err != nil {
				t.Fatal(err)
			}
			stay, err := trip.ParseStay("6h level2:40")
			if err != nil {
				t.Fatal(err)
			}
			visit := &trip.Journey{Drives: []*trip.Drive{out, back}, Stays: []trip.Stay{stay}, Goal: goal}
			if plans[best], err = visit.Plan(nil); err != nil {
				t.Fatalf("%s by %s: %v", name, best, err)
			}
		}
		cost := func(best string) float64 {
			sum := 0.0
			for _, p := range plans[best].Plans {
				replay(t, p)
				one, ok := p.Cost.One(p.Goal.Rates)
				if !ok {
					t.Fatalf("%s by %s: the cost is not one sum", name, best)
				}
				sum += one.Float()
			}
			return sum
		}
		byCost, byTime := cost("cost"), cost("time")
		if !(byCost <= byTime) {
			t.Errorf("%s: %.2f by cost, %.2f by time", name, byCost, byTime)
		}
		t.Logf("%s: %.2f by cost, %.2f by time", name, byCost, byTime)
	}
}

func TestThereAndBack(t *testing.T) {
	ask := byEstimate()
	ask.Depart = "2026-11-07T09:00:00Z"
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
		at, _ := time.Parse(time.RFC3339, ask.Depart)
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
	ask := byEstimate()
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
	ask := byEstimate()
	ask.Only = []string{"nobody"}
	ask.LeaveWithPct = 100
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

// A night at home gives what its hours and its circuit give; where that is not
// enough the plan counts with it and says what would do.
func TestNightAtHome(t *testing.T) {
	ask := byEstimate()
	ask.Depart, ask.LeaveWithPct = "2026-11-07T07:00:00Z", 90
	ask.HomeSoCPct, ask.HomeFrom, ask.CheapHours = 25, "19:00", "23:00-06:00"
	for plug, c := range map[string]struct {
		reached bool
		says    string
	}{"level2:40": {true, "in the cheap hours"}, "level1": {false, "level 2 circuit on a 30 A breaker"}} {
		ask.HomePlug = plug
		drive, goal := prepare(t, "upland", ask)
		n := goal.Night
		if n == nil || n.Result.Reached != c.reached || goal.DepartSoC != n.Result.DepartSoC {
			t.Fatalf("%s: %+v, leaving with %g", plug, n, goal.DepartSoC)
		}
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(n.Text())
		said := fmt.Sprint(plan.Warnings(question.Metric), plan.Assumptions(question.Metric))
		if !strings.Contains(said, n.Text()) || !strings.Contains(n.Text(), c.says) || !strings.Contains(said, "licensed electrician") {
			t.Errorf("%s: %s", plug, said)
		}
	}
	// Level 1 by hand: 120 V × 12 A × the on-board efficiency for 12 hours.
	drive, goal := prepare(t, "upland", ask)
	want := 0.25 + 0.12*12*drive.Car.AC.Efficiency*12/drive.Car.UsableKWh
	ask.HomePlug = "level1"
	if _, goal = prepare(t, "upland", ask); math.Abs(goal.DepartSoC-want) > 0.02 {
		t.Errorf("level 1 reaches %.3f, by hand about %.3f", goal.DepartSoC, want)
	}
}

// A meal is taken at a charger, in its hours, for its length, and never makes
// the trip shorter.
func TestMeal(t *testing.T) {
	ask := byEstimate()
	ask.Depart = "2026-10-17T09:00:00-10:00"
	drive, goal := prepare(t, "pass", ask)
	for _, confidence := range []float64{0, 0.95} {
		takesAMeal(t, drive, goal, confidence)
	}
	for _, bad := range []string{"noon", "12:00 45m", "13:00-12:00 45m", "12:00-13:00 -5m", "12:00-13:00"} {
		if _, err := trip.ParseMeal(bad); err == nil {
			t.Errorf("%q is accepted", bad)
		}
	}
}

func takesAMeal(t *testing.T, drive *trip.Drive, goal trip.Goal, confidence float64) {
	t.Helper()
	goal.Confidence = confidence
	without, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	if goal.Meal, err = trip.ParseMeal("12:00-13:30 45m"); err != nil {
		t.Fatal(err)
	}
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	taken := false
	for _, s := range plan.Stops {
		at, _ := plan.At(s.ArriveS)
		if clock := at.Format("15:04"); clock >= "12:00" && clock <= "13:30" && s.LeaveS-s.ArriveS >= 45*60-1 {
			taken = true
		}
	}
	if !taken {
		t.Error("no stop of 45 minutes begins between 12:00 and 13:30")
	}
	if plan.TimeS < without.TimeS-0.01 {
		t.Errorf("a meal makes the trip %.1f s shorter", without.TimeS-plan.TimeS)
	}
	t.Logf("confidence %g: without %.0f min, with %.0f min", confidence, without.TimeS/60, plan.TimeS/60)
}

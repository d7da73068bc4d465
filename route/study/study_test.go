package study_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/study"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

const oneCar = `format: ampleway-study-2
corridors: [demo:north, demo:pass]
stations: [demo]
cars: [small-hatch, crossover]
temp_c: [-15, 15]
leave_with_pct: [70, 100]
reserve_pct: [0, 10, 25]
confidence_pct: [0, 90]
outages: {none: true, random: {down: 3, sets: 2}}
`

func parse(t testing.TB, text string) *study.Study {
	t.Helper()
	s, err := study.Parse([]byte(text), "test", t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// rowsOf runs a study and returns all of its rows.
func rowsOf(t testing.TB, text string) []study.Row {
	t.Helper()
	folder := t.TempDir()
	if _, err := study.Run(context.Background(), parse(t, text), study.Options{Folder: folder}); err != nil {
		t.Fatal(err)
	}
	return readAll(t, folder)
}

func readAll(t testing.TB, folder string) []study.Row {
	t.Helper()
	var all []study.Row
	if err := study.ReadRows(folder, func(rows []study.Row) error { all = append(all, rows...); return nil }); err != nil {
		t.Fatal(err)
	}
	return all
}

// drives makes the drive of a row by the way one trip is planned.
type drives struct {
	index *stations.Index
	made  map[study.Row]*trip.Drive
}

func demoIndex(t testing.TB) *stations.Index {
	t.Helper()
	network, err := input.Here.Stations(t.Context(), []string{input.Demo}, open.Options{}, "")
	if err != nil {
		t.Fatal(err)
	}
	return network.Index
}

func demoRoute(t testing.TB, name string) *route.Route {
	t.Helper()
	r, err := input.Here.Route(input.Demo + ":" + name)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func car(t testing.TB, name string) *energy.Car {
	t.Helper()
	c, err := input.Here.Car(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func (d *drives) of(t testing.TB, r *study.Row) (*trip.Drive, trip.Goal) {
	t.Helper()
	ask := question.New()
	ask.TempC, ask.LeaveWithPct, ask.ReservePct, ask.ArriveWithPct = r.TempC, r.DepartSoCPct, r.ReservePct, r.ReservePct
	ask.ConfidencePct = r.ConfidencePct
	_, _, goal, err := trip.Parts(&ask)
	if err != nil {
		t.Fatal(err)
	}
	key := study.Row{Corridor: r.Corridor, Car: r.Car, TempC: r.TempC}
	drive := d.made[key]
	if drive == nil {
		if drive, _, err = trip.Prepare(demoRoute(t, r.Corridor), d.index, car(t, r.Car), ask); err != nil {
			t.Fatal(err)
		}
		d.made[key] = drive
	}
	goal.Unpolished = true
	goal.MustNot = append(goal.MustNot, splitIDs(r.Outage)...)
	return drive, goal
}

func splitIDs(text string) []string {
	var out []string
	for _, part := range bytes.Split([]byte(text), []byte(";")) {
		if len(part) > 0 {
			out = append(out, string(part))
		}
	}
	return out
}

// Every row says what planning that one trip alone says.
func TestRowsAreTrips(t *testing.T) {
	d := &drives{demoIndex(t), map[study.Row]*trip.Drive{}}
	feasible, not, least := 0, 0, 50
	text := oneCar
	if testing.Short() {
		text, least = strings.Replace(text, "small-hatch, crossover", "small-hatch", 1), 10
	}
	for _, r := range rowsOf(t, text) {
		drive, goal := d.of(t, &r)
		plan, err := drive.Plan(nil, goal)
		if (err == nil) != r.Feasible {
			t.Fatalf("%+v: one trip says %v", r, err)
		}
		if err != nil {
			not++
			var no *trip.NoPlan
			if !errors.As(err, &no) {
				t.Fatal(err)
			}
			if r.ConfidencePct == 0 && r.Outage == "" {
				same(t, &r, "missing", *r.MissingKWh, no.MissingKWh, 1e-6)
				same(t, &r, "from", *r.FailFromKM, no.FromM/1000, 1e-9)
				same(t, &r, "to", *r.FailToKM, no.ToM/1000, 1e-9)
			}
			continue
		}
		feasible++
		same(t, &r, "time", *r.TimeMin*60, plan.TimeS, 1e-3)
		same(t, &r, "drive", *r.DriveMin*60, plan.DriveS, 1e-3)
		same(t, &r, "charging", *r.ChargeMin*60, plan.ChargeS, 1e-3)
		same(t, &r, "charged", *r.ChargedKWh, plan.ChargedKWh, 1e-6)
		same(t, &r, "arrival", *r.ArriveSoCPct, 100*plan.ArriveSoC, 1e-6)
		same(t, &r, "least", *r.LeastSoCPct, 100*plan.LeastSoC, 1e-6)
		same(t, &r, "headroom", *r.HeadroomPct, 100*plan.Headroom, 1e-6)
		dwell := 0.0
		for i := range plan.Stops {
			dwell += plan.Stops[i].DwellS
		}
		same(t, &r, "dwell", *r.DwellMin*60, dwell, 1e-3)
		if int(*r.Stops) != len(plan.Stops) {
			t.Errorf("%+v: %d stops", r, len(plan.Stops))
		}
	}
	if feasible < least || not < least/5 {
		t.Errorf("only %d trips that can be made and %d that cannot", feasible, not)
	}
}

func same(t *testing.T, r *study.Row, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s %d (%s, %g °C, reserve %g, depart %g, confidence %g, out %q): %s is %.9g, one trip says %.9g", r.Corridor, r.Case, r.Car, r.TempC, r.ReservePct, r.DepartSoCPct, r.ConfidencePct, r.Outage, what, got, want)
	}
}

// The frontier is where stepping through reserves at 0.1 % turns from yes to
// no, and planning on both sides of it within 0.00001 % agrees.
func TestFrontierAgainstSteps(t *testing.T) {
	d := &drives{demoIndex(t), map[study.Row]*trip.Drive{}}
	var planner stops.Planner
	seen := 0
	for _, r := range rowsOf(t, oneCar) {
		if r.ReservePct != 0 || r.ConfidencePct != 0 || !testdata.Slow() && r.Case%7 != 0 {
			continue
		}
		drive, goal := d.of(t, &r)
		possible := func(pct float64) bool {
			g := goal
			g.ReserveSoC, g.ArriveReserveSoC = pct/100, pct/100
			var plan stops.Plan
			return planner.Solve(drive.Problem(g), &plan) == nil
		}
		step := -1.0
		for i := range 1001 {
			if !possible(float64(i) / 10) {
				break
			}
			step = float64(i) / 10
		}
		seen++
		if step < 0 {
			if r.HighestPct != nil {
				t.Errorf("%+v: highest %g, stepping finds none", r, *r.HighestPct)
			}
			continue
		}
		if r.HighestPct == nil || *r.HighestPct < step-1e-9 || *r.HighestPct >= step+0.1 {
			t.Fatalf("%+v: stepping finds %.1f", r, step)
		}
		if h := *r.HighestPct; !possible(h-1e-5) || h < 100-1e-4 && possible(h+1e-5) {
			t.Errorf("%s %s %g °C out %q: the frontier is not at %.7f", r.Corridor, r.Car, r.TempC, r.Outage, h)
		}
	}
	if seen < 2 {
		t.Errorf("only %d frontiers", seen)
	}
}

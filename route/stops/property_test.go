package stops_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/stops"
	"ampleway/testdata"
)

// checkBrute compares one plan with the brute force on the same trip.
func checkBrute(p *stops.Problem, withinValue float64) error {
	want := bruteForce(p)
	plan, err := stops.Solve(p)
	if err != nil {
		var no *stops.Infeasible
		if !errors.As(err, &no) {
			return err
		}
		if !math.IsInf(want, 1) {
			return fmt.Errorf("%v, but brute force finds %v", err, want)
		}
		return nil
	}
	if err := stops.Verify(p, plan); err != nil {
		return err
	}
	if plan.Value > want+withinValue {
		return fmt.Errorf("value %.6f, brute force %.6f, bound %.6f, %+v", plan.Value, want, plan.Bound, plan.Stops)
	}
	if plan.Bound > want+1e-4 {
		return fmt.Errorf("bound %.9f above %.9f, which brute force reaches", plan.Bound, want)
	}
	return nil
}

func within(p *stops.Problem) float64 {
	switch p.Objective.Goal {
	case stops.LeastMoney:
		return 0.002
	case stops.TimeAndMoney:
		return 0.5/3600*p.Objective.MoneyPerHour + 0.0005
	}
	return 0.5
}

func TestNeverWorseThanBruteForce(t *testing.T) {
	total, largest := 100, 6
	if testdata.Slow() {
		total, largest = 20000, 8
	}
	for seen := 0; seen < total; seen += 100 {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, largest).Draw(t, "n")
			f := features{
				prices: rapid.Bool().Draw(t, "prices"), hills: rapid.Bool().Draw(t, "hills"),
				reserves: rapid.Bool().Draw(t, "reserves"), detours: rapid.Bool().Draw(t, "detours"),
				musts: rapid.IntRange(0, 3).Draw(t, "musts") == 0, burdens: rapid.Bool().Draw(t, "burdens"),
			}
			if rapid.IntRange(0, 3).Draw(t, "speeds") == 0 {
				f.speeds, n = true, min(n, 4)
			}
			seed := rapid.Uint64().Draw(t, "seed")
			p := instance(seed, n, f)
			p.MostStops = max(0, rapid.IntRange(-4, 4).Draw(t, "most"))
			if err := checkBrute(p, within(p)); err != nil {
				t.Fatalf("seed %d, n %d, most %d, %+v: %v", seed, n, p.MostStops, f, err)
			}
		})
	}
	t.Logf("%d instances or more", total)
}

// With limits that tie a stop's arrival to its departure the sweep is only a
// bound; the search must still find what brute force finds.
func TestCoupledNeverWorseThanBruteForce(t *testing.T) {
	total := 100
	if testdata.Slow() {
		total = 2000
	}
	for seen := 0; seen < total; seen += 100 {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, 5).Draw(t, "n")
			f := features{
				prices: rapid.Bool().Draw(t, "prices"), hills: rapid.Bool().Draw(t, "hills"),
				stays: rapid.Bool().Draw(t, "stays"), idle: rapid.Bool().Draw(t, "idle"), detours: true, burdens: rapid.Bool().Draw(t, "burdens"),
			}
			seed := rapid.Uint64().Draw(t, "seed")
			p := instance(seed, n, f)
			if err := checkBrute(p, within(p)); err != nil {
				t.Fatalf("seed %d, n %d, %+v: %v", seed, n, f, err)
			}
		})
	}
}

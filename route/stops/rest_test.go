package stops_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/stops"
	"ampleway/testdata"
)

// resting draws a trip that nothing but a rest ties to the clock.
func resting(seed uint64, n int, f features) *stops.Problem {
	p := instance(seed, n, f)
	r := rand.New(rand.NewPCG(seed, 98))
	p.Rest = stops.Rest{LeastS: 600 + 2400*r.Float64()}
	if r.IntN(3) > 0 {
		p.Rest.FromS = 12000 * r.Float64()
		p.Rest.ToS = p.Rest.FromS + 600 + 7200*r.Float64()
	}
	if r.IntN(3) == 0 {
		p.Chargers[r.IntN(n)].RestBurdenS = 1200 * r.Float64()
	}
	if r.IntN(3) == 0 {
		p.MostStops = 1 + r.IntN(n)
	}
	return p
}

// A rest is never worse placed than by brute force, and no better than the
// bound allows.
func TestRestNeverWorseThanBruteForce(t *testing.T) {
	enough, step := 100, 0.05
	if testdata.Slow() {
		enough, step = 3000, 0.02
	}
	feasible := 0
	for rounds := 0; feasible < enough && rounds < enough; rounds++ {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, 3).Draw(t, "n")
			seed := rapid.Uint64().Draw(t, "seed")
			f := features{
				prices: rapid.Bool().Draw(t, "prices"), hills: rapid.Bool().Draw(t, "hills"),
				reserves: rapid.Bool().Draw(t, "reserves"), detours: true, speeds: rapid.IntRange(0, 5).Draw(t, "speeds") == 0,
			}
			p := resting(seed, n, f)
			if err := checkClock(p, step, &feasible); err != nil {
				t.Fatalf("seed %d, n %d, %+v: %v", seed, n, f, err)
			}
		})
	}
	t.Logf("%d trips with a plan", feasible)
	if feasible < enough {
		t.Errorf("only %d trips had a plan, too few to compare", feasible)
	}
}

// On a long road with many chargers the place of a rest is proven to within
// the tolerance, in bounded work, which is the same every time.
func TestRestIsProvenOnALongRoad(t *testing.T) {
	for _, c := range []struct {
		name             string
		goal             stops.Objective
		fromS, toS, gapS float64
	}{
		{"at noon", stops.Objective{}, 14400, 19800, 1},
		{"late", stops.Objective{}, 30600, 34200, 1},
		{"after all others have arrived", stops.Objective{}, 50000, 54000, 1},
		{"at any time", stops.Objective{}, 0, 0, 1},
		{"few stops", stops.Objective{Goal: stops.FewestStops}, 14400, 19800, 1},
	} {
		p := corridor(100, 1000, false)
		for i := range p.Chargers {
			p.Chargers[i].BurdenS = 200 * float64(i%3)
			p.Chargers[i].RestBurdenS = 300 * float64(i%2)
		}
		p.Objective = c.goal
		p.Rest = stops.Rest{LeastS: 2700, FromS: c.fromS, ToS: c.toS}
		work := 0
		pl := stops.Planner{Stop: func() error { work++; return nil }}
		var plan stops.Plan
		if err := pl.Solve(p, &plan); err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if err := stops.Verify(p, &plan); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		t.Logf("%s: %.1f s, bound %.1f, asked %d times whether to stop, %d stops", c.name, plan.Value, plan.Bound, work, len(plan.Stops))
		if plan.Value-plan.Bound > c.gapS {
			t.Errorf("%s: %.1f s is up to %.1f s from the best", c.name, plan.Value, plan.Value-plan.Bound)
		}
		before := work
		work = 0
		if err := pl.Solve(p, &plan); err != nil || work != before {
			t.Errorf("%s: the work is %d, then %d: %v", c.name, before, work, err)
		}
	}
}

// Work ends when it is told to, with what it was told.
func TestWorkEndsWhenTold(t *testing.T) {
	enough := errors.New("enough")
	resting := corridor(100, 1000, false)
	resting.Rest = stops.Rest{LeastS: 2700, FromS: 14400, ToS: 19800}
	hours := corridor(100, 1000, false)
	for i := range hours.Chargers {
		hours.Chargers[i].Periods = []stops.Period{{FromS: 3600 * float64(i%7), WaitS: 300 * float64(i%4)}, {FromS: 30000, Closed: i%5 == 0}}
	}
	for name, p := range map[string]*stops.Problem{"plain": corridor(500, 5000, false), "rest": resting, "hours": hours} {
		for _, after := range []int{1, 2, 5} {
			asked := 0
			pl := stops.Planner{Stop: func() error {
				if asked++; asked >= after {
					return enough
				}
				return nil
			}}
			if err := pl.Solve(p, new(stops.Plan)); !errors.Is(err, enough) || asked != after {
				t.Errorf("%s, told after %d: %v, asked %d times", name, after, err, asked)
			}
			asked = math.MinInt
			if err := pl.Solve(p, new(stops.Plan)); err != nil {
				t.Errorf("%s, afterwards: %v", name, err)
			}
		}
	}
}

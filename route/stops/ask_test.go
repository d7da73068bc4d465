package stops_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/stops"
)

func drawTrip(t *rapid.T, most int) *stops.Problem {
	f := features{
		prices: rapid.Bool().Draw(t, "prices"), hills: rapid.Bool().Draw(t, "hills"),
		reserves: rapid.Bool().Draw(t, "reserves"), detours: rapid.Bool().Draw(t, "detours"), burdens: rapid.Bool().Draw(t, "burdens"),
	}
	return instance(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(2, most).Draw(t, "n"), f)
}

// From a charger on, the trip is a trip of its own: the cost-to-go must be
// what a fresh plan from there gives.
func TestCostToGoIsThePlanFromThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 8)
		s, err := new(stops.Planner).Sweep(p)
		if err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, len(p.Chargers)-1).Draw(t, "charger")
		arrive := rapid.Float64Range(0, 1).Draw(t, "arrive")
		got := s.CostToGo(i, arrive)
		want := math.Inf(1)
		for _, begin := range []stops.Problem{beginAt(p, i, arrive, true), beginAt(p, i, arrive, false)} {
			want = min(want, bruteForce(&begin))
		}
		if math.IsInf(want, 1) != math.IsInf(got, 1) || got > want+within(p) || got < want-within(p)-60*worthS(p) {
			t.Fatalf("charger %d, arriving with %v: %v, brute force %v", i, arrive, got, want)
		}
		d, ok := s.Decide(i, arrive)
		if ok && d.LeaveSoC < arrive {
			t.Fatalf("leaves with %v, less than %v", d.LeaveSoC, arrive)
		}
	})
}

func worthS(p *stops.Problem) float64 {
	if p.Objective.Goal == stops.LeastMoney {
		return 1.0 / 60
	}
	return 1
}

// beginAt is the rest of a trip that begins at charger i, which is made a must
// where charging there is to be tried.
func beginAt(p *stops.Problem, i int, arrive float64, charge bool) stops.Problem {
	q := *p
	q.DepartSoC = arrive
	q.Chargers = append([]stops.Charger(nil), p.Chargers[i:]...)
	q.Chargers[0].ReserveSoC = 0
	q.Chargers[0].Use = stops.MustStop
	q.Chargers[0].In = stops.Leg{}
	if !charge {
		q.Chargers[0].CeilingSoC = max(arrive, 1e-9)
	}
	q.Road = nil
	for _, pieces := range p.Road {
		q.Road = append(q.Road, append([]stops.Leg{{}}, pieces[i+1:]...))
	}
	return q
}

func TestLeaveRuleIsWhatDecideSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 10)
		s, err := new(stops.Planner).Sweep(p)
		if err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, len(p.Chargers)-1).Draw(t, "charger")
		rules := s.LeaveRule(i)
		for k := range 200 {
			a := (float64(k) + 0.5) / 200
			d, ok := s.Decide(i, a)
			found := false
			for _, r := range rules {
				if a < r.FromSoC || a >= r.ToSoC {
					continue
				}
				found = true
				to := max(a, r.LeaveSoC)
				value := charge(p, i, a, to) + s.CostToGo(i, to)
				if near := min(a-r.FromSoC, r.ToSoC-a) < 1e-6; !near && ok && math.Abs(value-d.Value) > 1e-4 {
					t.Fatalf("charger %d, arriving with %v: rule %+v is worth %v, decision %+v", i, a, r, value, d)
				}
			}
			if found != ok {
				t.Fatalf("charger %d, arriving with %v: a rule is there: %v, a way is: %v", i, a, found, ok)
			}
		}
	})
}

// charge is the value of charging, without that of stopping.
func charge(p *stops.Problem, i int, a, x float64) float64 {
	b := newBrute(p)
	return b.stop(i, a, x) - b.stop(i, x, x)
}

// The k best plans are the best plan of each set of stops, in order: forcing
// the planner onto one set gives the same value, and no set it skipped is
// better, unless a stop in it charges nothing.
func TestBestListsTheBestSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 7)
		best, no := stops.Solve(p)
		all, err := new(stops.Planner).Best(p, 6)
		if (err == nil) != (no == nil) {
			t.Fatalf("the list: %v, the best alone: %v", err, no)
		}
		if err != nil {
			return
		}
		if math.Abs(best.Value-all[0].Plan.Value) > 1e-6 {
			t.Fatalf("best %v, first of the list %v", best, all[0].Plan.Value)
		}
		listed := map[int]bool{}
		for i := range all {
			plan := &all[i].Plan
			if err := stops.Verify(p, plan); err != nil {
				t.Fatal(err)
			}
			if i > 0 && plan.Value < all[i-1].Plan.Value-1e-6 {
				t.Fatalf("number %d is better than number %d", i+1, i)
			}
			set := 0
			for _, s := range plan.Stops {
				set |= 1 << s.Charger
			}
			if listed[set] {
				t.Fatalf("the set %b is listed twice", set)
			}
			listed[set] = true
		}
		last := all[len(all)-1].Plan.Value
		for set := range 1 << len(p.Chargers) {
			q := only(p, set)
			plan, err := stops.Solve(&q)
			if err != nil || listed[set] {
				continue
			}
			if plan.Value < last-1e-3*math.Abs(last) && chargesEverywhere(&q, plan) && len(all) == 6 {
				t.Fatalf("the set %b at %v is missing; the last listed is %v", set, plan.Value, last)
			}
		}
	})
}

// only is the problem with exactly the stops of a set.
func only(p *stops.Problem, set int) stops.Problem {
	q := *p
	q.Chargers = append([]stops.Charger(nil), p.Chargers...)
	for i := range q.Chargers {
		q.Chargers[i].Use = stops.MustPass
		if set>>i&1 == 1 {
			q.Chargers[i].Use = stops.MustStop
		}
	}
	return q
}

// chargesEverywhere tells whether every stop of a plan is of use: without its
// power the same stops are worse.
func chargesEverywhere(p *stops.Problem, plan *stops.Plan) bool {
	for _, s := range plan.Stops {
		q := *p
		q.Chargers = append([]stops.Charger(nil), p.Chargers...)
		q.Chargers[s.Charger].CeilingSoC = 1e-9
		dull, err := stops.Solve(&q)
		if err == nil && dull.Value <= plan.Value+1e-6*math.Abs(plan.Value) {
			return false
		}
	}
	return true
}

// No plan of any value of time lies below the polygon of the trade-off.
func TestParetoHoldsEveryWeightedBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := instance(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(2, 12).Draw(t, "n"), features{prices: true, detours: true})
		_, no := stops.Solve(p)
		points, err := new(stops.Planner).Pareto(p, stops.ParetoOptions{WithinMoney: 0.005})
		if (err == nil) != (no == nil) {
			t.Fatalf("the trade-off: %v, one plan: %v", err, no)
		}
		if err != nil {
			return
		}
		for i := range points {
			if err := stops.Verify(p, &points[i].Plan); err != nil {
				t.Fatal(err)
			}
			for j := range points {
				a, b := &points[i].Plan, &points[j].Plan
				if i != j && len(a.Stops) <= len(b.Stops) && a.TimeS <= b.TimeS && a.Money <= b.Money {
					t.Fatalf("point %d is dominated by point %d", j, i)
				}
			}
		}
		for range 10 {
			q := *p
			q.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: rapid.Float64Range(0.1, 200).Draw(t, "per hour")}
			plan, err := stops.Solve(&q)
			if err != nil {
				t.Fatal(err)
			}
			nearest := math.Inf(1)
			for i := range points {
				nearest = min(nearest, points[i].Plan.Money+points[i].Plan.TimeS/3600*q.Objective.MoneyPerHour)
			}
			if nearest > plan.Value+0.006 || nearest < plan.Value-1e-3 {
				t.Fatalf("at %v an hour: best %v, best of the trade-off %v", q.Objective.MoneyPerHour, plan.Value, nearest)
			}
		}
	})
}

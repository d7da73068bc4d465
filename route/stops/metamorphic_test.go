package stops_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// value is a plan's value, +Inf where there is none.
func value(t *rapid.T, p *stops.Problem) float64 {
	plan, err := stops.Solve(p)
	if err != nil {
		return math.Inf(1)
	}
	if err := stops.Verify(p, plan); err != nil {
		t.Fatal(err)
	}
	return plan.Value
}

func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-5+1e-7*math.Abs(b)
}

func TestOneMoreChargerIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 15)
		i := rapid.IntRange(0, len(p.Chargers)-1).Draw(t, "charger")
		q := *p
		q.Chargers = append([]stops.Charger(nil), p.Chargers...)
		q.Chargers[i].Use = stops.MustPass
		if all, less := value(t, p), value(t, &q); all > less+1e-6 {
			t.Fatalf("with charger %d: %v, without: %v", i, all, less)
		}
	})
}

func TestAHigherReserveIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 15)
		q := *p
		q.Chargers = append([]stops.Charger(nil), p.Chargers...)
		more := rapid.Float64Range(0, 0.2).Draw(t, "more")
		q.ReserveSoC = min(1, q.ReserveSoC+more)
		for i := range q.Chargers {
			q.Chargers[i].ReserveSoC = min(1, q.Chargers[i].ReserveSoC+more)
		}
		if low, high := value(t, p), value(t, &q); high < low-1e-6 {
			t.Fatalf("with %v more: %v, without: %v", more, high, low)
		}
	})
}

// A charger that nobody uses cuts a leg in two and changes nothing; where it
// comes in the numbering does not matter either.
func TestSplittingALegChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 12)
		at := rapid.IntRange(0, len(p.Chargers)).Draw(t, "at")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		q := *p
		q.Chargers = append(append(append([]stops.Charger(nil), p.Chargers[:at]...), stops.Charger{Use: stops.MustPass, Power: p.Chargers[0].Power}), p.Chargers[at:]...)
		q.Road = nil
		for _, pieces := range p.Road {
			// A climb of the whole need, then what is left: together the same.
			l := pieces[at]
			first := stops.Leg{TimeS: l.TimeS * share, NeedKWh: l.NeedKWh, CostKWh: l.CostKWh * share}
			second := stops.Leg{TimeS: l.TimeS * (1 - share), NeedKWh: max(0, l.NeedKWh-first.CostKWh), CostKWh: l.CostKWh * (1 - share), CapKWh: l.CapKWh}
			q.Road = append(q.Road, append(append(append([]stops.Leg(nil), pieces[:at]...), first, second), pieces[at+1:]...))
		}
		whole, split := value(t, p), value(t, &q)
		if p.Road[0][at].CostKWh >= 0 && !near(whole, split) {
			t.Fatalf("whole %v, split %v", whole, split)
		}
	})
}

func TestMorePowerDividesChargingTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 8)
		p.Objective = stops.Objective{}
		plan, err := stops.Solve(p)
		if err != nil {
			return
		}
		k := rapid.Float64Range(0.2, 5).Draw(t, "k")
		scaled := map[*taper.Func]*taper.Func{}
		q := *p
		q.Chargers = append([]stops.Charger(nil), p.Chargers...)
		for i := range q.Chargers {
			f := q.Chargers[i].Power
			if scaled[f] == nil {
				var c taper.Curve
				for _, s := range f.Pieces() {
					c = append(c, taper.Point{SoC: s.FromSoC, PowerKW: s.FromKW * k}, taper.Point{SoC: s.ToSoC, PowerKW: s.ToKW * k})
				}
				if scaled[f], err = taper.New(c, p.CapacityKWh); err != nil {
					t.Fatal(err)
				}
			}
			q.Chargers[i].Power = scaled[f]
			q.Chargers[i].OverheadS /= k
			q.Chargers[i].BurdenS /= k
			q.Chargers[i].In.TimeS /= k
			q.Chargers[i].Out.TimeS /= k
		}
		q.Road = [][]stops.Leg{append([]stops.Leg(nil), p.Road[0]...)}
		for i := range q.Road[0] {
			q.Road[0][i].TimeS /= k
		}
		if fast := value(t, &q); !near(fast*k, plan.Value) {
			t.Fatalf("everything × %v: %v, before %v", k, fast*k, plan.Value)
		}
	})
}

// One Planner for many problems gives what fresh ones give, bit for bit.
func TestReuseChangesNothing(t *testing.T) {
	var pl stops.Planner
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 12)
		var a stops.Plan
		errA := pl.Solve(p, &a)
		b, errB := stops.Solve(p)
		if (errA == nil) != (errB == nil) || errA == nil && (a.Value != b.Value || len(a.Stops) != len(b.Stops)) {
			t.Fatalf("reused %v (%v), fresh %v (%v)", a, errA, b, errB)
		}
	})
}

func TestPlansAllocateNothing(t *testing.T) {
	p := corridor(100, 1000, false)
	var pl stops.Planner
	var plan stops.Plan
	solve := func() {
		if err := pl.Solve(p, &plan); err != nil {
			t.Fatal(err)
		}
	}
	solve()
	if n := testing.AllocsPerRun(20, solve); n != 0 {
		t.Errorf("a plan: %v allocations, want 0", n)
	}
	s, err := pl.Sweep(p)
	if err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(20, func() { s.Decide(40, 0.3) }); n != 0 {
		t.Errorf("a decision: %v allocations, want 0", n)
	}
}

// A sweep without a limit on stops passes over drives by their bounds, one
// with a limit looks at every drive: where the limit does not bind they agree.
func TestDrivesPassedOverAreNotMissed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 16)
		if len(p.Chargers) < 3 {
			return
		}
		free, err := stops.Solve(p)
		if err != nil || len(free.Stops) > len(p.Chargers)-2 {
			return
		}
		p.MostStops = len(p.Chargers) - 1
		if limited := value(t, p); math.Abs(limited-free.Value) > 1e-6 {
			t.Fatalf("%.9f s, but with at most %d stops %.9f s", free.Value, p.MostStops, limited)
		}
	})
}

package stops_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/stops"
)

// oneStop is a trip with one charger, an hour's drive from either end, where
// 20 % must be charged: 12 minutes at 60 kW after 5 minutes of overhead.
func oneStop(t testing.TB) *stops.Problem {
	p := hours(t, 1)
	p.DepartSoC = 0.7 // arrives with 30 %, needs 50
	return p
}

// twoAtOnePlace sets another charger like the one of oneStop beside it.
func twoAtOnePlace(p *stops.Problem) {
	p.Road[0] = []stops.Leg{p.Road[0][0], {}, p.Road[0][1]}
	p.Chargers = append(p.Chargers, p.Chargers[0])
}

// Hours, queues and prices by the clock, by hand. The car is at the stall at
// 3,600 s; joining at once it begins to charge at 3,900 and leaves at 4,620.
func TestClockByHand(t *testing.T) {
	dear, cheap := stops.Price{PerKWh: 0.5}, stops.Price{PerKWh: 0.1}
	cost := func(perHour float64) stops.Objective {
		return stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: perHour}
	}
	for _, c := range []struct {
		name           string
		periods        []stops.Period
		goal           stops.Objective
		waitS, leavesS float64
		money          float64
	}{
		{"always open", nil, stops.Objective{}, 0, 4620, 0},
		{"a queue", []stops.Period{{FromS: 3000, WaitS: 240}}, stops.Objective{}, 240, 4860, 0},
		{"a queue until just then", []stops.Period{{FromS: 3000, WaitS: 240}, {FromS: 3600}}, stops.Objective{}, 0, 4620, 0},
		{"a queue that ends sooner than it moves", []stops.Period{{FromS: 3000, WaitS: 600}, {FromS: 4000}}, stops.Objective{}, 400, 5020, 0},
		{"a queue that moves sooner than it ends", []stops.Period{{FromS: 3000, WaitS: 600}, {FromS: 4300}}, stops.Objective{}, 600, 5220, 0},
		{"a queue to come", []stops.Period{{FromS: 3601, WaitS: 600}}, stops.Objective{}, 0, 4620, 0},
		{"opens later", []stops.Period{{FromS: 0, Closed: true}, {FromS: 5000}}, stops.Objective{}, 1400, 6020, 0},
		{"closes just in time", []stops.Period{{FromS: 4620, Closed: true}}, stops.Objective{}, 0, 4620, 0},
		{"closes too soon and opens again", []stops.Period{{FromS: 4600, Closed: true}, {FromS: 6000}}, stops.Objective{}, 2400, 7020, 0},
		{"cheaper later, time alone counts", []stops.Period{{FromS: 0, Price: dear}, {FromS: 7200, Price: cheap}}, stops.Objective{}, 0, 4620, 6},
		{"cheaper later, money alone counts", []stops.Period{{FromS: 0, Price: dear}, {FromS: 7200, Price: cheap}}, stops.Objective{Goal: stops.LeastMoney}, 3600, 8220, 1.2},
		// 12 kWh at 0.40 less are 4.80 for an hour of waiting.
		{"worth an hour", []stops.Period{{FromS: 0, Price: dear}, {FromS: 7200, Price: cheap}}, cost(4.7), 3600, 8220, 1.2},
		{"not worth an hour", []stops.Period{{FromS: 0, Price: dear}, {FromS: 7200, Price: cheap}}, cost(4.9), 0, 4620, 6},
	} {
		p := oneStop(t)
		p.Objective, p.Chargers[0].Periods = c.goal, c.periods
		plan := mustSolve(t, p)
		if len(plan.Stops) != 1 {
			t.Fatalf("%s: %+v", c.name, plan)
		}
		s := &plan.Stops[0]
		if math.Abs(s.WaitS-c.waitS) > 1e-3 || math.Abs(s.LeaveS-c.leavesS) > 1e-3 || math.Abs(plan.TimeS-c.leavesS-3600) > 1e-3 || math.Abs(plan.Money-c.money) > 1e-6 {
			t.Errorf("%s: waits %v, leaves at %v, pays %v; want %v, %v, %v", c.name, s.WaitS, s.LeaveS, plan.Money, c.waitS, c.leavesS, c.money)
		}
	}
}

// A clock that begins later shifts everything by as much.
func TestDepartureMovesTheClock(t *testing.T) {
	p := oneStop(t)
	p.Chargers[0].Periods = []stops.Period{{FromS: 0, Closed: true}, {FromS: 5000, WaitS: 100}}
	early := mustSolve(t, p)
	p.DepartS = 1e5
	p.Chargers[0].Periods = []stops.Period{{FromS: 1e5, Closed: true}, {FromS: 1e5 + 5000, WaitS: 100}}
	late := mustSolve(t, p)
	if math.Abs(early.TimeS-late.TimeS) > 1e-3 || math.Abs(late.ArriveS-early.ArriveS-1e5) > 1e-3 {
		t.Errorf("%v s until %v, %v s until %v", early.TimeS, early.ArriveS, late.TimeS, late.ArriveS)
	}
}

// A rest by hand: it overlaps with charging, begins with the stay, and waits
// for its own time; so does the queue, which is joined as late as will do.
func TestRestByHand(t *testing.T) {
	queue := []stops.Period{{FromS: 0, WaitS: 200}}
	for _, c := range []struct {
		name    string
		rest    stops.Rest
		periods []stops.Period
		leavesS float64 // 0: no plan
	}{
		{"shorter than the charge", stops.Rest{LeastS: 600}, nil, 4620},
		{"longer than the charge", stops.Rest{LeastS: 1800}, nil, 5700},
		{"in time already", stops.Rest{LeastS: 1800, FromS: 3900, ToS: 3900}, nil, 5700},
		{"over just before", stops.Rest{LeastS: 1800, FromS: 1, ToS: 3899}, nil, 0},
		{"not yet", stops.Rest{LeastS: 1800, FromS: 6000, ToS: 7000}, nil, 7800},
		{"not yet, at one moment", stops.Rest{LeastS: 1800, FromS: 6000, ToS: 6000}, nil, 7800},
		{"not yet, after a queue", stops.Rest{LeastS: 1800, FromS: 6000, ToS: 6000}, queue, 7800},
		{"in time after a queue", stops.Rest{LeastS: 1800, FromS: 4000, ToS: 4100}, queue, 5900},
		{"over after a queue", stops.Rest{LeastS: 1800, FromS: 1, ToS: 4000}, queue, 0},
	} {
		p := oneStop(t)
		p.Rest, p.Chargers[0].Periods = c.rest, c.periods
		plan, err := stops.Solve(p)
		if c.leavesS == 0 {
			if !errors.Is(err, stops.ErrNoPlan) || !strings.Contains(err.Error(), "rest") {
				t.Errorf("%s: %v, %v", c.name, plan, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if err := stops.Verify(p, plan); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := plan.Stops[0].LeaveS; math.Abs(got-c.leavesS) > 1e-3 {
			t.Errorf("%s: leaves at %v, want %v", c.name, got, c.leavesS)
		}
		if want := c.leavesS + 3600; math.Abs(plan.TimeS-want) > 1e-3 {
			t.Errorf("%s: %v s, want %v", c.name, plan.TimeS, want)
		}
	}
}

// Stays and fees by hand: 12 minutes of charging in a stay of at least half an
// hour, idle from the 15th minute on.
func TestStaysByHand(t *testing.T) {
	p := oneStop(t)
	c := &p.Chargers[0]
	c.Price = stops.Price{PerKWh: 0.5, PerMinute: 0.1, PerSession: 2, IdlePerMinute: 0.3, IdleAfterS: 900}
	c.LeastStayS = 1800
	plan := mustSolve(t, p)
	s := &plan.Stops[0]
	// The time is the same however much is charged, so only its end is known.
	if math.Abs(s.StayS-1800) > 1e-6 || math.Abs(plan.TimeS-3600-300-1800-3600) > 1e-3 {
		t.Errorf("%+v", plan)
	}
	p.Objective = stops.Objective{Goal: stops.LeastMoney}
	plan = mustSolve(t, p)
	// 12 kWh are 6.00, 12 min are 1.20, the session 2.00 and 15 min idle 4.50.
	if math.Abs(plan.Money-13.70) > 1e-6 {
		t.Errorf("pays %v, want 13.70: %+v", plan.Money, plan.Stops)
	}
	for most, sound := range map[float64]bool{719: false, 720: true} {
		p := oneStop(t)
		p.Chargers[0].MostStayS = most
		if _, err := stops.Solve(p); (err == nil) != sound {
			t.Errorf("a stay of at most %v s: %v", most, err)
		}
	}
}

// A stop that must be made is made also where nothing needs to be charged, and
// so are two of them.
func TestMustStopWithoutCharging(t *testing.T) {
	for _, chargers := range []int{1, 2} {
		p := hours(t, chargers)
		p.DepartSoC = 1
		for i := range p.Road[0] {
			p.Road[0][i] = stops.Leg{TimeS: 3600, NeedKWh: 12, CostKWh: 12}
		}
		for i := range p.Chargers {
			p.Chargers[i].Use = stops.MustStop
		}
		plan := mustSolve(t, p)
		if len(plan.Stops) != chargers || math.Abs(plan.TimeS-3600-3900*float64(chargers)) > 1e-6 {
			t.Errorf("%+v", plan)
		}
		for _, s := range plan.Stops {
			if s.ChargeKWh != 0 || s.StayS != 0 {
				t.Errorf("charges %v kWh for nothing", s.ChargeKWh)
			}
		}
	}
}

// A ceiling that just does is enough, whether or not a stay has a limit.
func TestTheCeilingItselfIsAllowed(t *testing.T) {
	for _, least := range []float64{0, 1} {
		for ceiling, sound := range map[float64]bool{0.5 + 1e-9: true, 0.5: true, 0.5 - 1e-9: false} {
			p := oneStop(t)
			p.Chargers[0].CeilingSoC, p.Chargers[0].LeastStayS = ceiling, least
			plan, err := stops.Solve(p)
			if (err == nil) != sound || sound && math.Abs(plan.Value-8220) > 1e-3 {
				t.Errorf("least stay %v s, ceiling %v: %+v, %v", least, ceiling, plan, err)
			}
		}
	}
}

// An arrival that regeneration limits to just the reserve will do, whether or
// not a stay has a limit.
func TestACapOfJustTheReserve(t *testing.T) {
	for _, least := range []float64{0, 1} {
		for capKWh, sound := range map[float64]bool{6: true, 5.99: false} {
			p := oneStop(t)
			p.Chargers[0].LeastStayS, p.Road[0][1].CapKWh = least, capKWh
			plan, err := stops.Solve(p)
			if (err == nil) != sound || sound && math.Abs(plan.Value-8220) > 1e-3 {
				t.Errorf("least stay %v s, cap %v kWh: %+v, %v", least, capKWh, plan, err)
			}
		}
	}
}

// A planner that has planned among a few prices plans among many as a fresh one.
func TestManyPricesAfterFew(t *testing.T) {
	power := flat60(t) // one for all, so that what is known of a price is kept
	trip := func(chargers int) *stops.Problem {
		p := hours(t, chargers)
		p.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: 10}
		for i := range p.Road[0] {
			p.Road[0][i] = stops.Leg{TimeS: 600, NeedKWh: 4, CostKWh: 4}
		}
		for i := range p.Chargers {
			p.Chargers[i].Power = power
			p.Chargers[i].Price.PerMinute = 0.1 + 0.001*float64(i*37%chargers)
		}
		return p
	}
	var pl stops.Planner
	var plan stops.Plan
	for _, chargers := range []int{3, 150, 3} {
		p := trip(chargers)
		if err := pl.Solve(p, &plan); err != nil {
			t.Fatal(err)
		}
		if fresh := mustSolve(t, p); plan.Value != fresh.Value {
			t.Errorf("%d chargers: %v, fresh %v", chargers, plan.Value, fresh.Value)
		}
	}
}

// Energy is cheap at the first charger, which closes before the time of the
// rest, and dear at the second, where the rest must begin by 9,300 s: so the first is left at 5,400, just in time to drive
// an hour and spend 5 minutes before it, after 25 of
// the 30 kWh that are needed, at 0.10, with 5 at 0.50 left for the second.
func TestLeavingInTimeForTheRest(t *testing.T) {
	p := hours(t, 2)
	p.Objective = stops.Objective{Goal: stops.LeastMoney}
	p.Chargers[0].Price.PerKWh, p.Chargers[1].Price.PerKWh = 0.1, 0.5
	p.Chargers[0].Periods = []stops.Period{{FromS: 8000, Closed: true}}
	p.Rest = stops.Rest{LeastS: 900, FromS: 9000, ToS: 9300}
	plan := mustSolve(t, p)
	if len(plan.Stops) != 2 || math.Abs(plan.Stops[0].LeaveS-5400) > 0.1 || math.Abs(plan.Money-5) > 1e-3 {
		t.Errorf("pays %v, want 5.00: %+v", plan.Money, plan.Stops)
	}
}

// Of plans that are equal in what counts, the one with fewer stops is best,
// and of equally cheap ones the quicker.
func TestTies(t *testing.T) {
	p := hours(t, 3)
	for i := range p.Chargers {
		p.Chargers[i].OverheadS = 0 // any number of stops takes as long
	}
	if plan := mustSolve(t, p); len(plan.Stops) != 2 {
		t.Errorf("%d stops, two will do", len(plan.Stops))
	}
	p = oneStop(t)
	p.Objective = stops.Objective{Goal: stops.LeastMoney}
	twoAtOnePlace(p)
	p.Chargers[0].OverheadS = 301
	if plan := mustSolve(t, p); len(plan.Stops) != 1 || plan.Stops[0].Charger != 1 {
		t.Errorf("for nothing either way, but not at the quicker charger: %+v", plan.Stops)
	}
}

// What each goal counts, stated by Plan.Value.
func TestGoalsByHand(t *testing.T) {
	for _, c := range []struct {
		goal stops.Objective
		want float64
	}{
		{stops.Objective{}, 8220},
		{stops.Objective{Goal: stops.LeastMoney}, 6},
		{stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: 18}, 6 + 8220*18/3600.0},
		{stops.Objective{Goal: stops.FewestStops}, 8220 + 1e7},
	} {
		p := oneStop(t)
		p.Chargers[0].Price.PerKWh = 0.5
		p.Objective = c.goal
		plan := mustSolve(t, p)
		if math.Abs(plan.Value-c.want) > 1e-4 || math.Abs(plan.Bound-plan.Value) > 1e-4 || math.Abs(plan.Money-6) > 1e-6 || math.Abs(plan.TimeS-8220) > 1e-6 {
			t.Errorf("goal %d: %+v, want a value of %v", c.goal.Goal, plan, c.want)
		}
	}
}

// A leave rule by hand: 50 % get to the destination, so whoever comes with less
// charges up to them, and the others leave at once.
func TestLeaveRuleByHand(t *testing.T) {
	p := oneStop(t)
	s, err := new(stops.Planner).Sweep(p)
	if err != nil {
		t.Fatal(err)
	}
	rules := s.LeaveRule(0)
	if len(rules) != 2 {
		t.Fatalf("%+v", rules)
	}
	want := []stops.Rule{{FromSoC: 0, ToSoC: 0.5, LeaveSoC: 0.5, Next: stops.Destination}, {FromSoC: 0.5, ToSoC: 1, Next: stops.Destination}}
	for i, w := range want {
		g := rules[i]
		if math.Abs(g.FromSoC-w.FromSoC) > 1e-8 || math.Abs(g.ToSoC-w.ToSoC) > 1e-8 || math.Abs(g.LeaveSoC-w.LeaveSoC) > 1e-8 || g.Next != w.Next {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
	for arrive, value := range map[float64]float64{0: 300 + 1800 + 3600, 0.3: 300 + 720 + 3600, 0.5: 300 + 3600, 1: 300 + 3600} {
		d, ok := s.Decide(0, arrive)
		if !ok || math.Abs(d.Value-value) > 1e-3 || math.Abs(d.LeaveSoC-math.Max(arrive, 0.5)) > 1e-9 || d.Next != stops.Destination || d.Option != 0 {
			t.Errorf("arriving with %v: %+v, %v; want a value of %v", arrive, d, ok, value)
		}
	}
	p.Chargers[0].CeilingSoC = 0.4
	if s, err = new(stops.Planner).Sweep(p); err != nil {
		t.Fatal(err)
	}
	if rules = s.LeaveRule(0); len(rules) != 1 || math.Abs(rules[0].FromSoC-0.5) > 1e-8 || rules[0].LeaveSoC != 0 {
		t.Errorf("below 50 %% nothing leads on: %+v", rules)
	}
}

// The trade-off by hand: a quick and dear charger beside a slow and cheap one
// make two plans, and the value of time at which they are equal lies between
// theirs.
func TestParetoByHand(t *testing.T) {
	p := oneStop(t)
	twoAtOnePlace(p)
	p.Chargers[0].Price.PerKWh = 0.5
	p.Chargers[1].OverheadS, p.Chargers[1].Price.PerKWh = 1200, 0.25
	points, err := new(stops.Planner).Pareto(p, stops.ParetoOptions{})
	if err != nil {
		t.Fatal(err)
	}
	// 12 kWh at 0.25 less are 3.00 for a quarter of an hour: 12 an hour.
	if len(points) != 2 {
		t.Fatalf("%+v", points)
	}
	quick, cheap := &points[0], &points[1]
	if math.Abs(quick.Plan.TimeS-8220) > 1e-6 || math.Abs(quick.Plan.Money-6) > 1e-6 || math.Abs(cheap.Plan.TimeS-9120) > 1e-6 || math.Abs(cheap.Plan.Money-3) > 1e-6 {
		t.Errorf("%+v and %+v", quick.Plan, cheap.Plan)
	}
	if !(cheap.MoneyPerHour <= 12 && quick.MoneyPerHour >= 12) {
		t.Errorf("best at %v and %v an hour", quick.MoneyPerHour, cheap.MoneyPerHour)
	}
	for _, within := range []float64{-0.01, math.NaN(), math.Inf(1)} {
		if _, err := new(stops.Planner).Pareto(p, stops.ParetoOptions{WithinMoney: within}); err == nil {
			t.Errorf("within %v: no error", within)
		}
	}
	// Both at one price: nothing to trade.
	p.Chargers[1].Price.PerKWh = 0.5
	if points, err = new(stops.Planner).Pareto(p, stops.ParetoOptions{}); err != nil || len(points) != 1 {
		t.Errorf("%+v, %v", points, err)
	}
	// Nothing to charge: one plan without a stop.
	p.DepartSoC = 1
	if points, err = new(stops.Planner).Pareto(p, stops.ParetoOptions{}); err != nil || len(points) != 1 || len(points[0].Plan.Stops) != 0 {
		t.Errorf("%+v, %v", points, err)
	}
}

func drawLeg(t *rapid.T, name string) stops.Leg {
	l := stops.Leg{
		TimeS:   float64(rapid.IntRange(0, 100).Draw(t, name+" s")),
		NeedKWh: float64(rapid.IntRange(0, 40).Draw(t, name+" need")),
		CostKWh: float64(rapid.IntRange(-30, 40).Draw(t, name+" cost")),
		CapKWh:  float64(rapid.IntRange(0, 60).Draw(t, name+" cap")),
	}
	l.NeedKWh = max(l.NeedKWh, l.CostKWh)
	return l
}

// Two legs driven one after the other are their sum: the same departures do,
// arrive with the same and take as long, however they are put together.
func TestLegsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawLeg(t, "a"), drawLeg(t, "b"), drawLeg(t, "c")
		for _, sum := range []stops.Leg{a.Then(b).Then(c), a.Then(b.Then(c)), a.Then(stops.Leg{}).Then(b).Then(c), stops.Leg{}.Then(a).Then(b).Then(c)} {
			for kWh := 0.0; kWh <= 60; kWh++ {
				at, lasts := kWh, true
				for _, l := range []stops.Leg{a, b, c} {
					var ok bool
					at, ok = l.ArriveKWh(at)
					lasts = lasts && ok
				}
				got, ok := sum.ArriveKWh(kWh)
				if ok != lasts || ok && math.Abs(got-at) > 1e-9 {
					t.Fatalf("leaving with %v: %v, %v, one by one %v, %v", kWh, got, ok, at, lasts)
				}
			}
			if sum.TimeS != a.TimeS+b.TimeS+c.TimeS {
				t.Fatalf("%v s", sum.TimeS)
			}
		}
	})
}

// Limits that do not bind change nothing: the search by the clock then finds
// what the exact planner finds.
func TestLimitsThatDoNotBind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawTrip(t, 5)
		p.MostStops = rapid.IntRange(0, 3).Draw(t, "most")
		exact := value(t, p)
		q := *p
		q.Chargers = append([]stops.Charger(nil), p.Chargers...)
		for i := range q.Chargers {
			c := &q.Chargers[i]
			switch rapid.IntRange(0, 4).Draw(t, "limit") {
			case 0:
				c.LeastStayS = 1e-6
			case 1:
				c.MostStayS = 1e6
			case 2:
				c.Price.IdlePerMinute, c.Price.IdleAfterS = 1, 1e6
			case 3:
				c.Periods = []stops.Period{{FromS: -1, Price: c.Price}, {FromS: 1e8, Closed: true}}
			}
		}
		searched := value(t, &q)
		if math.IsInf(exact, 1) != math.IsInf(searched, 1) || searched < exact-1e-5-1e-7*math.Abs(exact) || searched > exact+within(p) {
			t.Fatalf("searched %v, exact %v", searched, exact)
		}
	})
}

// Where a trip first fails, by hand: every hour takes 24 of 60 kWh, and 6 are
// the reserve.
func TestFirstGapByHand(t *testing.T) {
	const here, there = 0, 1
	for _, c := range []struct {
		name      string
		departSoC float64
		passed    []int
		want      stops.Gap
		fails     bool
	}{
		{"far enough", 0.5, nil, stops.Gap{}, false},
		{"too little at the start", 0.45, nil, stops.Gap{From: stops.Origin, To: here, MissingKWh: 3}, true},
		{"without the second", 0.5, []int{there}, stops.Gap{}, false},
		{"without the first", 0.5, []int{here}, stops.Gap{From: stops.Origin, To: there, MissingKWh: 24}, true},
		{"without any", 1, []int{here, there}, stops.Gap{From: stops.Origin, To: stops.Destination, MissingKWh: 18}, true},
	} {
		p := hours(t, 2)
		p.DepartSoC = c.departSoC
		for _, i := range c.passed {
			p.Chargers[i].Use = stops.MustPass
		}
		gap, fails := p.FirstGap()
		if fails != c.fails || gap.From != c.want.From || gap.To != c.want.To || math.Abs(gap.MissingKWh-c.want.MissingKWh) > 1e-9 {
			t.Errorf("%s: %+v, %v, want %+v", c.name, gap, fails, c.want)
		}
		if _, err := stops.Solve(p); c.fails != errors.Is(err, stops.ErrNoPlan) {
			t.Errorf("%s: the planner does not agree", c.name)
		}
	}
}

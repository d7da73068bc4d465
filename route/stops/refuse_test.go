package stops_test

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// flat60 charges a battery of 60 kWh at 60 kW: a percent takes 36 s.
func flat60(t testing.TB) *taper.Func {
	t.Helper()
	f, err := taper.New(taper.Flat(60), 60)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// hours is a road of one-hour pieces of 24 kWh, 40 % of the battery, with a
// charger after each but the last. It begins with 80 % and ends with 10.
func hours(t testing.TB, chargers int) *stops.Problem {
	t.Helper()
	p := &stops.Problem{CapacityKWh: 60, DepartSoC: 0.8, ReserveSoC: 0.1, Road: [][]stops.Leg{nil}}
	for i := range chargers + 1 {
		p.Road[0] = append(p.Road[0], stops.Leg{TimeS: 3600, NeedKWh: 24, CostKWh: 24})
		if i < chargers {
			p.Chargers = append(p.Chargers, stops.Charger{Power: flat60(t), ReserveSoC: 0.1, OverheadS: 300})
		}
	}
	return p
}

func mustSolve(t testing.TB, p *stops.Problem) *stops.Plan {
	t.Helper()
	plan, err := stops.Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	if err := stops.Verify(p, plan); err != nil {
		t.Fatal(err)
	}
	return plan
}

// Both ends of each range of a problem belong to it, the numbers next to them
// do not, and the error names the field.
func TestProblemRanges(t *testing.T) {
	inf, tiny, huge := math.Inf(1), math.SmallestNonzeroFloat64, math.MaxFloat64
	charger := func(set func(c *stops.Charger, x float64)) func(*stops.Problem, float64) {
		return func(p *stops.Problem, x float64) { set(&p.Chargers[1], x) }
	}
	period := func(set func(q *stops.Period, x float64)) func(*stops.Problem, float64) {
		return charger(func(c *stops.Charger, x float64) {
			c.Periods = []stops.Period{{FromS: 100}, {FromS: 200}}
			set(&c.Periods[1], x)
		})
	}
	for _, c := range []struct {
		field     string
		low, high float64
		set       func(p *stops.Problem, x float64)
	}{
		{"DepartSoC", 0, 1, func(p *stops.Problem, x float64) { p.DepartSoC = x }},
		{"ReserveSoC", 0, 1, func(p *stops.Problem, x float64) { p.ReserveSoC = x }},
		{"DepartS", -huge, huge, func(p *stops.Problem, x float64) { p.DepartS = x }},
		{"Objective.MoneyPerHour", 0, huge, func(p *stops.Problem, x float64) { p.Objective.MoneyPerHour = x }},
		{"Road[0][2].TimeS", 0, 1e9, func(p *stops.Problem, x float64) { p.Road[0][2].TimeS = x }},
		{"Road[0][2].NeedKWh", 0, inf, func(p *stops.Problem, x float64) { p.Road[0][2].NeedKWh = x }},
		{"Road[0][2].CostKWh", -huge, huge, func(p *stops.Problem, x float64) { p.Road[0][2].CostKWh = x }},
		{"Road[0][2].CapKWh", 0, inf, func(p *stops.Problem, x float64) { p.Road[0][2].CapKWh = x }},
		{"Chargers[1].In.TimeS", 0, 1e9, charger(func(c *stops.Charger, x float64) { c.In.TimeS = x })},
		{"Chargers[1].Out.CostKWh", -huge, huge, charger(func(c *stops.Charger, x float64) { c.Out.CostKWh = x })},
		{"Chargers[1].OverheadS", 0, huge, charger(func(c *stops.Charger, x float64) { c.OverheadS = x })},
		{"Chargers[1].CeilingSoC", 0, 1, charger(func(c *stops.Charger, x float64) { c.CeilingSoC = x })},
		{"Chargers[1].ReserveSoC", 0, 1, charger(func(c *stops.Charger, x float64) { c.ReserveSoC = x })},
		{"Chargers[1].LeastStayS", 0, huge, charger(func(c *stops.Charger, x float64) { c.LeastStayS = x })},
		{"Chargers[1].MostStayS", 0, huge, charger(func(c *stops.Charger, x float64) { c.MostStayS = x })},
		{"Chargers[1].MostStayS", 700, huge, charger(func(c *stops.Charger, x float64) { c.LeastStayS, c.MostStayS = 700, x })},
		{"Chargers[1].Price.PerKWh", 0, huge, charger(func(c *stops.Charger, x float64) { c.Price.PerKWh = x })},
		{"Chargers[1].Price.PerMinute", 0, huge, charger(func(c *stops.Charger, x float64) { c.Price.PerMinute = x })},
		{"Chargers[1].Price.PerSession", 0, huge, charger(func(c *stops.Charger, x float64) { c.Price.PerSession = x })},
		{"Chargers[1].Price.IdlePerMinute", 0, huge, charger(func(c *stops.Charger, x float64) { c.Price.IdlePerMinute = x })},
		{"Chargers[1].Price.IdleAfterS", 0, huge, charger(func(c *stops.Charger, x float64) { c.Price.IdleAfterS = x })},
		{"Chargers[1].Periods", math.Nextafter(100, 200), inf, period(func(q *stops.Period, x float64) { q.FromS = x })},
		{"Chargers[1].Periods.WaitS", 0, huge, period(func(q *stops.Period, x float64) { q.WaitS = x })},
		{"Chargers[1].Periods.Price.PerKWh", 0, huge, period(func(q *stops.Period, x float64) { q.Price.PerKWh = x })},
		{"Rest.LeastS", 0, huge, func(p *stops.Problem, x float64) { p.Rest = stops.Rest{LeastS: x} }},
		{"Rest.ToS", 500, inf, func(p *stops.Problem, x float64) { p.Rest = stops.Rest{LeastS: 600, FromS: 500, ToS: x} }},
	} {
		give := func(x float64) error {
			p := hours(t, 2)
			c.set(p, x)
			return p.Validate()
		}
		for _, x := range []float64{c.low, c.high, tiny + c.low} {
			if err := give(x); err != nil {
				t.Errorf("%s: %v belongs to the range, but: %v", c.field, x, err)
			}
		}
		outside := []float64{math.Nextafter(c.low, -inf), math.NaN()}
		if c.low == -huge {
			outside[0] = -inf
		}
		if c.high < inf {
			outside = append(outside, math.Nextafter(c.high, inf))
		}
		for _, x := range outside {
			var bad *stops.InputError
			if err := give(x); !errors.As(err, &bad) || bad.Field != c.field || bad.Expected == "" {
				t.Errorf("%s: %v lies outside the range, but: %v", c.field, x, err)
			}
		}
	}
}

// Whole numbers and what hangs together.
func TestProblemShape(t *testing.T) {
	other, err := taper.New(taper.Flat(60), 60*(1+2e-9))
	if err != nil {
		t.Fatal(err)
	}
	alike, err := taper.New(taper.Flat(60), 60*(1+0.5e-9))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, field string // field "": sound
		change      func(p *stops.Problem)
	}{
		{"as it is", "", func(*stops.Problem) {}},
		{"no battery", "CapacityKWh", func(p *stops.Problem) { p.CapacityKWh = 0 }},
		{"endless battery", "CapacityKWh", func(p *stops.Problem) { p.CapacityKWh = math.Inf(1) }},
		{"another battery", "Chargers[1].Power", func(p *stops.Problem) { p.Chargers[1].Power = other }},
		{"a battery rounded otherwise", "", func(p *stops.Problem) { p.Chargers[1].Power = alike }},
		{"no power", "Chargers[0].Power", func(p *stops.Problem) { p.Chargers[0].Power = nil }},
		{"last goal", "", func(p *stops.Problem) { p.Objective.Goal = stops.FewestStops }},
		{"unknown goal", "Objective.Goal", func(p *stops.Problem) { p.Objective.Goal = stops.FewestStops + 1 }},
		{"last use", "", func(p *stops.Problem) { p.Chargers[0].Use = stops.MustPass }},
		{"unknown use", "Chargers[0].Use", func(p *stops.Problem) { p.Chargers[0].Use = stops.MustPass + 1 }},
		{"one stop at most", "", func(p *stops.Problem) { p.MostStops = 1 }},
		{"fewer than no stops", "MostStops", func(p *stops.Problem) { p.MostStops = -1 }},
		{"no road", "Road", func(p *stops.Problem) { p.Road = nil }},
		{"a piece too few", "Road[0]", func(p *stops.Problem) { p.Road[0] = p.Road[0][1:] }},
		{"a piece too many", "Road[1]", func(p *stops.Problem) {
			p.Road = append(p.Road, append([]stops.Leg{{}}, p.Road[0]...))
		}},
		{"no rest anywhere", "", func(p *stops.Problem) { p.Rest = stops.Rest{FromS: 2, ToS: 1} }},
		{"two periods at once", "Chargers[0].Periods", func(p *stops.Problem) { p.Chargers[0].Periods = []stops.Period{{FromS: 5}, {FromS: 5}} }},
		{"periods out of order", "Chargers[0].Periods", func(p *stops.Problem) { p.Chargers[0].Periods = []stops.Period{{FromS: 5}, {FromS: 4}} }},
		{"no time at all", "Chargers[0].Periods", func(p *stops.Problem) { p.Chargers[0].Periods = []stops.Period{{FromS: math.NaN()}} }},
	} {
		p := hours(t, 2)
		c.change(p)
		err := p.Validate()
		var bad *stops.InputError
		if c.field == "" && err != nil || c.field != "" && (!errors.As(err, &bad) || bad.Field != c.field) {
			t.Errorf("%s: %v, want a fault of %q", c.name, err, c.field)
		}
		if strings.HasPrefix(c.name, "a piece too") && !strings.Contains(err.Error(), "expected 3, one more than there are chargers") {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// restful is a trip with all that a plan can state: two stops, a queue, money,
// a stay longer than the charge, idle time and a rest.
func restful(t testing.TB) *stops.Problem {
	p := hours(t, 3)
	p.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: 10}
	p.DepartS = 1000
	p.Rest = stops.Rest{LeastS: 1800}
	for i := range p.Chargers {
		c := &p.Chargers[i]
		c.In, c.Out = stops.Leg{TimeS: 60, NeedKWh: 0.5, CostKWh: 0.5}, stops.Leg{TimeS: 90, NeedKWh: 0.7, CostKWh: 0.7}
		c.Price = stops.Price{PerKWh: 0.4, PerMinute: 0.05, PerSession: 1, IdlePerMinute: 0.2, IdleAfterS: 1200}
		c.LeastStayS = 900
	}
	p.Chargers[1].Periods = []stops.Period{{FromS: 0, WaitS: 120, Price: p.Chargers[1].Price}}
	p.Chargers[0].Use, p.Chargers[1].Use, p.Chargers[2].Use = stops.MustStop, stops.MustStop, stops.MustPass
	return p
}

// A plan that states any figure wrongly is found out.
func TestVerifyNoticesEveryWrongFigure(t *testing.T) {
	p := restful(t)
	sound := mustSolve(t, p)
	if len(sound.Stops) != 2 || sound.Money == 0 {
		t.Fatalf("%+v", sound)
	}
	clone := func() *stops.Plan {
		plan := *sound
		plan.Stops = append([]stops.Stop(nil), sound.Stops...)
		return &plan
	}
	spoil := func(what string, plan *stops.Plan, v reflect.Value) {
		t.Helper()
		switch v.Kind() {
		case reflect.Float64:
			was := v.Float()
			for _, by := range []float64{0.01, -0.01} {
				v.SetFloat(was + by)
				if err := stops.Verify(p, plan); err == nil && what != "Plan.Bound" {
					t.Errorf("%s off by %v is not noticed", what, by)
				}
			}
			v.SetFloat(was + 1e-12)
			if err := stops.Verify(p, plan); err != nil {
				t.Errorf("%s off by rounding: %v", what, err)
			}
		case reflect.Int:
			was := v.Int()
			for _, by := range []int64{1, -1} {
				v.SetInt(was + by)
				if err := stops.Verify(p, plan); err == nil {
					t.Errorf("%s off by %d is not noticed", what, by)
				}
			}
		case reflect.Bool:
			v.SetBool(!v.Bool())
			if err := stops.Verify(p, plan); err == nil {
				t.Errorf("%s turned round is not noticed", what)
			}
		}
	}
	for i := range reflect.TypeFor[stops.Plan]().NumField() {
		plan := clone()
		spoil("Plan."+reflect.TypeFor[stops.Plan]().Field(i).Name, plan, reflect.ValueOf(plan).Elem().Field(i))
	}
	for k := range sound.Stops {
		for i := range reflect.TypeFor[stops.Stop]().NumField() {
			plan := clone()
			spoil("Stop."+reflect.TypeFor[stops.Stop]().Field(i).Name, plan, reflect.ValueOf(&plan.Stops[k]).Elem().Field(i))
		}
	}
	plan := clone()
	plan.Bound = plan.Value + 0.01
	if err := stops.Verify(p, plan); err == nil {
		t.Error("a bound above the value is not noticed")
	}
	plan = clone()
	plan.Stops = plan.Stops[:1]
	if err := stops.Verify(p, plan); err == nil {
		t.Error("a stop left out is not noticed")
	}
}

// Figures that are wrong but agree with each other are found out too: a minute
// that is not spent somewhere, and everything after it a minute earlier.
func TestVerifyNoticesAConsistentLie(t *testing.T) {
	for says, lie := range map[string]func(s *stops.Stop, plan *stops.Plan){
		"OverheadS is stated":        func(s *stops.Stop, _ *stops.Plan) { s.OverheadS -= 60 },
		"ChargeS is stated":          func(s *stops.Stop, _ *stops.Plan) { s.ChargeS, s.StayS = s.ChargeS-60, s.StayS-60 },
		"a stay of 660":              func(s *stops.Stop, _ *stops.Plan) { s.StayS -= 60 },
		"a wait of -60":              func(s *stops.Stop, _ *stops.Plan) { s.WaitS -= 60 },
		"at stop 1: DriveS":          func(s *stops.Stop, _ *stops.Plan) { s.DriveS, s.ArriveS = s.DriveS-60, s.ArriveS-60 },
		"at the destination: DriveS": func(s *stops.Stop, plan *stops.Plan) { plan.DriveS, s.LeaveS = plan.DriveS-60, s.LeaveS+60 },
		"LeaveS is stated":           func(*stops.Stop, *stops.Plan) {},
		"waits 60 s for nothing": func(s *stops.Stop, plan *stops.Plan) {
			s.WaitS, s.LeaveS = s.WaitS+60, s.LeaveS+120
			plan.ArriveS, plan.TimeS, plan.Value, plan.Bound = plan.ArriveS+120, plan.TimeS+120, plan.Value+120, plan.Bound+120
		},
	} {
		p := oneStop(t)
		plan := mustSolve(t, p)
		s := &plan.Stops[0]
		lie(s, plan)
		s.LeaveS -= 60
		plan.ArriveS, plan.TimeS, plan.Value, plan.Bound = plan.ArriveS-60, plan.TimeS-60, plan.Value-60, plan.Bound-60
		if err := stops.Verify(p, plan); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q in it", err, says)
		}
	}
	// Money that is paid less for the stop and in all.
	p := oneStop(t)
	p.Chargers[0].Price.PerKWh, p.Objective = 0.5, stops.Objective{Goal: stops.LeastMoney}
	plan := mustSolve(t, p)
	plan.Stops[0].Money, plan.Money, plan.Value, plan.Bound = 5, 5, 5, 5
	if err := stops.Verify(p, plan); err == nil || !strings.Contains(err.Error(), "Money is stated as 5") {
		t.Errorf("%v", err)
	}
}

// A plan that keeps the limits of one problem is refused by one that asks for
// more, with the limit named.
func TestVerifyNoticesEveryBrokenLimit(t *testing.T) {
	for _, c := range []struct {
		says   string
		change func(p *stops.Problem, plan *stops.Plan)
	}{
		{"", func(*stops.Problem, *stops.Plan) {}},
		{"below the reserve", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[1].ReserveSoC = plan.Stops[1].ArriveSoC + 1e-6 }},
		{"", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[1].ReserveSoC = plan.Stops[1].ArriveSoC }},
		{"below the reserve", func(p *stops.Problem, plan *stops.Plan) { p.ReserveSoC = plan.ArriveSoC + 1e-6 }},
		{"", func(p *stops.Problem, plan *stops.Plan) { p.ReserveSoC = plan.ArriveSoC }},
		{"above the ceiling", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[0].CeilingSoC = plan.Stops[0].LeaveSoC - 1e-6 }},
		{"", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[0].CeilingSoC = plan.Stops[0].LeaveSoC }},
		{"not to be used", func(p *stops.Problem, _ *stops.Plan) { p.Chargers[1].Use = stops.MustPass }},
		{"is a must and is passed", func(p *stops.Problem, _ *stops.Plan) { p.Chargers[2].Use = stops.MustStop }},
		{"is too short", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[0].LeastStayS = plan.Stops[0].StayS + 1 }},
		{"is longer than", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[0].MostStayS = plan.Stops[0].StayS - 1 }},
		{"", func(p *stops.Problem, plan *stops.Plan) { p.Chargers[0].MostStayS = plan.Stops[0].StayS }},
		{"stops, more than 1", func(p *stops.Problem, _ *stops.Plan) { p.MostStops = 1 }},
		{"", func(p *stops.Problem, _ *stops.Plan) { p.MostStops = 2 }},
		{"are left", func(p *stops.Problem, _ *stops.Plan) { p.Road[0][0].NeedKWh = 48.001 }},
		{"", func(p *stops.Problem, _ *stops.Plan) { p.Road[0][0].NeedKWh = 47.5 }},
		{"not the rest", func(p *stops.Problem, _ *stops.Plan) { p.Rest.LeastS = 1e5 }},
		{"no rest is taken", func(_ *stops.Problem, plan *stops.Plan) { plan.Stops[0].Rest, plan.Stops[1].Rest = false, false }},
		{"after closing", func(p *stops.Problem, plan *stops.Plan) {
			p.Chargers[1].Periods = append(p.Chargers[1].Periods, stops.Period{FromS: plan.Stops[1].LeaveS - 1, Closed: true})
		}},
		{"", func(p *stops.Problem, plan *stops.Plan) {
			p.Chargers[1].Periods = append(p.Chargers[1].Periods, stops.Period{FromS: plan.Stops[1].LeaveS, Closed: true})
		}},
		{"no period", func(p *stops.Problem, _ *stops.Plan) { p.Chargers[1].Periods[0].Closed = true }},
		{"no period", func(p *stops.Problem, _ *stops.Plan) { p.Chargers[1].Periods[0].WaitS = 600 }},
	} {
		p := restful(t)
		plan := mustSolve(t, p)
		c.change(p, plan)
		err := stops.Verify(p, plan)
		var broken *stops.Broken
		if c.says == "" && err != nil || c.says != "" && (!errors.As(err, &broken) || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("error %v, want %q in it", err, c.says)
		}
	}
}

// Where a trip fails, and by how much, by hand.
func TestInfeasibleByHand(t *testing.T) {
	const o, d = stops.Origin, stops.Destination
	for _, c := range []struct {
		name               string
		farthest, from, to int
		missingKWh         float64
		says               string
		change             func(p *stops.Problem)
	}{
		// 40 % of 60 kWh and the reserve of 10 % are 30 kWh.
		{"empty at the start", o, o, 0, 9, "9.00 kWh short from the origin to charger 0", func(p *stops.Problem) { p.DepartSoC = 0.35 }},
		{"a long piece", 0, 0, 1, 6, "from charger 0 to charger 1", func(p *stops.Problem) { p.Road[0][1] = stops.Leg{NeedKWh: 60, CostKWh: 60} }},
		{"a low ceiling", 0, 0, 1, 18, "18.00 kWh", func(p *stops.Problem) {
			p.Road[0][1] = stops.Leg{NeedKWh: 60, CostKWh: 60}
			p.Chargers[0].CeilingSoC = 0.8
		}},
		{"a summit", 0, 0, 1, 15, "15.00 kWh", func(p *stops.Problem) { p.Road[0][1] = stops.Leg{NeedKWh: 75, CostKWh: 10} }},
		{"a last piece", 1, 1, d, 10, "to the destination", func(p *stops.Problem) { p.Road[0][2] = stops.Leg{NeedKWh: 64, CostKWh: 64} }},
		{"one that must be passed", 0, 0, d, 2, "2.00 kWh short from charger 0 to the destination", func(p *stops.Problem) {
			p.Chargers[1].Use = stops.MustPass
			p.Road[0][1] = stops.Leg{NeedKWh: 32, CostKWh: 32}
		}},
		{"a detour", 0, 0, 1, 1, "1.00 kWh", func(p *stops.Problem) {
			p.Road[0][1] = stops.Leg{NeedKWh: 50, CostKWh: 50}
			p.Road[0][2] = stops.Leg{NeedKWh: 40, CostKWh: 40}
			p.Chargers[0].Out = stops.Leg{NeedKWh: 2, CostKWh: 2}
			p.Chargers[1].In = stops.Leg{NeedKWh: 3, CostKWh: 3}
		}},
		{"too few stops", d, o, d, 0, "not with so few stops", func(p *stops.Problem) { p.MostStops = 1; p.DepartSoC = 0.5; p.ReserveSoC = 0.3 }},
		{"no rest", d, o, d, 0, "the rest does not fit", func(p *stops.Problem) { p.Rest = stops.Rest{LeastS: 1, FromS: 1, ToS: 2} }},
		{"shut", d, o, d, 0, "not the hours", func(p *stops.Problem) {
			for i := range p.Chargers {
				p.Chargers[i].Periods = []stops.Period{{FromS: -1, Closed: true}}
			}
		}},
		{"regeneration lost", 0, 0, 1, 0, "regeneration into a full battery", func(p *stops.Problem) {
			p.Road[0][1].CapKWh = 5
		}},
	} {
		p := hours(t, 2)
		c.change(p)
		_, err := stops.Solve(p)
		var no *stops.Infeasible
		if !errors.As(err, &no) || !errors.Is(err, stops.ErrNoPlan) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q in it", c.name, err, c.says)
			continue
		}
		if no.Farthest != c.farthest || no.Why == "" && (no.From != c.from || no.To != c.to) || math.Abs(no.MissingKWh-c.missingKWh) > 1e-3 {
			t.Errorf("%s: %+v, want %d, from %d to %d, %v kWh", c.name, no, c.farthest, c.from, c.to, c.missingKWh)
		}
	}
}

package trip_test

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/testdata"
)

func assured(t testing.TB, ask question.Question) *trip.Plan {
	t.Helper()
	return assuredCar(t, "mid-size-sedan", ask)
}

func assuredCar(t testing.TB, name string, ask question.Question) *trip.Plan {
	t.Helper()
	drive, goal := prepareCar(t, "pass", name, ask)
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
		t.Fatal(err)
	}
	return plan
}

// The same plan gives the same simulation; another seed gives another, within
// the standard errors.
func TestSimulationIsSeeded(t *testing.T) {
	plan := assured(t, demoAsk())
	first := *plan.Risk.Simulated
	if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
		t.Fatal(err)
	}
	if first != *plan.Risk.Simulated {
		t.Errorf("%+v the first time, %+v the second", first, *plan.Risk.Simulated)
	}
	if err := plan.Assure(nil, trip.AssureOptions{Seed: 2, Trips: 4000}); err != nil {
		t.Fatal(err)
	}
	a, b := first.BelowReserve, plan.Risk.BelowReserve
	if a == b || math.Abs(a.Value-b.Value) > 4*math.Hypot(a.Error, b.Error) {
		t.Errorf("%+v with one seed, %+v with another", a, b)
	}
}

// What is said of a hardship with the same stops is what a drive made for
// that day gives, driven in steps of 500 m.
func TestHardshipsAgainstDrives(t *testing.T) {
	plan := assured(t, demoAsk())
	d := plan.Drive
	conditions := map[trip.Hardship]func(*energy.Conditions){
		trip.Colder:  func(c *energy.Conditions) { c.TempC -= 10 },
		trip.RoofBox: func(c *energy.Conditions) { c.Extras = append(c.Extras, "roof box") },
		trip.Worn:    func(c *energy.Conditions) { c.StateOfHealth = 0.9 },
	}
	checked := 0
	for _, s := range plan.Stresses {
		change, ok := conditions[s.Hardship]
		if !ok {
			continue
		}
		checked++
		cond := d.Conditions
		cond.RegenShare = 0 // it follows the temperature
		change(&cond)
		hard, err := trip.NewDrive(d.Corridor, d.Car, cond, d.Options)
		if err != nil {
			t.Fatal(err)
		}
		arrive, least := inSteps(plan, hard)
		if math.Abs(arrive-s.ArriveSoC) > 1e-6 || math.Abs(least-s.LeastSoC) > 1e-4 {
			t.Errorf("%s: driven in steps it arrives with %.6f and has %.6f at the least; said %.6f and %.6f", s.Text(question.Metric), arrive, least, s.ArriveSoC, s.LeastSoC)
		}
		if s.Plan != nil && s.Plan.Drive.Profile.EnergyKWh(1e9) != hard.Profile.EnergyKWh(1e9) {
			t.Errorf("%s: the new plan is for another day", s.Text(question.Metric))
		}
	}
	if checked != len(conditions) {
		t.Errorf("%d of %d hardships checked", checked, len(conditions))
	}
}

// inSteps drives a plan's stops and departures on another drive.
func inSteps(plan *trip.Plan, d *trip.Drive) (arriveSoC, leastSoC float64) {
	capacity := d.Profile.CapacityKWh()
	kWh, atM := plan.Goal.DepartSoC*capacity, 0.0
	least := kWh
	drive := func(toM float64) {
		for atM < toM {
			endM := math.Min(atM+500, toM)
			kWh = math.Min(kWh-d.Profile.EnergyKWh(endM)+d.Profile.EnergyKWh(atM), capacity)
			least, atM = math.Min(least, kWh), endM
		}
	}
	for i := range plan.Stops {
		s := &plan.Stops[i]
		for k := range d.Chargers {
			if c := &d.Chargers[k]; c.Site == s.Charger.Site && c.ChainageM == s.Charger.ChainageM {
				drive(c.ChainageM)
				kWh -= c.In.CostKWh
				least = math.Min(least, kWh)
				kWh = math.Max(kWh, s.LeaveSoC*capacity) - c.Out.CostKWh
			}
		}
	}
	drive(d.Profile.LengthM())
	return kWh / capacity, math.Min(least, kWh) / capacity
}

// A hardship takes more than the estimate, and one that breaks a reserve says
// what then.
func TestHardshipsTakeMore(t *testing.T) {
	plan := assured(t, demoAsk())
	if len(plan.Stresses) != 5 {
		t.Errorf("%d hardships, want 5", len(plan.Stresses))
	}
	for _, s := range plan.Stresses {
		if s.ArriveSoC >= plan.ArriveSoC {
			t.Errorf("%s arrives with %.4f, the plan with %.4f", s.Text(question.Metric), s.ArriveSoC, plan.ArriveSoC)
		}
		if !s.Holds() && s.Plan == nil {
			t.Errorf("%s has no plan on a road full of stations", s.Text(question.Metric))
		}
	}
	ask := demoAsk()
	ask.Carry = []string{"roof box"}
	if withBox := assured(t, ask); len(withBox.Stresses) != 4 {
		t.Errorf("%d hardships for a car with a roof box, want 4", len(withBox.Stresses))
	}
}

// At most five choices, each different, each keeping the goal, and each
// gaining what it is named for.
func TestChoicesGain(t *testing.T) {
	testdata.Sequential(t)
	kinds := map[trip.ChoiceKind]int{}
	for _, c := range []struct {
		car    string
		change func(*question.Question)
	}{
		{"mid-size-sedan", func(*question.Question) {}},
		{"mid-size-sedan", func(r *question.Question) { r.TempC = -12; r.LeaveWithPct = 100 }},
		{"mid-size-sedan", func(r *question.Question) { r.ConfidencePct = 90 }},
		{"crossover", func(r *question.Question) { r.LeastPowerKW = 140; r.TempC = 0 }},
		{"large-suv", func(r *question.Question) { r.LeastPowerKW = 250; r.TempC = -5; r.LeaveWithPct = 80 }},
		{"van", func(r *question.Question) { r.PowerBetween = []string{"-60"} }},
		{"van", func(r *question.Question) { r.PowerBetween, r.TempC = []string{"-60"}, -15 }},
	} {
		ask := demoAsk()
		c.change(&ask)
		plan := assuredCar(t, c.car, ask)
		seen := map[string]bool{}
		if len(plan.Choices) > 5 {
			t.Errorf("%d choices", len(plan.Choices))
		}
		for i := range plan.Choices {
			c := &plan.Choices[i]
			kinds[c.Kind]++
			text := c.Text(question.Metric)
			t.Log(text)
			if seen[text] || strings.Contains(text, "\n") {
				t.Errorf("%q is there twice, or is more than a line", text)
			}
			seen[text] = true
			gains := map[trip.ChoiceKind]bool{
				trip.Slower: c.MoreS <= -60, trip.FewerStops: c.Stops < 0, trip.Surer: c.Headroom > 0,
				trip.Cheaper: c.Cost.Micros < 0, trip.OtherStops: true,
			}
			if !gains[c.Kind] {
				t.Errorf("%q does not gain what it is for", text)
			}
			if c.Plan.ArriveSoC < plan.Goal.ArriveReserveSoC-1e-6 || c.Plan.Headroom < -1e-6 {
				t.Errorf("%q breaks a reserve", text)
			}
		}
	}
	for _, kind := range []trip.ChoiceKind{trip.Slower, trip.FewerStops, trip.Surer, trip.Cheaper, trip.OtherStops} {
		if kinds[kind] == 0 {
			t.Errorf("no trip tried has a choice of kind %d", kind)
		}
	}
}

// A confidence or a fallback that cannot be had is named with what would help.
func TestWhyNotSure(t *testing.T) {
	testdata.Sequential(t)
	ask := demoAsk()
	ask.ConfidencePct, ask.LeastPowerKW, ask.TempC, ask.MostStops = 99.9, 0, 8, new(1)
	for _, c := range []struct {
		change func(*question.Question)
		says   string
	}{
		{func(r *question.Question) {}, "accept a confidence of"},
		{func(r *question.Question) { r.ConfidencePct, r.Fallback, r.FallbackFloorPct = 0, "required", new(92.0) }, "do without enough for another station"},
	} {
		asked := ask
		c.change(&asked)
		drive, goal := prepare(t, "pass", asked)
		_, err := drive.Plan(nil, goal)
		var why *trip.NoPlan
		if !errors.As(err, &why) || !errors.Is(err, stops.ErrNoPlan) {
			t.Errorf("%q: error %v", c.says, err)
			continue
		}
		if text := why.RemedyText(question.Metric); !strings.Contains(text, c.says) {
			t.Errorf("%s %s: %q is not there", why.Text(question.Metric), text, c.says)
		}
	}
}

// A comparison is what each case gives alone, a trip that cannot be made
// included.
func TestCompareAgainstPlans(t *testing.T) {
	testdata.Sequential(t)
	var cases []trip.Case
	for _, temp := range []float64{-20, 0, 20} {
		for _, name := range []string{"small-hatch", "crossover"} {
			ask := demoAsk()
			ask.TempC, ask.LeastPowerKW, ask.ChargeToPct = temp, 250, 55
			cases = append(cases, trip.Case{Car: car(t, name), Ask: ask})
		}
	}
	got, err := (&trip.Itinerary{Routes: []*route.Route{demoRoute(t, "pass")}, Stations: demoStations(t)}).Compare(t.Context(), nil, cases, trip.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	possible := 0
	for i, c := range got {
		drive, goal, err := trip.Prepare(demoRoute(t, "pass"), demoStations(t), cases[i].Car, cases[i].Ask)
		if err != nil {
			t.Fatal(err)
		}
		alone, err := drive.Plan(nil, goal)
		if (err == nil) != (c.Plan != nil) || (c.Plan == nil) != (c.NoPlan != nil) {
			t.Fatalf("case %d: %v alone, %v compared", i, err, c.NoPlan)
		}
		if err != nil {
			continue
		}
		possible++
		if !reflect.DeepEqual(alone.Track, c.Plan.Plans[0].Track) {
			t.Errorf("case %d is another plan than alone", i)
		}
	}
	if possible == 0 || possible == len(cases) {
		t.Errorf("%d of %d cases are possible: one kind is not tried", possible, len(cases))
	}
}

package trip

import (
	"errors"
	"math/rand/v2"
	"testing"

	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
	"ampleway/testdata"
)

// No other plan that the program can be led to, with the settings of a person
// who says nothing, is better on the simulated days at no higher risk than the
// plan it calls best: not by leaving out a station, by asking for one, by
// limiting the stops or by another goal. A reserve of three points less never
// makes it worse. A plan is polished, not proven, over its days: what is still
// beaten is counted here and bounded as measured.
func TestNothingAskedBeatsTheBest(t *testing.T) {
	testdata.Sequential(t)
	// Allowed: so large a share of the questions, by so large a share of the value,
	// as measured: by time 22 of 2,153 on 150 corridors, by cost 182 of 2,468 on 150.
	// The second is a known limit, not an aim: what is bought early for a day that
	// takes more is not needed on most days.
	fleet := builtInCars(t)
	for _, c := range []struct {
		name              string
		goal              stops.Goal
		beaten, mostShare float64
	}{
		{"by time", stops.LeastTime, 0.0103, 0.0024},
		{"by cost", stops.LeastMoney, 0.0738, 0.1394},
	} {
		t.Run(c.name, func(t *testing.T) { keeps(t, fleet, c.goal, c.beaten, c.mostShare) })
	}
}

// keeps asks on random corridors, of which every third is planned by cost.
func keeps(t *testing.T, fleet []*energy.Car, goal stops.Goal, mostBeaten, mostShare float64) {
	k := keeping{t: t, goal: goal}
	for seed := uint64(1); k.corridors < howMany(3, 150); seed++ {
		if (seed%3 == 0) == (goal == stops.LeastMoney) {
			k.corridor(fleet, seed)
		}
	}
	t.Logf("%d corridors, %d questions: %d beat the plan, by %.3f %% at most (corridor %d, %s); a lower reserve made %d worse, by %.3f %% at most",
		k.corridors, k.asked, k.beaten, 100*k.most, k.worst, k.how, k.lower, 100*k.mostLower)
	if share := float64(k.beaten) / float64(k.asked); share > mostBeaten || k.most > mostShare {
		t.Errorf("%.2f %% beaten, by %.3f %%", 100*share, 100*k.most)
	}
	if share := float64(k.lower) / float64(k.corridors); share > mostBeaten || k.mostLower > mostShare {
		t.Errorf("a lower reserve makes %.2f %% worse, by %.3f %%", 100*share, 100*k.mostLower)
	}
}

type keeping struct {
	t                               *testing.T
	goal                            stops.Goal
	corridors, asked, beaten, lower int
	most, mostLower                 float64
	worst                           uint64
	how                             string
}

func (k *keeping) corridor(fleet []*energy.Car, seed uint64) {
	drive, goal := randomTrip(k.t, fleet, seed)
	usual := question.New()
	goal.Confidence, goal.StopWorthS = usual.ConfidencePct/100, 60*usual.StopWorthMin
	rng := rand.New(rand.NewPCG(seed, 17))
	for i := range drive.Chargers {
		drive.Chargers[i].Bays = 1 + rng.IntN(6)
		drive.Chargers[i].Site.Price = &stations.Price{Currency: "XTS", Rates: stations.Rates{PerKWh: 0.3 + 0.4*rng.Float64()}}
	}
	goal.Objective.Goal = k.goal
	best, bestValue, risk := k.plan(drive, goal, goal.Objective)
	if best == nil {
		return
	}
	k.corridors++
	ask := func(how string, change func(*Goal)) {
		other := goal
		change(&other)
		p, value, otherRisk := k.plan(drive, other, goal.Objective)
		if p == nil {
			return
		}
		k.asked++
		if otherRisk <= max(risk, 1-goal.Confidence) && better(value, bestValue) {
			k.beaten++
			if by := 1 - value/bestValue; by > k.most {
				k.most, k.worst, k.how = by, seed, how
			}
		}
	}
	for i := range best.Stops {
		ask("avoid", func(g *Goal) { g.MustNot = []string{best.Stops[i].Charger.Site.ID} })
	}
	for range 3 {
		id := drive.Chargers[rng.IntN(len(drive.Chargers))].Site.ID
		ask("avoid any", func(g *Goal) { g.MustNot = []string{id} })
		ask("must", func(g *Goal) { g.Must = []string{id} })
	}
	for n := max(1, len(best.Stops)-1); n <= len(best.Stops); n++ {
		ask("most stops", func(g *Goal) { g.MostStops = n })
	}
	ask("time", func(g *Goal) { g.Objective = stops.Objective{} })
	ask("balance", func(g *Goal) { g.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: 10} })
	ask("fewest stops", func(g *Goal) { g.Objective.Goal = stops.FewestStops })
	lower := goal
	lower.ReserveSoC, lower.ArriveReserveSoC = goal.ReserveSoC-0.03, goal.ArriveReserveSoC-0.03
	if _, value, _ := k.plan(drive, lower, goal.Objective); better(bestValue, value) {
		k.lower++
		k.mostLower = max(k.mostLower, value/bestValue-1)
	}
}

// better leaves out what is a hundredth of a thousandth, a quarter of a second on
// a drive of seven hours.
func better(a, b float64) bool { return a < b*(1-1e-5) }

// plan plans for a goal and drives the plan on the simulated days: what it
// comes to by an objective, and how often it breaks a reserve.
func (k *keeping) plan(d *Drive, g Goal, o stops.Objective) (p *Plan, value, risk float64) {
	var planner stops.Planner
	p, err := d.Plan(&planner, g)
	if errors.Is(err, stops.ErrNoPlan) {
		return nil, 0, 0
	}
	if err != nil {
		k.t.Fatal(err)
	}
	sweep, err := p.sweep(&planner)
	if err != nil {
		k.t.Fatal(err)
	}
	p.Goal.Objective = o
	r, err := p.alone().simulate([]*stops.Sweep{sweep}, AssureOptions{}.withDefaults())
	if err != nil {
		k.t.Fatal(err)
	}
	return p, r.MeanValue, r.BelowReserve.Value
}

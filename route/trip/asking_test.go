package trip_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"ampleway/data/cars"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/testdata"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// world is a road router that knows one road, by its whole kilometres, and the
// ways from it to the stations beside it.
type world struct {
	passes   []trip.Pass
	chainage map[orb.Point]float64
	ways     func(p *trip.Pass) (in, out trip.Way, err error) // off the road and back to it
	roadMS   float64                                          // 0: it does not say times

	mu    sync.Mutex
	times map[trip.Ends]int // how often each was asked
}

func newWorld(d *trip.Drive, ways func(p *trip.Pass) (in, out trip.Way, err error)) *world {
	w := &world{passes: d.Corridor.Passes, chainage: map[orb.Point]float64{}, ways: ways, roadMS: 25, times: map[trip.Ends]int{}}
	r := d.Corridor.Route
	put := func(m float64) {
		at := r.At(m)
		w.chainage[orb.Point{at.Lon, at.Lat}] = m
	}
	for m := 0.0; m < r.LengthM(); m += 1000 {
		put(m)
	}
	put(r.LengthM())
	return w
}

func (w *world) Roads(_ context.Context, questions []trip.Ends) ([]trip.Way, []error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	ways, errs := make([]trip.Way, len(questions)), make([]error, len(questions))
	for i, q := range questions {
		w.times[q]++
		ways[i], errs[i] = w.way(q)
	}
	return ways, errs
}

func (w *world) way(q trip.Ends) (trip.Way, error) {
	fromM, leaves := w.chainage[q.From]
	toM, arrives := w.chainage[q.To]
	if leaves && arrives {
		return w.along(fromM, toM), nil
	}
	for i := range w.passes {
		p := &w.passes[i]
		site := orb.Point{p.Site.Lon, p.Site.Lat}
		in, out, err := w.ways(p)
		switch {
		case leaves && site == q.To && math.Abs(p.ChainageM-fromM) <= 11e3:
			return w.join(w.along(fromM, p.ChainageM), in), err
		case arrives && site == q.From && math.Abs(p.ChainageM-toM) <= 11e3:
			return w.join(out, w.along(p.ChainageM, toM)), err
		}
	}
	return trip.Way{}, errors.New("no road there")
}

func (w *world) along(fromM, toM float64) trip.Way {
	if w.roadMS == 0 {
		return trip.Way{LengthM: toM - fromM}
	}
	return trip.Way{LengthM: toM - fromM, TimeS: (toM - fromM) / w.roadMS}
}

func (w *world) join(a, b trip.Way) trip.Way {
	if w.roadMS == 0 {
		return trip.Way{LengthM: a.LengthM + b.LengthM}
	}
	return trip.Way{LengthM: a.LengthM + b.LengthM, TimeS: a.TimeS + b.TimeS}
}

// asked is how many questions were asked; none of them twice.
func (w *world) asked(t interface{ Errorf(string, ...any) }) int {
	for q, n := range w.times {
		if n > 1 {
			t.Errorf("%v was asked %d times", q, n)
		}
	}
	return len(w.times)
}

func asEstimated(p *trip.Pass) (in, out trip.Way, err error) {
	way := trip.Way{LengthM: p.OneWayM, TimeS: p.OneWayS}
	return way, way, nil
}

// at40 is a way at the default detour speed.
func at40(m float64) trip.Way { return trip.Way{LengthM: m, TimeS: m / trip.DefaultDetourSpeedMS} }

func samePlan(t interface{ Errorf(string, ...any) }, got, want *trip.Plan) {
	if len(got.Stops) != len(want.Stops) {
		t.Errorf("%d stops, want %d", len(got.Stops), len(want.Stops))
		return
	}
	for i := range got.Stops {
		a, b := &got.Stops[i], &want.Stops[i]
		if a.Charger.Site.ID != b.Charger.Site.ID || math.Abs(a.LeaveSoC-b.LeaveSoC) > 1e-6 || math.Abs(a.ArriveSoC-b.ArriveSoC) > 1e-6 {
			t.Errorf("stop %d: %s %.6f to %.6f, want %s %.6f to %.6f", i+1, a.Charger.Site.ID, a.ArriveSoC, a.LeaveSoC, b.Charger.Site.ID, b.ArriveSoC, b.LeaveSoC)
		}
	}
	if math.Abs(got.TimeS-want.TimeS) > 1e-3 || math.Abs(got.DistanceM-want.DistanceM) > 1e-3 {
		t.Errorf("%.4f s over %.3f m, want %.4f s over %.3f m", got.TimeS, got.DistanceM, want.TimeS, want.DistanceM)
	}
}

// drawTrip draws a demo corridor, a car, a day and a goal, and prepares them
// with the stations that it is given.
func drawTrip(rt *rapid.T, t *testing.T, routes map[string]*route.Route) func(*stations.Index) (*trip.Drive, trip.Goal) {
	r := routes[rapid.SampledFrom([]string{"pass", "upland", "north"}).Draw(rt, "corridor")]
	ask := byEstimate()
	ask.TempC = rapid.Float64Range(-15, 35).Draw(rt, "temp")
	ask.LeaveWithPct = rapid.Float64Range(60, 100).Draw(rt, "leave with")
	ask.ReservePct = percent(rapid.Float64Range(0, 20).Draw(rt, "reserve"))
	ask.ArriveWithPct = percent(rapid.Float64Range(0, 40).Draw(rt, "arrive with"))
	ask.Best = rapid.SampledFrom([]string{"time", "fewest-stops"}).Draw(rt, "best")
	ask.ConfidencePct = rapid.SampledFrom([]float64{0, 95}).Draw(rt, "confidence")
	c := car(t, rapid.SampledFrom(cars.Names()).Draw(rt, "car"))
	return func(index *stations.Index) (*trip.Drive, trip.Goal) {
		drive, goal, err := trip.Prepare(r, index, c, ask)
		if err != nil {
			rt.Fatal(err)
		}
		return drive, goal
	}
}

func demoRoutes(t *testing.T) map[string]*route.Route {
	routes := map[string]*route.Route{}
	for _, name := range []string{"pass", "upland", "north"} {
		routes[name] = demoRoute(t, name)
	}
	return routes
}

// feasible tells quickly where there is no plan, of up to five legs.
func feasible(d *trip.Drive, g trip.Goal) bool {
	if g.Confidence > 0 {
		g.Excess = d.Excess(g.Confidence, 5)
	}
	_, err := stops.Solve(d.Problem(g))
	return err == nil
}

// few are simulated trips enough where the risk is not looked at.
var few = trip.AssureOptions{Trips: 20}

// A router that answers what was estimated changes nothing.
func TestDetoursAsEstimatedChangeNothing(t *testing.T) {
	testdata.Sequential(t)
	index, routes := demoStations(t), demoRoutes(t)
	plans := 0
	rapid.Check(t, func(rt *rapid.T) {
		prepare := drawTrip(rt, t, routes)
		drive, goal := prepare(index)
		if !feasible(drive, goal) {
			return
		}
		want, wantErr := drive.Plan(nil, goal)
		w := newWorld(drive, asEstimated)
		if rapid.Bool().Draw(rt, "without times") {
			w.roadMS = 0
		}
		got, err := drive.PlanAsking(context.Background(), nil, goal, w.Roads, trip.AskOptions{}, few)
		if (err == nil) != (wantErr == nil) || err != nil && !errors.Is(err, stops.ErrNoPlan) {
			rt.Fatalf("%v, by estimates %v", err, wantErr)
		}
		w.asked(rt)
		if err != nil {
			return
		}
		plans++
		samePlan(rt, got, want)
		for i := range got.Stops {
			if c := got.Stops[i].Charger; !c.Asked && !c.Stated {
				rt.Errorf("stop %d was not asked for", i+1)
			}
		}
	})
	if plans == 0 {
		t.Error("no trip drawn has a plan")
	}
}

// Whatever the router answers: the plan keeps its reserves when it is driven in
// small steps; the stations it names were asked for; the way to a stop takes
// what its length does; and it is the plan that is made where the stations' own
// data state the same detours.
func TestPlansHoldWithAskedDetours(t *testing.T) {
	testdata.Sequential(t)
	index, routes := demoStations(t), demoRoutes(t)
	found := map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		prepare := drawTrip(rt, t, routes)
		drive, goal := prepare(index)
		if !feasible(drive, goal) {
			return
		}
		farM := rapid.SampledFrom([]float64{500, 3e3, 30e3}).Draw(rt, "far")
		alike := rapid.Bool().Draw(rt, "there as back")
		ways := map[*stations.Site][2]float64{}
		fails := map[*stations.Site]bool{}
		for i := range drive.Corridor.Passes {
			site := drive.Corridor.Passes[i].Site
			ways[site] = [2]float64{rapid.Float64Range(1, farM).Draw(rt, "in"), rapid.Float64Range(1, farM).Draw(rt, "out")}
			if alike {
				ways[site] = [2]float64{ways[site][0], ways[site][0]}
			}
			fails[site] = rapid.IntRange(0, 9).Draw(rt, "fails") == 0
		}
		w := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) {
			if fails[p.Site] {
				err = errors.New("no way")
			}
			return at40(ways[p.Site][0]), at40(ways[p.Site][1]), err
		})
		plan, err := drive.PlanAsking(context.Background(), nil, goal, w.Roads, trip.AskOptions{Questions: 1000}, few)
		w.asked(rt)
		if !holds(rt, plan, err, found) {
			return
		}
		perM := perMetre(drive)
		for i := range plan.Stops {
			c := plan.Stops[i].Charger
			switch want := ways[c.Site]; {
			case c.Stated:
			case fails[c.Site]:
				found["refused"]++
				if !c.Unanswered || c.Asked {
					rt.Errorf("stop %d: the router has no way there", i+1)
				}
			case !c.Asked:
				rt.Errorf("stop %d was not asked for", i+1)
			default:
				found["asked"]++
				if math.Abs(c.In.DistanceM-want[0]) > 1e-6 || math.Abs(c.Out.DistanceM-want[1]) > 1e-6 {
					rt.Errorf("stop %d: %.3f m there and %.3f m back, the router said %.3f and %.3f", i+1, c.In.DistanceM, c.Out.DistanceM, want[0], want[1])
				}
				if math.Abs(c.In.CostKWh-perM*want[0]) > 1e-9 {
					rt.Errorf("stop %d: the way there takes %.6f kWh, %.6f by its length", i+1, c.In.CostKWh, perM*want[0])
				}
			}
		}
		if alike {
			found["stated"]++
			stated, goal := prepare(statedAsAsked(plan.Drive, index))
			again, err := stated.Plan(nil, goal)
			if err != nil {
				rt.Fatal(err)
			}
			samePlan(rt, plan, again)
		}
	})
	for _, what := range []string{"plan", "asked", "refused", "stated"} {
		if found[what] == 0 && !testing.Short() { // -short draws a fifth
			t.Errorf("the draw is one-sided: %v", found)
		}
	}
	t.Log(found)
}

// perMetre is what a metre off the road costs by the estimate.
func perMetre(d *trip.Drive) float64 {
	for i := range d.Chargers {
		if leg := d.Chargers[i].In; leg.DistanceM > 100 {
			return leg.CostKWh / leg.DistanceM
		}
	}
	return math.NaN()
}

// statedAsAsked are the stations with the detours that were asked for in their
// own data.
func statedAsAsked(d *trip.Drive, index *stations.Index) *stations.Index {
	var sites stations.Sites
	for i := range index.Set().Len() {
		site := index.Set().Site(i)
		for _, p := range d.Corridor.Passes {
			if p.Site.ID == site.ID && p.Asked {
				site.DetourM, site.DetourS = 2*p.OneWayM, 2*p.OneWayS
			}
		}
		sites = append(sites, site)
	}
	return stations.NewIndex(sites)
}

// onUpland is a trip with stops, and its plan by estimates.
func onUpland(t *testing.T) (*trip.Drive, trip.Goal, *trip.Plan) {
	t.Helper()
	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct = 5, 60
	drive, goal := prepare(t, "upland", ask)
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Stops) == 0 {
		t.Fatal("the trip has no stop to ask for")
	}
	return drive, goal, plan
}

// A station 30 km away over a bridge is not stopped at; one that is nearer than
// estimated makes the trip shorter by just that.
func TestFarAndNearStations(t *testing.T) {
	drive, goal, before := onUpland(t)
	far := before.Stops[0].Charger.Site
	bridge := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) {
		if p.Site.ID == far.ID {
			return at40(30e3), at40(30e3), nil
		}
		return asEstimated(p)
	})
	after, err := drive.PlanAsking(context.Background(), nil, goal, bridge.Roads, trip.AskOptions{}, few)
	if err != nil {
		t.Fatal(err)
	}
	for i := range after.Stops {
		if after.Stops[i].Charger.Site.ID == far.ID {
			t.Errorf("stop %d is still %s, 30 km off", i+1, trip.SiteName(far))
		}
	}
	if !(after.TimeS > before.TimeS) {
		t.Errorf("%.0f s, %.0f s before it was known that the first stop is far", after.TimeS, before.TimeS)
	}
	replayed(t, after)
	text := strings.Join(after.Assumptions(question.Metric), "\n")
	if !strings.Contains(text, "Detours: your router gave ") || bridge.asked(t) > 60 {
		t.Errorf("%d questions; %s", bridge.asked(t), text)
	}

	beside := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) { return trip.Way{}, trip.Way{}, nil })
	near, err := drive.PlanAsking(context.Background(), nil, goal, beside.Roads, trip.AskOptions{}, few)
	if err != nil {
		t.Fatal(err)
	}
	for i := range near.Stops {
		if s := &near.Stops[i]; s.DetourS > 1e-6 || s.Charger.OneWayM > 1e-6 {
			t.Errorf("stop %d lies beside the road: %.1f s, %.1f m", i+1, s.DetourS, s.Charger.OneWayM)
		}
	}
	if near.TimeS >= before.TimeS {
		t.Errorf("%.0f s with every station beside the road, %.0f s by estimates", near.TimeS, before.TimeS)
	}
	replayed(t, near)
}

func replayed(t *testing.T, p *trip.Plan) {
	t.Helper()
	replay(t, p)
	closes(t, p)
}

// A long way at the speed of a fast road takes more than at the detour speed.
func TestDetourAtTheRoutersSpeed(t *testing.T) {
	drive, goal, _ := onUpland(t)
	plan := func(speedMS float64) *trip.Plan {
		way := trip.Way{LengthM: 8e3, TimeS: 8e3 / speedMS}
		w := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) { return way, way, nil })
		p, err := drive.PlanAsking(context.Background(), nil, goal, w.Roads, trip.AskOptions{}, few)
		if err != nil {
			t.Fatal(err)
		}
		replayed(t, p)
		return p
	}
	slow, fast := plan(40 / 3.6).Stops[0], plan(110 / 3.6).Stops[0]
	if !(fast.Charger.In.CostKWh > 1.3*slow.Charger.In.CostKWh) {
		t.Errorf("8 km take %.3f kWh at 110 km/h and %.3f kWh at 40 km/h", fast.Charger.In.CostKWh, slow.Charger.In.CostKWh)
	}
	if want := 2 * 8e3 / (110 / 3.6); math.Abs(fast.DetourS-want) > 1e-6 {
		t.Errorf("the detour takes %.3f s, the router said %.3f", fast.DetourS, want)
	}
}

// The bounds on questions and time hold; what is left stays an estimate and is
// said.
func TestAskingIsBounded(t *testing.T) {
	drive, goal, before := onUpland(t)
	for _, most := range []int{1, 3, 5, 8} {
		w := newWorld(drive, asEstimated)
		plan, err := drive.PlanAsking(context.Background(), nil, goal, w.Roads, trip.AskOptions{Questions: most}, few)
		if err != nil {
			t.Fatal(err)
		}
		samePlan(t, plan, before)
		asked := plan.Drive.Corridor.Asked
		if n := w.asked(t); n > most || n != asked.Questions || !asked.Cut {
			t.Errorf("%d questions of at most %d; %+v", n, most, asked)
		}
		if text := plan.Assumptions(question.Metric)[3]; !strings.Contains(text, "the limit on questions") {
			t.Errorf("at most %d: %s", most, text)
		}
	}
	w := newWorld(drive, asEstimated)
	silent := func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		<-ctx.Done()
		ways, errs := w.Roads(ctx, questions)
		for i := range errs {
			errs[i] = ctx.Err()
		}
		return ways, errs
	}
	began := time.Now()
	plan, err := drive.PlanAsking(context.Background(), nil, goal, silent, trip.AskOptions{Within: 50 * time.Millisecond}, few)
	if err != nil {
		t.Fatal(err)
	}
	if took := time.Since(began); took > 10*time.Second {
		t.Errorf("a silent router held the plan up for %s", took)
	}
	samePlan(t, plan, before)
	if asked := plan.Drive.Corridor.Asked; asked.Unanswered == 0 || asked.Why == nil || asked.Why.Error() != "no answer in the 50ms that asking may take" {
		t.Errorf("%+v", asked)
	}
}

// A context that ends while the router is asked ends the plan at once.
func TestAskingCanBeCancelled(t *testing.T) {
	drive, goal, _ := onUpland(t)
	ctx, cancel := context.WithCancel(context.Background())
	waits := func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		cancel()
		<-ctx.Done()
		errs := make([]error, len(questions))
		for i := range errs {
			errs[i] = ctx.Err()
		}
		return make([]trip.Way, len(questions)), errs
	}
	plan, err := drive.PlanAsking(ctx, nil, goal, waits, trip.AskOptions{}, few)
	if plan != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("%v, %v", plan, err)
	}
}

// A router that fails, or that goes by another road than the route, leaves the
// estimates and is told of.
func TestAnswersThatCannotBeUsed(t *testing.T) {
	drive, goal, before := onUpland(t)
	failing := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) { return in, out, errors.New("closed for winter") })
	honest := newWorld(drive, asEstimated)
	elsewhere := func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		ways, errs := honest.Roads(ctx, questions)
		for i, q := range questions {
			if _, onRoad := honest.chainage[q.From]; onRoad && errs[i] == nil {
				ways[i].LengthM *= 0.9 // a shorter road than the route's
			}
		}
		return ways, errs
	}
	for _, test := range []struct {
		name  string
		roads trip.Roads
		why   string
	}{
		{"fails", failing.Roads, "closed for winter"},
		{"another road", elsewhere, "the router goes past "},
	} {
		t.Run(test.name, func(t *testing.T) {
			plan, err := drive.PlanAsking(context.Background(), nil, goal, test.roads, trip.AskOptions{}, few)
			if err != nil {
				t.Fatal(err)
			}
			samePlan(t, plan, before)
			asked := plan.Drive.Corridor.Asked
			if asked.Unanswered == 0 || !strings.Contains(asked.Why.Error(), test.why) {
				t.Errorf("%+v", asked)
			}
			if text := plan.Assumptions(question.Metric)[3]; !strings.Contains(text, "your router gave 0 of ") || !strings.Contains(text, "it had no answer") {
				t.Error(text)
			}
			warnings := fmt.Sprint(plan.Warnings(question.Metric))
			if n := strings.Count(warnings, "its detour is an estimate, your router gave no way there and back."); n != len(plan.Stops) {
				t.Errorf("%d warnings for %d stops: %s", n, len(plan.Stops), warnings)
			}
		})
	}
}

// What the router says can make a trip impossible, and possible.
func TestDetoursDecideWhetherThereIsAPlan(t *testing.T) {
	drive, goal, _ := onUpland(t)
	allFar := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) { return at40(300e3), at40(300e3), nil })
	_, err := drive.PlanAsking(context.Background(), nil, goal, allFar.Roads, trip.AskOptions{Questions: 1000}, few)
	var why *trip.NoPlan
	if !errors.As(err, &why) {
		t.Errorf("every station is 300 km away: %v", err)
	}
	allFar.asked(t)

	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct, ask.DetourFactor = 5, 45, 10
	ask.HalfWidthKM = 35
	sites := stations.Sites{}
	for _, p := range drive.Corridor.Passes {
		site := *p.Site
		site.Lat += 0.27 // 30 km
		beside := trip.NewCorridor(drive.Corridor.Route, stations.NewIndex(stations.Sites{site}), trip.CorridorOptions{HalfWidthM: 35e3}).Passes
		if len(beside) == 1 && beside[0].OffsetM > 24e3 { // 240 km by the factor
			sites = append(sites, site)
		}
	}
	far, goal, err := trip.Prepare(drive.Corridor.Route, stations.NewIndex(sites), drive.Car, ask)
	if err != nil {
		t.Fatal(err)
	}
	if feasible(far, goal) {
		t.Fatal("a trip with stations 240 km away is possible by estimates")
	}
	nearer := newWorld(far, func(p *trip.Pass) (in, out trip.Way, err error) { return at40(32e3), at40(32e3), nil })
	plan, err := far.PlanAsking(context.Background(), nil, goal, nearer.Roads, trip.AskOptions{}, few)
	if err != nil {
		t.Fatal(err)
	}
	replayed(t, plan)
	nearer.asked(t)

	stay, err := trip.ParseStay("10h level2:20")
	if err != nil {
		t.Fatal(err)
	}
	nearer = newWorld(far, func(p *trip.Pass) (in, out trip.Way, err error) { return at40(32e3), at40(32e3), nil })
	twice := trip.Journey{Drives: []*trip.Drive{far, far}, Stays: []trip.Stay{stay}, Goal: goal}
	both, err := twice.PlanWith(context.Background(), nil, trip.PlanOptions{Roads: nearer.Roads})
	if err != nil {
		t.Fatal(err)
	}
	replayed(t, both.Plans[0])
	replayed(t, both.Plans[1])
	nearer.asked(t)
}

// A wanted time of arrival and temperatures by the hour go with asking: the
// stops are asked for, and every reserve holds at the answers.
func TestAskingByTheClock(t *testing.T) {
	ask := byEstimate()
	ask.LeaveWithPct = 60
	for _, more := range []func(){
		func() { ask.ArriveBy = "2026-12-24T18:00:00Z" },
		func() { ask.TempByHour = "06:00=-8,14:00=6,22:00=-6" },
		func() { ask.ArriveBy, ask.Depart = "", "2026-12-24T08:00:00Z" },
	} {
		more()
		drive, goal := prepare(t, "upland", ask)
		w := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) { return at40(4e3), at40(1e3), nil })
		plan, err := drive.PlanAsking(context.Background(), nil, goal, w.Roads, trip.AskOptions{}, few)
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Stops) == 0 {
			t.Error("no stop")
		}
		for i := range plan.Stops {
			if c := plan.Stops[i].Charger; !c.Asked || math.Abs(c.In.DistanceM-4e3) > 1e-6 || math.Abs(c.Out.DistanceM-1e3) > 1e-6 {
				t.Errorf("stop %d: %.1f m there, %.1f m back", i+1, c.In.DistanceM, c.Out.DistanceM)
			}
		}
		if n := w.asked(t); n > 60 {
			t.Errorf("%d questions", n)
		}
		replayed(t, plan)
		if at, ok := plan.At(plan.TimeS); !plan.Goal.ArriveBy.IsZero() && (!ok || at.After(plan.Goal.ArriveBy.Add(time.Second))) {
			t.Errorf("there at %s", at)
		}
	}
}

// Stations at one exit share the way past them, in one round of questions and
// from one round to the next, and a plan that was asked for still says why
// another cannot be made.
func TestNeighboursShareQuestions(t *testing.T) {
	upland, _, before := onUpland(t)
	first := before.Stops[0].Charger.Site
	var sites stations.Sites
	for i := range 4 {
		site := *first
		site.ID, site.Name = fmt.Sprint("exit-", i), fmt.Sprint("at the exit ", i)
		site.Lat += 1e-4 * float64(i)
		sites = append(sites, site)
	}
	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct = 5, 60
	drive, goal, err := trip.Prepare(upland.Corridor.Route, stations.NewIndex(sites), upland.Car, ask)
	if err != nil {
		t.Fatal(err)
	}
	far := 2e3
	w := newWorld(drive, func(p *trip.Pass) (in, out trip.Way, err error) {
		far -= 10 // each that is asked for later is nearer, but farther than it was estimated
		return at40(far), at40(far), nil
	})
	rounds := 0
	roads := func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		rounds++
		return w.Roads(ctx, questions)
	}
	plan, err := drive.PlanAsking(context.Background(), nil, goal, roads, trip.AskOptions{}, few)
	if err != nil {
		t.Fatal(err)
	}
	if n := w.asked(t); n != 2*len(sites)+1 || rounds < 2 {
		t.Errorf("%d questions in %d rounds for %d stations at one exit", n, rounds, len(sites))
	}
	both := newWorld(drive, asEstimated)
	must := goal
	must.Must = []string{"exit-0", "exit-1"}
	if _, err := drive.PlanAsking(context.Background(), nil, must, both.Roads, trip.AskOptions{}, few); err != nil {
		t.Fatal(err)
	}
	if n := both.asked(t); n < 5 || n%2 == 0 {
		t.Errorf("%d questions, want two a station and one past them", n)
	}
	g := plan.Goal
	g.DepartSoC = g.ReserveSoC + 0.01
	var why *trip.NoPlan
	if _, err := plan.Drive.Plan(nil, g); !errors.As(err, &why) || why.To == "" {
		t.Errorf("no reason: %v", err)
	}
}

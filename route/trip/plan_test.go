package trip_test

import (
	"errors"
	"math"
	"testing"

	"ampleway/data/cars"
	"ampleway/route"
	"ampleway/route/stops"
	"ampleway/route/trip"

	"pgregory.net/rapid"
)

// Whatever the car, the day and the goal: a plan keeps its reserves when it is
// driven again in steps of 100 m with charging in steps of a second, by
// arithmetic that shares only the profile and the power curve with the plan.
func TestPlansHold(t *testing.T) {
	index := demoStations(t)
	corridors := []string{"pass", "upland", "north"}
	found := map[string]int{}
	routes := map[string]*route.Route{}
	for _, name := range corridors {
		routes[name] = demoRoute(t, name)
	}
	rapid.Check(t, func(rt *rapid.T) {
		r := routes[rapid.SampledFrom(corridors).Draw(rt, "corridor")]
		if rapid.Bool().Draw(rt, "reverse") {
			r = r.Reverse()
		}
		ask := byEstimate()
		ask.TempC = rapid.Float64Range(-20, 40).Draw(rt, "temp")
		ask.WindKMH = rapid.Float64Range(0, 60).Draw(rt, "wind")
		ask.WindFromDeg = new(rapid.Float64Range(0, 360).Draw(rt, "from"))
		ask.LeaveWithPct = rapid.Float64Range(40, 100).Draw(rt, "leave with")
		ask.ReservePct = percent(rapid.Float64Range(0, 25).Draw(rt, "reserve"))
		ask.ArriveWithPct = percent(rapid.Float64Range(0, 60).Draw(rt, "arrive with"))
		ask.Best = rapid.SampledFrom([]string{"time", "cost", "balance", "fewest-stops"}).Draw(rt, "best")
		ask.HourWorth, ask.UnknownPricePerKWh = 20, new(0.5)
		c := car(t, rapid.SampledFrom(cars.Names()).Draw(rt, "car"))
		drive, goal, err := trip.Prepare(r, index, c, ask)
		if err != nil {
			rt.Fatal(err)
		}
		plan, err := drive.Plan(nil, goal)
		holds(rt, plan, err, found)
	})
	if found["plan"] == 0 || found["no plan"] == 0 && !testing.Short() { // -short draws a fifth
		t.Errorf("the draw is one-sided: %v", found)
	}
}

// replay drives a plan in small steps.
func replay(t interface {
	Errorf(string, ...any)
}, p *trip.Plan) {
	d := p.Drive
	capacity := d.Profile.CapacityKWh()
	kWh, timeS, atM := p.Goal.DepartSoC*capacity, 0.0, 0.0
	floor := math.Min(p.Goal.ReserveSoC, p.Goal.ArriveReserveSoC) * capacity
	drive := func(toM float64) {
		for atM < toM {
			next := math.Min(atM+100, toM)
			kWh = math.Min(kWh-(d.Profile.EnergyKWh(next)-d.Profile.EnergyKWh(atM)), capacity)
			timeS += d.Profile.TimeS(next) - d.Profile.TimeS(atM)
			atM = next
			if kWh < floor-1e-6 {
				t.Errorf("at %.1f km the battery has %.4f kWh, under the reserve of %.4f", atM/1000, kWh, floor)
			}
		}
	}
	for i := range p.Stops {
		s := &p.Stops[i]
		c := s.Charger
		drive(c.ChainageM)
		kWh -= c.In.CostKWh
		timeS += c.OneWayS
		if kWh < p.Goal.ReserveSoC*capacity-1e-6 {
			t.Errorf("stop %d is reached with %.4f kWh, under the reserve", i+1, kWh)
		}
		timeS += s.OverheadS + s.WaitS
		const stepS = 1.0
		for target := s.LeaveSoC * capacity; kWh < target-1e-9; {
			mid := c.Charge.PowerKW(kWh/capacity + c.Charge.PowerKW(kWh/capacity)*stepS/2/3600/capacity)
			gain := math.Min(mid*stepS/3600, target-kWh)
			kWh += gain
			timeS += gain / mid * 3600
		}
		kWh -= c.Out.CostKWh
		timeS += c.OneWayS
	}
	drive(d.Profile.LengthM())
	if kWh < p.Goal.ArriveReserveSoC*capacity-1e-6 {
		t.Errorf("the destination is reached with %.4f kWh, under its reserve", kWh)
	}
	if math.Abs(kWh/capacity-p.ArriveSoC) > 1e-6 {
		t.Errorf("replayed arrival with %.5f, planned %.5f", kWh/capacity, p.ArriveSoC)
	}
	if math.Abs(timeS-p.TimeS) > 2 {
		t.Errorf("replayed time %.1f s, planned %.1f s", timeS, p.TimeS)
	}
}

// closes checks that the energy of a plan adds up.
func closes(t interface {
	Errorf(string, ...any)
}, p *trip.Plan) {
	capacity := p.Drive.Profile.CapacityKWh()
	left := p.Goal.DepartSoC*capacity + p.ChargedKWh - p.DrivenKWh - p.ArriveSoC*capacity
	if math.Abs(left) > 0.01 {
		t.Errorf("departure + charged − driven − arrival = %.5f kWh", left)
	}
	for i, l := range p.Legs {
		if l.LeastSoC > l.ArriveSoC+1e-9 || l.LeastSoC > l.DepartSoC+1e-9 {
			t.Errorf("leg %d: least %.5f is above arrival %.5f or departure %.5f", i+1, l.LeastSoC, l.ArriveSoC, l.DepartSoC)
		}
	}
}

// A plan stops no more often than the fewest with which any search finds a
// way, and takes no longer than any choice of stops on a grid of SoC: the
// search here knows nothing of candidates or labels.
func TestNoBetterPlanOnAGrid(t *testing.T) {
	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct, ask.LeastPowerKW = 5, 85, 140
	drive, goal := prepare(t, "upland", ask)
	for _, reserve := range []float64{0.05, 0.12, 0.2} {
		goal.ReserveSoC, goal.ArriveReserveSoC = reserve, reserve+0.05
		best := gridSearch(drive, goal)
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			t.Errorf("reserve %g: %v, the grid finds %v s", reserve, err, best)
			continue
		}
		if plan.TimeS > best+0.5 {
			t.Errorf("reserve %g: the plan takes %.1f s, the grid finds %.1f s", reserve, plan.TimeS, best)
		}
		if best > plan.TimeS+120 {
			t.Errorf("reserve %g: the grid's best, %.1f s, is too far above the plan's %.1f s to mean anything", reserve, best, plan.TimeS)
		}
	}
}

// gridSearch is a dynamic program over chargers and whole half percents,
// rounding arrivals down.
func gridSearch(d *trip.Drive, g trip.Goal) float64 {
	const cells = 200
	capacity := d.Profile.CapacityKWh()
	n := len(d.Chargers)
	best := make([][]float64, n)
	for j := range best {
		best[j] = make([]float64, cells+1)
		for k := range best[j] {
			best[j][k] = math.Inf(1)
		}
	}
	end := math.Inf(1)
	floor := math.Min(g.ReserveSoC, g.ArriveReserveSoC) * capacity
	reach := func(fromM, kWh, t float64, first int) {
		for j := first; j <= n; j++ {
			toM, reserve, inS, inKWh := d.Profile.LengthM(), g.ArriveReserveSoC, 0.0, 0.0
			if j < n {
				c := &d.Chargers[j]
				toM, reserve, inS, inKWh = c.ChainageM, g.ReserveSoC, c.In.TimeS, c.In.CostKWh
			}
			leg := d.Profile.Leg(fromM, toM)
			arrive := math.Min(kWh-leg.CostKWh, leg.CapKWh) - inKWh
			if kWh-leg.NeedKWh < floor || arrive < reserve*capacity || arrive < floor {
				continue
			}
			at := t + leg.TimeS + inS
			if j == n {
				end = math.Min(end, at)
				continue
			}
			cell := int(arrive / capacity * cells)
			best[j][cell] = math.Min(best[j][cell], at)
		}
	}
	reach(0, g.DepartSoC*capacity, 0, 0)
	for i := range d.Chargers {
		c := &d.Chargers[i]
		for a, t := range best[i] {
			if math.IsInf(t, 1) {
				continue
			}
			for x := a; x <= cells; x++ {
				soc := float64(x) / cells
				dwell := trip.DefaultOverheadS + c.Charge.TimeS(float64(a)/cells, soc)
				reach(c.ChainageM, soc*capacity-c.Out.CostKWh, t+dwell+c.Out.TimeS, i+1)
			}
		}
	}
	return end
}

// Common practice, no source: a car of about 350 km of range on a trip of
// about 450 km needs one stop of about half an hour and, charged to a high
// state, arrives with about 150 km left.
func TestHalfHourStop(t *testing.T) {
	ask := byEstimate()
	ask.LeaveWithPct, ask.ReservePct, ask.ArriveWithPct = 100, 10, 10
	ask.TempC, ask.WindKMH, ask.WindFromDeg, ask.PayloadKg = 2, 50, new(150.0), 160
	full, _ := prepare(t, "pass", ask)
	perKM := 1000 * full.Profile.EnergyKWh(full.Profile.LengthM()) / full.Profile.LengthM()
	rangeKM := full.Profile.CapacityKWh() / perKM
	if rangeKM < 330 || rangeKM > 380 {
		t.Fatalf("the mid-size car goes %.0f km on this road; the check is about a car of about 350 km", rangeKM)
	}
	part, ok := demoRoute(t, "pass").Part(0, 450e3)
	if !ok {
		t.Fatal("no 450 km of road")
	}
	drive, goal, err := trip.Prepare(part, demoStations(t), car(t, "mid-size-sedan"), ask)
	if err != nil {
		t.Fatal(err)
	}
	goal.ArriveReserveSoC, goal.Objective.Goal = 150/rangeKM, stops.FewestStops
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Stops) != 1 {
		t.Fatalf("%d stops, want one", len(plan.Stops))
	}
	stop := plan.Stops[0]
	t.Logf("range %.0f km; one stop at km %.0f from %.0f %% to %.0f %% in %.0f min, arriving with %.0f km", rangeKM, stop.Charger.ChainageM/1000, 100*stop.ArriveSoC, 100*stop.LeaveSoC, stop.DwellS/60, plan.ArriveSoC*rangeKM)
	if stop.DwellS < 20*60 || stop.DwellS > 45*60 {
		t.Errorf("the stop takes %.0f min, want about half an hour", stop.DwellS/60)
	}
	if left := plan.ArriveSoC * rangeKM; left < 140 {
		t.Errorf("arrives with %.0f km left, want about 150", left)
	}
}

// Common practice, no source: more than half of a 10-80 % charge lands in the
// first half hour.
func TestHalfOfTheEnergyInHalfAnHour(t *testing.T) {
	drive, _ := prepare(t, "pass", byEstimate())
	checked := 0
	for i := range drive.Chargers {
		c := &drive.Chargers[i]
		if c.Offer.PowerKW < 100 {
			continue
		}
		checked++
		share := (c.Charge.SoCAfter(0.1, 1800) - 0.1) / 0.7
		if share <= 0.5 {
			t.Errorf("%s: %.0f %% of 10-80 %% lands in half an hour", trip.SiteName(c.Site), 100*share)
		}
	}
	if checked == 0 {
		t.Fatal("no charger of 100 kW or more on the corridor")
	}
}

// holds replays a plan that was drawn, and counts whether there was one.
func holds(rt *rapid.T, plan *trip.Plan, err error, found map[string]int) bool {
	if errors.Is(err, stops.ErrNoPlan) {
		found["no plan"]++
		return false
	}
	if err != nil {
		rt.Fatal(err)
	}
	found["plan"]++
	replay(rt, plan)
	closes(rt, plan)
	return true
}

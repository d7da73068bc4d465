package trip

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"ampleway/energy"
	"ampleway/route/stops"
	"ampleway/stations"
	"ampleway/testdata"
)

// randomVisit is a random trip, a stay, and the same road back.
func randomVisit(t *testing.T, fleet []*energy.Car, seed uint64) *Journey {
	t.Helper()
	drive, goal := randomTrip(t, fleet, seed)
	var sites stations.Sites
	for _, pass := range drive.Corridor.Passes {
		sites = append(sites, *pass.Site)
	}
	corridor := NewCorridor(drive.Corridor.Route.Reverse(), stations.NewIndex(sites), CorridorOptions{})
	cond := drive.Conditions
	cond.RegenShare = 0
	back, err := NewDrive(corridor, drive.Car, cond, DriveOptions{})
	if err != nil {
		t.Fatal(err)
	}
	stay, err := ParseStay([]string{"3h none", "8h level1", "4h level2:40"}[seed%3])
	if err != nil {
		t.Fatal(err)
	}
	return &Journey{Drives: []*Drive{drive, back}, Stays: []Stay{stay}, Goal: goal}
}

// Over random visits: how often simulated ones fall below a reserve on any of
// their drives, against what was promised; and by steps of 500 m, which share
// nothing with the package's simulation.
func TestVisitConfidenceHolds(t *testing.T) {
	testdata.Sequential(t)
	visits, trips := howMany(8, 300), howMany(300, 400)
	fleet := builtInCars(t)
	for _, level := range []float64{0, 0.80, 0.95} {
		below, empty, slow, slowTrips, possible, extraS := 0.0, 0.0, 0.0, 0.0, 0, 0.0
		for seed := uint64(1); possible < visits; seed++ {
			visit := randomVisit(t, fleet, seed)
			plain, err := visit.Plan(nil)
			if err != nil {
				continue
			}
			visit.Goal.Confidence = level
			p, err := visit.Plan(nil)
			if errors.Is(err, stops.ErrNoPlan) {
				continue
			}
			if err != nil {
				t.Fatalf("corridor %d: %v", seed, err)
			}
			possible++
			if err := p.Assure(nil, AssureOptions{Trips: trips, Seed: seed}); err != nil {
				t.Fatal(err)
			}
			below += p.Risk.BelowReserve.Value
			empty += p.Risk.Empty.Value
			rng := rand.New(rand.NewPCG(seed, 21))
			for range 40 {
				slowTrips++
				if visitInSteps(p, rng) {
					slow++
				}
			}
			for i, plan := range p.Plans {
				extraS += plan.TimeS - plain.Plans[i].TimeS
				if plan.Headroom < plan.Goal.Excess-1e-6 {
					t.Errorf("corridor %d, drive %d: a headroom of %.4f, planned for %.4f", seed, i+1, plan.Headroom, plan.Goal.Excess)
				}
				if len(plan.Fallbacks) != len(plan.Stops) || len(plan.Rules) != len(plan.Stops) {
					t.Errorf("corridor %d, drive %d: %d stops, %d fallbacks, %d rules", seed, i+1, len(plan.Stops), len(plan.Fallbacks), len(plan.Rules))
				}
			}
		}
		n := float64(possible)
		t.Logf("confidence %.0f %%: %d visits, below a reserve %.2f %% (in steps %.2f %%), empty %.3f %%, %.1f min more", 100*level, possible, 100*below/n, 100*slow/slowTrips, 100*empty/n, extraS/60/n)
		if level == 0 {
			if below/n < 0.2 {
				t.Error("visits planned by the estimate hardly ever break a reserve: nothing is shown")
			}
			continue
		}
		if share, margin := below/n, math.Sqrt(level*(1-level)/(n*float64(trips))); share > 1-level+margin {
			t.Errorf("confidence %g: %.4f of the visits fall below a reserve", level, share)
		}
		if share, margin := slow/slowTrips, math.Sqrt(level*(1-level)/slowTrips); share > 1-level+3*margin {
			t.Errorf("confidence %g: %.4f of the visits driven in steps fall below a reserve", level, share)
		}
	}
}

// visitInSteps drives a visit in steps of 500 m and reports whether a reserve
// broke.
func visitInSteps(p *JourneyPlan, rng *rand.Rand) (below bool) {
	soc := p.Plans[0].Goal.DepartSoC
	for i, plan := range p.Plans {
		d, g := plan.Drive, &plan.Goal
		capacity, spread, shared := d.Profile.CapacityKWh(), NewSpread(d.Car.PlanSpread()), rng.NormFloat64()
		kWh, atM := soc*capacity, 0.0
		var from *Charger
		for k := 0; k <= len(plan.Stops); k++ {
			factor := spread.Factor(shared, rng.NormFloat64())
			toM, reserve := d.Profile.LengthM(), g.ArriveReserveSoC
			if k < len(plan.Stops) {
				toM, reserve = plan.Stops[k].Charger.ChainageM, g.ReserveSoC
			}
			if from != nil {
				kWh -= factor * from.Out.CostKWh
			}
			for atM < toM {
				endM := math.Min(atM+500, toM)
				used := d.Profile.EnergyKWh(endM) - d.Profile.EnergyKWh(atM)
				if used > 0 {
					used *= factor
				}
				kWh = math.Min(kWh-used, capacity)
				below = below || kWh < g.floorSoC()*capacity-1e-4
				atM = endM
			}
			if k < len(plan.Stops) {
				from = plan.Stops[k].Charger
				kWh -= factor * from.In.CostKWh
			}
			below = below || kWh < reserve*capacity-1e-4
			if k < len(plan.Stops) {
				kWh = math.Max(kWh, plan.Stops[k].LeaveSoC*capacity)
			}
		}
		if i < len(p.Stays) {
			soc = kWh / capacity
			if plug := p.Stays[i].Plug; plug.AC {
				charge, err := d.Car.AC.On(plug.Circuit)
				if err != nil {
					panic(err)
				}
				soc = math.Min(soc+charge.BatteryKW*p.Stays[i].TimeS/3600/capacity, 1)
			}
		}
	}
	return below
}

// Without a spread a visit at a confidence is the visit by the estimate.
func TestVisitWithoutSpread(t *testing.T) {
	testdata.Sequential(t)
	fleet := builtInCars(t)
	compared := 0
	for seed := uint64(1); seed <= uint64(howMany(8, 100)); seed++ {
		visit := randomVisit(t, fleet, seed)
		for _, d := range visit.Drives {
			car := *d.Car
			car.Spread = energy.Spread{}
			d.Car = &car
		}
		plain, plainErr := visit.Plan(nil)
		visit.Goal.Confidence = 0.95
		sure, sureErr := visit.Plan(nil)
		if (plainErr == nil) != (sureErr == nil) {
			t.Fatalf("corridor %d: %v and %v", seed, plainErr, sureErr)
		}
		if plainErr != nil {
			continue
		}
		compared++
		for i := range plain.Plans {
			if !reflect.DeepEqual(plain.Plans[i].Exact, sure.Plans[i].Exact) {
				t.Errorf("corridor %d, drive %d: another plan", seed, i+1)
			}
		}
	}
	if compared < 3 {
		t.Errorf("only %d visits", compared)
	}
}

// Whoever falls back on a drive that others follow still begins the next as
// planned: no fallback is quicker than the rest of the road planned on its own,
// from where the fallback leads to ending with what the plan ends with.
func TestVisitFallbacksKeepWhatFollows(t *testing.T) {
	testdata.Sequential(t)
	const slackS = 60 // half a percent at the start, the road to the stall besides
	fleet := builtInCars(t)
	checked, straight := 0, 0
	for seed := uint64(1); seed <= uint64(howMany(40, 600)); seed++ {
		visit := randomVisit(t, fleet, seed)
		p, err := visit.Plan(nil)
		if err != nil {
			continue
		}
		if err := p.Assure(nil, AssureOptions{Trips: 1}); err != nil {
			t.Fatal(err)
		}
		out := p.Plans[0]
		for i := range out.Fallbacks {
			f := &out.Fallbacks[i]
			switch {
			case f.None || f.Anew:
				continue
			case f.To == nil:
				straight++
				if f.ArriveSoC < out.ArriveSoC-1e-6 {
					t.Errorf("corridor %d, stop %d: straight on with %.4f, planned %.4f", seed, i+1, f.ArriveSoC, out.ArriveSoC)
				}
				continue
			}
			checked++
			s := &out.Stops[i]
			gotS := out.TimeS + f.LateS - s.ArriveS - s.OverheadS - f.DriveS
			if wantS := restS(t, out, f, s.Charger.Site); gotS < wantS-f.To.In.TimeS-slackS {
				t.Errorf("corridor %d, stop %d: from %s on in %.0f s, planned on its own %.0f s", seed, i+1, f.ToName, gotS, wantS)
			}
		}
	}
	t.Logf("%d fallbacks to a station, %d straight on", checked, straight)
	if checked < 20 {
		t.Errorf("only %d fallbacks", checked)
	}
}

// restS plans the road from where a fallback leads, without the site that
// failed, to end as the plan does.
func restS(t *testing.T, p *Plan, f *Fallback, failed *stations.Site) float64 {
	t.Helper()
	const slackSoC = 0.005 // the way to the stall and out again
	d := p.Drive
	part, ok := d.Corridor.Route.Part(math.Max(f.To.ChainageM-1, 0), d.Profile.LengthM())
	if !ok {
		t.Fatal("no road is left")
	}
	var sites stations.Sites
	for _, pass := range d.Corridor.Passes {
		if pass.Site != failed {
			sites = append(sites, *pass.Site)
		}
	}
	o := d.Options
	o.PackTempC, o.PackTempKnown = f.To.PackTempC, true
	rest, err := NewDrive(NewCorridor(part, stations.NewIndex(sites), d.Corridor.Options), d.Car, d.Conditions, o)
	if err != nil {
		t.Fatal(err)
	}
	g := p.Goal
	g.part = nil
	g.DepartSoC = math.Min(f.ArriveSoC+slackSoC, 1)
	g.ReserveSoC, g.ArriveReserveSoC = math.Max(math.Min(g.ReserveSoC, f.ArriveSoC-slackSoC), 0), p.ArriveSoC-slackSoC
	plan, err := rest.Plan(nil, g)
	if err != nil {
		t.Fatalf("from %s with %.4f: %v", f.ToName, f.ArriveSoC, err)
	}
	return plan.TimeS
}

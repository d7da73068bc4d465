package trip

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"ampleway/energy"
	"ampleway/route/stops"
	"ampleway/testdata"
)

// Over random corridors, with each confidence: how often simulated trips fall
// below a reserve, and what the confidence costs. The share must not exceed
// what was promised by more than its standard error, neither by the package's
// own simulation nor by one that drives in steps of 500 m.
func TestConfidenceHolds(t *testing.T) {
	testdata.Sequential(t)
	corridors, trips := howMany(30, 2000), howMany(1600, 1600)
	fleet := builtInCars(t)
	levels := []float64{0, 0.80, 0.90, 0.95, 0.99}
	type sums struct {
		below, empty, slow, slowTrips, worst float64
		extraS                               []float64
		stops                                float64
	}
	all := make([]sums, len(levels))
	possible, tried := 0, 0
	for seed := uint64(1); possible < corridors; seed++ {
		tried++
		drive, goal := randomTrip(t, fleet, seed)
		plans := planAt(t, drive, goal, levels)
		if plans == nil {
			continue
		}
		possible++
		for i, p := range plans {
			sweep, err := new(stops.Planner).Sweep(drive.untimed(p.Goal, nil))
			if err != nil {
				t.Fatal(err)
			}
			risk, err := p.alone().simulate([]*stops.Sweep{sweep}, AssureOptions{Trips: trips, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			s := &all[i]
			s.below += risk.BelowReserve.Value
			s.empty += risk.Empty.Value
			s.worst = math.Max(s.worst, risk.BelowReserve.Value)
			s.extraS = append(s.extraS, p.TimeS-plans[0].TimeS)
			s.stops += float64(len(p.Stops) - len(plans[0].Stops))
			if possible%10 == 0 {
				rng := rand.New(rand.NewPCG(seed, 99))
				for range 50 {
					s.slowTrips++
					if slowTrip(p, sweep, rng) {
						s.slow++
					}
				}
			}
			if p.Goal.Excess > 0 && p.Headroom < p.Goal.Excess-1e-6 {
				t.Errorf("corridor %d, confidence %g: a headroom of %.4f, planned for %.4f", seed, levels[i], p.Headroom, p.Goal.Excess)
			}
		}
	}
	t.Logf("%d corridors (%d drawn, the others impossible at 99 %%), %d trips each", possible, tried, trips)
	t.Logf("%10s %14s %12s %8s %12s | %9s %9s %9s %6s", "confidence", "below reserve", "in 500 m", "empty", "worst", "mean min", "median", "95 %", "stops")
	for i, level := range levels {
		s := &all[i]
		n := float64(possible)
		share, slow := s.below/n, s.slow/s.slowTrips
		slices.Sort(s.extraS)
		mean := 0.0
		for _, x := range s.extraS {
			mean += x / 60 / n
		}
		t.Logf("%9.0f%% %13.2f%% %11.2f%% %7.3f%% %11.1f%% | %9.1f %9.1f %9.1f %+6.2f", 100*level, 100*share, 100*slow, 100*s.empty/n, 100*s.worst,
			mean, s.extraS[possible/2]/60, quantile(s.extraS, 0.95)/60, s.stops/n)
		if level == 0 {
			continue
		}
		promised := 1 - level
		standardError := math.Sqrt(promised * level / (n * float64(trips)))
		if share > promised+standardError {
			t.Errorf("confidence %g: %.4f of the trips fall below the reserve", level, share)
		}
		if slowError := math.Sqrt(promised * level / s.slowTrips); slow > promised+3*slowError {
			t.Errorf("confidence %g: %.4f of the trips driven in steps fall below the reserve", level, slow)
		}
	}
	if all[0].below/float64(possible) < 0.2 {
		t.Error("trips planned by the estimate alone hardly ever fall below the reserve: the simulation shows nothing")
	}
}

// planAt plans with each confidence, nil where one of them is impossible.
func planAt(t *testing.T, d *Drive, g Goal, levels []float64) []*Plan {
	t.Helper()
	var out []*Plan
	for _, level := range levels {
		g.Confidence = level
		p, err := d.Plan(nil, g)
		if errors.Is(err, stops.ErrNoPlan) {
			return nil
		}
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}

// slowTrip drives in steps of 500 m and reports whether a reserve broke. What
// is drawn in a step is multiplied by the factor, what comes back is not.
func slowTrip(p *Plan, sweep *stops.Sweep, rng *rand.Rand) bool {
	d, g := p.Drive, &p.Goal
	capacity, spread := d.Profile.CapacityKWh(), NewSpread(d.Car.PlanSpread())
	kWh, atM, below := g.DepartSoC*capacity, 0.0, false
	shared := rng.NormFloat64()
	next := stops.Destination
	if len(p.Exact.Stops) > 0 {
		next = p.Exact.Stops[0].Charger
	}
	var from *Charger
	for {
		factor := spread.Factor(shared, rng.NormFloat64())
		if from != nil {
			kWh -= factor * from.Out.CostKWh
		}
		toM, reserve := d.Profile.LengthM(), g.ArriveReserveSoC
		if next >= 0 {
			toM, reserve = d.Chargers[next].ChainageM, g.ReserveSoC
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
		if next >= 0 {
			kWh -= factor * d.Chargers[next].In.CostKWh
		}
		below = below || kWh < reserve*capacity-1e-4
		if next < 0 {
			return below
		}
		decision, ok := sweep.Decide(next, math.Max(kWh/capacity, 0))
		if !ok {
			return true
		}
		kWh, from, next = decision.LeaveSoC*capacity, &d.Chargers[next], decision.Next
	}
}

// Without a spread every confidence gives the plan that the estimate gives.
func TestNoSpreadIsThePlainPlan(t *testing.T) {
	fleet := builtInCars(t)
	compared := 0
	for seed := uint64(1); seed <= uint64(howMany(20, 300)); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		car := *drive.Car
		car.Spread = energy.Spread{}
		still, err := NewDrive(drive.Corridor, &car, drive.Conditions, drive.Options)
		if err != nil {
			t.Fatal(err)
		}
		plain, plainErr := still.Plan(nil, goal)
		goal.Confidence = 0.95
		sure, sureErr := still.Plan(nil, goal)
		if (plainErr == nil) != (sureErr == nil) {
			t.Fatalf("corridor %d: %v and %v", seed, plainErr, sureErr)
		}
		if plainErr != nil {
			continue
		}
		compared++
		if !reflect.DeepEqual(plain.Exact, sure.Exact) {
			t.Errorf("corridor %d: %+v and %+v", seed, plain.Exact, sure.Exact)
		}
	}
	if compared < 5 {
		t.Errorf("only %d corridors could be compared", compared)
	}
}

// The quantile against draws: the largest of so many factors stays below it as
// often as it promises.
func TestExcessAgainstDraws(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	const draws = 40000
	for _, s := range []energy.Spread{{Trip: 0.08, Leg: 0.04}, {Trip: 0.2}, {Leg: 0.1}, {Trip: 0.03, Leg: 0.12}} {
		u := NewSpread(s)
		for _, legs := range []int{1, 3, 7} {
			for _, confidence := range []float64{0.8, 0.95, 0.99} {
				h := u.excess(confidence, legs)
				within := 0
				for range draws {
					trip, most := rng.NormFloat64(), 0.0
					for range legs {
						most = math.Max(most, u.Factor(trip, rng.NormFloat64()))
					}
					if most <= 1+h {
						within++
					}
				}
				got, margin := float64(within)/draws, 4*math.Sqrt(confidence*(1-confidence)/draws)
				if math.Abs(got-confidence) > margin {
					t.Errorf("%+v, %d legs: %.4f of the draws stay below 1+%.4f, promised %.2f ± %.4f", s, legs, got, h, confidence, margin)
				}
				if back := u.holding(h, legs); math.Abs(back-confidence) > 1e-6 {
					t.Errorf("%+v, %d legs: 1+%.4f holds with %.6f, not %.2f", s, legs, h, back, confidence)
				}
			}
		}
	}
}

// The factor has mean 1 and the stated standard deviation.
func TestFactorMoments(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	u := NewSpread(energy.Spread{Trip: 0.08, Leg: 0.06})
	const draws = 200000
	sum, squares := 0.0, 0.0
	for range draws {
		f := u.Factor(rng.NormFloat64(), rng.NormFloat64())
		sum += f
		squares += f * f
	}
	mean := sum / draws
	deviation := math.Sqrt(squares/draws - mean*mean)
	want := math.Sqrt((1+0.08*0.08)*(1+0.06*0.06) - 1)
	if math.Abs(mean-1) > 0.001 || math.Abs(deviation-want) > 0.001 {
		t.Errorf("mean %.5f, standard deviation %.5f; want 1 and %.5f", mean, deviation, want)
	}
}

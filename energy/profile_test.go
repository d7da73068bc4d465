package energy_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy"
)

// mountains draws a road with climbs and descents that can fill and empty a
// small battery.
func mountains() *rapid.Generator[[]energy.Step] {
	return rapid.Custom(func(r *rapid.T) []energy.Step {
		n := rapid.IntRange(1, 120).Draw(r, "pieces")
		steps := make([]energy.Step, n)
		elevationM := 500.0
		for i := range steps {
			lengthM := rapid.Float64Range(20, 6000).Draw(r, "lengthM")
			riseM := lengthM * rapid.Float64Range(-0.15, 0.15).Draw(r, "slope")
			steps[i] = energy.Step{
				LengthM: lengthM, SpeedMS: rapid.Float64Range(3, 40).Draw(r, "speedMS"), RiseM: riseM,
				BearingDeg: rapid.Float64Range(0, 360).Draw(r, "bearingDeg"), ElevationM: elevationM + riseM/2,
			}
			elevationM += riseM
		}
		return steps
	})
}

func anyConditions() *rapid.Generator[energy.Conditions] {
	return rapid.Custom(func(r *rapid.T) energy.Conditions {
		return energy.Conditions{
			TempC:          rapid.Float64Range(-25, 40).Draw(r, "tempC"),
			WindSpeedMS:    rapid.Float64Range(0, 15).Draw(r, "windMS"),
			WindFromDeg:    rapid.Float64Range(0, 360).Draw(r, "windFromDeg"),
			PayloadKg:      rapid.Float64Range(0, 600).Draw(r, "payloadKg"),
			Surface:        rapid.SampledFrom([]energy.Surface{"", energy.Dry, energy.Wet, energy.StandingWater, energy.Snow, energy.Slush}).Draw(r, "surface"),
			WinterTyres:    rapid.Bool().Draw(r, "winterTyres"),
			Preconditioned: rapid.Bool().Draw(r, "preconditioned"),
			EveryMovement:  rapid.Bool().Draw(r, "everyMovement"),
			StateOfHealth:  rapid.Float64Range(0.7, 1).Draw(r, "stateOfHealth"),
			UserFactor:     rapid.Float64Range(0.8, 1.3).Draw(r, "userFactor"),
		}
	})
}

// smallBattery makes saturation and running empty common.
func smallBattery(r *rapid.T) *energy.Car {
	car := testCar()
	car.UsableKWh = rapid.Float64Range(1, 25).Draw(r, "usableKWh")
	return car
}

func mustProfile(r rapid.TB, car *energy.Car, c energy.Conditions, steps []energy.Step) *energy.Profile {
	p, err := energy.NewProfile(car, c, steps)
	if err != nil {
		r.Fatalf("profile: %v", err)
	}
	return p
}

// walked is a battery that stops at full, carried over the steps between two
// places one by one.
func walked(p *energy.Profile, steps []energy.Step, from, to, departKWh float64) (arriveKWh, lowestKWh float64) {
	places := []float64{from}
	var chainageM float64
	for _, s := range steps {
		chainageM += s.LengthM
		if chainageM > from && chainageM < to {
			places = append(places, chainageM)
		}
	}
	places = append(places, to)
	stored, lowest := departKWh, departKWh
	for i := 1; i < len(places); i++ {
		stored = min(p.CapacityKWh(), stored-(p.EnergyKWh(places[i])-p.EnergyKWh(places[i-1])))
		lowest = min(lowest, stored)
	}
	return stored, lowest
}

// Walking the road step by step is the definition that need, cost and cap must
// reproduce: from any departure, from a full battery, and from just above and
// just below the need.
func TestLegIsWhatAStepByStepBatteryDoes(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		steps := mountains().Draw(r, "steps")
		p := mustProfile(r, smallBattery(r), anyConditions().Draw(r, "conditions"), steps)
		from := rapid.Float64Range(0, p.LengthM()).Draw(r, "from")
		to := rapid.Float64Range(from, p.LengthM()).Draw(r, "to")
		capacity := p.CapacityKWh()
		leg := p.Leg(from, to)
		if math.Abs(leg.DistanceM-(to-from)) > 1e-6 || math.Abs(leg.TimeS-(p.TimeS(to)-p.TimeS(from))) > 1e-6 {
			r.Fatalf("leg %+v from %v to %v", leg, from, to)
		}
		const tolerance = 1e-9
		departures := []float64{capacity, capacity * rapid.Float64Range(0, 1).Draw(r, "depart"), leg.NeedKWh - 1e-6, leg.NeedKWh + 1e-6}
		for _, depart := range departures {
			if depart < 0 || depart > capacity {
				continue
			}
			stored, lowest := walked(p, steps, from, to, depart)
			arrive, lasts := leg.ArriveKWh(depart)
			if math.Abs(lowest) > tolerance && lasts != (lowest > 0) {
				r.Fatalf("leaving with %v of %v kWh: lowest on the way %v, leg %+v", depart, capacity, lowest, leg)
			}
			if lasts && math.Abs(arrive-stored) > tolerance {
				r.Fatalf("leaving with %v: arrive with %v, step by step %v, leg %+v", depart, arrive, stored, leg)
			}
		}
	})
}

// sameLeg takes two legs as equal where neither can be driven.
func sameLeg(a, b energy.Leg, capacityKWh float64) bool {
	close := func(x, y float64) bool { return math.Abs(x-y) <= 1e-9*(1+math.Abs(x)) }
	needs := close(a.NeedKWh, b.NeedKWh) || a.NeedKWh > capacityKWh-1e-9 && b.NeedKWh > capacityKWh-1e-9
	return needs && close(a.CostKWh, b.CostKWh) && close(a.CapKWh, b.CapKWh) && close(a.TimeS, b.TimeS) && close(a.DistanceM, b.DistanceM)
}

// Composition law: a leg is its parts, wherever it is cut.
func TestLegsCompose(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := mustProfile(r, smallBattery(r), anyConditions().Draw(r, "conditions"), mountains().Draw(r, "steps"))
		place := rapid.Float64Range(0, p.LengthM())
		a := place.Draw(r, "a")
		b := rapid.Float64Range(a, p.LengthM()).Draw(r, "b")
		c := rapid.Float64Range(b, p.LengthM()).Draw(r, "c")
		whole, parts := p.Leg(a, c), p.Leg(a, b).Then(p.Leg(b, c))
		if !sameLeg(whole, parts, p.CapacityKWh()) {
			r.Fatalf("whole %+v\nparts %+v\nof %v kWh", whole, parts, p.CapacityKWh())
		}
		if neutral := (energy.Leg{CapKWh: p.CapacityKWh()}); !sameLeg(neutral.Then(whole), whole, p.CapacityKWh()) || !sameLeg(whole.Then(neutral), whole, p.CapacityKWh()) {
			r.Fatalf("%+v is not neutral to %+v", neutral, whole)
		}
	})
}

func TestThenIsAssociative(t *testing.T) {
	anyLeg := rapid.Custom(func(r *rapid.T) energy.Leg {
		const capacity = 10.0
		cost := rapid.Float64Range(-8, 12).Draw(r, "cost")
		return energy.Leg{
			CostKWh: cost,
			NeedKWh: max(0, cost) + rapid.Float64Range(0, 3).Draw(r, "more need"),
			CapKWh:  min(capacity, capacity-cost) - rapid.Float64Range(0, 3).Draw(r, "less cap"),
		}
	})
	rapid.Check(t, func(r *rapid.T) {
		a, b, c := anyLeg.Draw(r, "a"), anyLeg.Draw(r, "b"), anyLeg.Draw(r, "c")
		left, right := a.Then(b).Then(c), a.Then(b.Then(c))
		if !sameLeg(left, right, 10) {
			r.Fatalf("(ab)c %+v\na(bc) %+v", left, right)
		}
	})
}

// A descent that fills the battery and a climb behind it that takes more than
// the whole battery: nothing above the start is high, yet no car gets there.
func TestClimbBeyondAFullBatteryCannotBeDriven(t *testing.T) {
	car := testCar()
	car.UsableKWh = 5
	steps := []energy.Step{
		{LengthM: 20000, SpeedMS: 20, RiseM: -1500, ElevationM: 1500},
		{LengthM: 20000, SpeedMS: 20, RiseM: 1000, ElevationM: 1000},
	}
	p := mustProfile(t, car, energy.Mild(), steps)
	if down := p.Leg(0, 20000); down.NeedKWh > 0.2 || down.CostKWh > -3 {
		t.Errorf("down: %+v", down)
	}
	if up := p.Leg(20000, 40000); up.NeedKWh <= 5 {
		t.Errorf("up: %+v", up)
	}
	if both := p.Leg(0, 40000); !math.IsInf(both.NeedKWh, 1) {
		t.Errorf("both: %+v, want no departure to do", both)
	}
	if parts := p.Leg(0, 20000).Then(p.Leg(20000, 40000)); !math.IsInf(parts.NeedKWh, 1) {
		t.Errorf("parts: %+v, want no departure to do", parts)
	}
}

func TestProfileRefusesBadSteps(t *testing.T) {
	for name, step := range map[string]energy.Step{
		"no speed":     {LengthM: 100},
		"no length":    {SpeedMS: 10},
		"not a number": {LengthM: 100, SpeedMS: 10, RiseM: math.NaN()},
		"endless":      {LengthM: math.Inf(1), SpeedMS: 10},
	} {
		if _, err := energy.NewProfile(testCar(), energy.Mild(), []energy.Step{step}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := energy.NewProfile(testCar(), energy.Mild(), nil); err == nil {
		t.Error("no steps: no error")
	}
}

// benchmarkRoad is 1,000 km in 20,000 pieces with hills, turns and speeds.
func benchmarkRoad() []energy.Step {
	steps := make([]energy.Step, 20000)
	elevation := func(i int) float64 { return 400 + 300*math.Sin(float64(i)/900) + 20*math.Sin(float64(i)/25) }
	for i := range steps {
		steps[i] = energy.Step{
			LengthM: 50, SpeedMS: 28 + 6*math.Sin(float64(i)/50), RiseM: elevation(i+1) - elevation(i),
			BearingDeg: 90 + 60*math.Sin(float64(i)/200), ElevationM: (elevation(i) + elevation(i+1)) / 2,
		}
	}
	return steps
}

func BenchmarkProfile(b *testing.B) {
	car, steps := testCar(), benchmarkRoad()
	conditions := energy.Conditions{TempC: 5, WindSpeedMS: 6, WindFromDeg: 250}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := energy.NewProfile(car, conditions, steps); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLeg(b *testing.B) {
	p := mustProfile(b, testCar(), energy.Mild(), benchmarkRoad())
	b.ReportAllocs()
	var i float64
	for b.Loop() {
		p.Leg(i, i+250000)
		i = math.Mod(i+97.3, 700000)
	}
}

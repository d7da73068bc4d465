package energy

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// NFPA 70 (NEC) 625.41, 625.42: current at most 80 % of the breaker; power at
// 240 V as tabled there in common practice.
func TestBreakerTable(t *testing.T) {
	for _, c := range []struct{ breakerA, chargingA, kw float64 }{
		{20, 16, 3.84}, {30, 24, 5.76}, {40, 32, 7.68}, {50, 40, 9.6}, {60, 48, 11.52}, {100, 80, 19.2},
	} {
		circuit := Circuit{VoltageV: 240, BreakerA: c.breakerA}
		within(t, "continuous current", ContinuousA(c.breakerA), c.chargingA, 1e-12)
		within(t, "power", circuit.PowerKW(), c.kw, 1e-9)
		if a, ok := BreakerA(c.chargingA); !ok || a != c.breakerA {
			t.Errorf("breaker for %g A: %g A, want %g A", c.chargingA, a, c.breakerA)
		}
	}
	// The ratings of NFPA 70 (NEC) 240.6(A) up to 125 A: each is the least for 80 %
	// of it, and the next one for anything more.
	ratings := []float64{15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125}
	for i, rating := range ratings {
		if a, ok := BreakerA(0.8 * rating); !ok || a != rating {
			t.Errorf("breaker for %g A: %g A, want %g A", 0.8*rating, a, rating)
		}
		a, ok := BreakerA(0.8*rating + 0.01)
		if last := i+1 == len(ratings); ok == last || ok && a != ratings[i+1] {
			t.Errorf("breaker for %g A: %g A, %v", 0.8*rating+0.01, a, ok)
		}
	}
	if a, ok := BreakerA(33); !ok || a != 45 {
		t.Errorf("breaker for 33 A: %g A, want 45 A", a)
	}
	if _, ok := BreakerA(101); ok {
		t.Error("a breaker for 101 A")
	}
}

// IEC 61851-1, duty cycle to current.
func TestControlPilotTable(t *testing.T) {
	for duty, amps := range map[float64]float64{10: 6, 25: 15, 50: 30, 80: 48, 85: 51, 86: 55, 90: 65, 96: 80, 8: 6, 9.9: 6, 97: 80} {
		a, err := PilotA(duty)
		if err != nil {
			t.Errorf("%g %%: %v", duty, err)
		}
		within(t, "current", a, amps, 1e-9)
	}
	for _, duty := range []float64{-1, 0, 2, 5, 7.5, 97.5, 100, math.NaN(), math.Inf(1)} {
		if a, err := PilotA(duty); err == nil {
			t.Errorf("%g %% allows %g A", duty, a)
		}
	}
	if _, err := PilotA(5); !strings.Contains(err.Error(), "digital") {
		t.Errorf("5 %%: %v", err)
	}
}

func TestControlPilotRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64Range(6, 80).Draw(t, "A")
		duty, err := PilotDutyPct(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := PilotA(duty)
		// Between 51 A (85 %) and 52.5 A (85 % on the upper line) the table
		// has no duty of its own: the next line starts 1.5 A higher.
		if err != nil || math.Abs(got-want) > 1e-9 && !(want > 51 && want < 52.5) {
			t.Fatalf("%g A: %g %%, back %g A (%v)", want, duty, got, err)
		}
	})
	for _, a := range []float64{5.9, 80.1, math.NaN()} {
		if duty, err := PilotDutyPct(a); err == nil {
			t.Errorf("%g A has duty %g %%", a, duty)
		}
	}
}

func TestOnBoardCharger(t *testing.T) {
	three := OnBoard{PowerKW: 11, Phases: 3, CurrentA: 16, Efficiency: 0.9}
	one := OnBoard{PowerKW: 11.5, Phases: 1, Efficiency: 0.9}
	for _, c := range []struct {
		name    string
		car     OnBoard
		circuit Circuit
		outlet  float64
		amps    float64
		limit   string
	}{
		{"SAE J1772 level 1, 12 A", one, Circuit{VoltageV: 120, BreakerA: 15}, 1.44, 12, "circuit"},
		{"SAE J1772 level 1, 16 A", one, Circuit{VoltageV: 120, BreakerA: 20}, 1.92, 16, "circuit"},
		{"SAE J1772 level 2, 80 A", OnBoard{PowerKW: 22, Phases: 1, Efficiency: 0.9}, Circuit{VoltageV: 240, BreakerA: 100}, 19.2, 80, "circuit"},
		{"on-board limit", one, Circuit{VoltageV: 240, BreakerA: 100}, 11.5, 11.5 / 0.24, "car"},
		{"three phases", three, Circuit{VoltageV: 230, BreakerA: 20, Phases: 3}, 11, 11 / 0.69, "car"},
		{"three-phase car on one phase", three, Circuit{VoltageV: 230, BreakerA: 40, Phases: 1}, 3.68, 16, "car"},
		{"one-phase car on three phases", one, Circuit{VoltageV: 230, BreakerA: 40, Phases: 3}, 7.36, 32, "circuit"},
		{"cable", one, Circuit{VoltageV: 230, BreakerA: 40, CableA: 20}, 4.6, 20, "circuit"},
		// Type 2 ceiling: 63 A, three phases, 43.5 kW.
		{"Type 2", OnBoard{PowerKW: 50, Phases: 3, Efficiency: 0.9}, Circuit{VoltageV: 230, BreakerA: 80, Phases: 3, CableA: 63}, 43.47, 63, "circuit"},
	} {
		got, err := c.car.On(c.circuit)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		within(t, c.name+": outlet kW", got.OutletKW, c.outlet, 1e-9)
		within(t, c.name+": amps", got.CurrentA, c.amps, 1e-9)
		if got.Limit != c.limit {
			t.Errorf("%s: limited by %s, want %s", c.name, got.Limit, c.limit)
		}
	}
	// VEIC: level 2 is 3 % more efficient than level 1 on average.
	l1, _ := one.On(Circuit{VoltageV: 120, BreakerA: 15})
	l2, _ := one.On(Circuit{VoltageV: 240, BreakerA: 40})
	within(t, "level 2 over level 1", l2.Efficiency/l1.Efficiency, 1.03, 1e-9)
}

// Common practice: a level 1 outlet adds about 6 km of range an hour. At
// 180 Wh/km at the battery.
func TestLevel1RangePerHour(t *testing.T) {
	for name, circuit := range map[string]Circuit{"15 A breaker": {VoltageV: 120, BreakerA: 15}} {
		charge, err := builtInCar(t, "mid-size-sedan").AC.On(circuit)
		if err != nil {
			t.Fatal(err)
		}
		kmPerH := charge.BatteryKW / 0.18
		t.Logf("level 1, %s: %.2f kW at the outlet, %.2f kW into the battery, %.1f km of range an hour", name, charge.OutletKW, charge.BatteryKW, kmPerH)
		within(t, "km an hour", kmPerH, 6, 1.2)
	}
}

func TestCircuitLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		car := OnBoard{
			PowerKW:    rapid.Float64Range(1, 22).Draw(t, "car kW"),
			Phases:     rapid.SampledFrom([]int{0, 1, 2, 3}).Draw(t, "car phases"),
			CurrentA:   rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(6, 80)).Draw(t, "car A"),
			Efficiency: rapid.Float64Range(0.7, 1).Draw(t, "efficiency"),
		}
		circuit := Circuit{
			VoltageV: rapid.Float64Range(100, 277).Draw(t, "V"),
			BreakerA: rapid.Float64Range(10, 125).Draw(t, "breaker A"),
			Phases:   rapid.SampledFrom([]int{0, 1, 3}).Draw(t, "phases"),
		}
		c, err := car.On(circuit)
		if err != nil {
			t.Fatal(err)
		}
		if c.BatteryKW > c.OutletKW || c.CurrentA > 0.8*circuit.BreakerA*(1+1e-12) || c.OutletKW > car.PowerKW*(1+1e-12) || c.OutletKW > circuit.PowerKW()*(1+1e-12) {
			t.Fatalf("%+v on %+v: %+v", car, circuit, c)
		}
		larger := circuit
		larger.BreakerA *= 1.5
		if more, err := car.On(larger); err != nil || more.OutletKW < c.OutletKW {
			t.Fatalf("a larger breaker gives %g kW instead of %g (%v)", more.OutletKW, c.OutletKW, err)
		}
	})
}

func TestCircuitErrors(t *testing.T) {
	car := OnBoard{PowerKW: 7, Phases: 1, Efficiency: 0.9}
	for _, c := range []struct {
		car     OnBoard
		circuit Circuit
		says    string
	}{
		{car, Circuit{}, "VoltageV: found 0"},
		{car, Circuit{VoltageV: 240}, "BreakerA: found 0"},
		{car, Circuit{VoltageV: math.NaN(), BreakerA: 40}, "VoltageV: found NaN"},
		{car, Circuit{VoltageV: 240, BreakerA: 40, Phases: 2}, "Phases: found 2"},
		{car, Circuit{VoltageV: 240, BreakerA: 40, CableA: -1}, "CableA: found -1"},
		{OnBoard{}, Circuit{VoltageV: 240, BreakerA: 40}, "does not charge on AC"},
		{OnBoard{PowerKW: 7}, Circuit{VoltageV: 240, BreakerA: 40}, "efficiency: found 0"},
	} {
		if _, err := c.car.On(c.circuit); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v on %+v: error %v, want %q in it", c.car, c.circuit, err, c.says)
		}
	}
}

// AC is the same interface as DC: a flat curve, below the pack's own taper.
func TestACCurve(t *testing.T) {
	car := &Car{UsableKWh: 60, Taper: points(0, 100, 0.9, 50, 1, 5), AC: OnBoard{PowerKW: 7.2, Phases: 1, Efficiency: 0.9}}
	curve, err := car.ACCurve(Circuit{VoltageV: 240, BreakerA: 50})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "kW at half", curve.PowerKW(0.5), 6.48, 1e-9)
	within(t, "kW when full", curve.PowerKW(1), 5, 1e-9)
	within(t, "20-90 % in hours", mustFunc(t, curve, 60).TimeS(0.2, 0.9)/3600, 42/6.48, 1e-9)
}

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

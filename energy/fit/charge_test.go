package fit_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ampleway/energy/fit"
	"ampleway/energy/taper"
)

// charging is an invented DC charge, second by second: the true curve behind a
// station's limit, with ripple, rounding, a slow start and a pause.
func charging(name string, curve taper.Curve, capacityKWh, fromSoC, toSoC, stationKW float64, rng *rand.Rand) *fit.Log {
	nan := math.NaN()
	l := &fit.Log{Name: name}
	soc := fromSoC
	for s := 0.0; soc < toSoC; s++ {
		kW := min(curve.PowerKW(soc), stationKW)
		switch {
		case s < 40:
			kW *= s / 40
		case s >= 300 && s < 330:
			kW = 0
		}
		soc += kW / 3600 / capacityKWh
		shown := kW * (1 + 0.01*rng.NormFloat64())
		l.Samples = append(l.Samples, fit.Sample{
			TimeS: s, SpeedMS: 0, ElevationM: nan, PowerKW: -math.Round(10*shown) / 10, SoC: math.Round(soc*200) / 200,
			HeatKW: nan, CoolKW: nan, AmbientC: 20, PackTempC: nan,
		})
	}
	return l
}

func TestTaperRecovered(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	real := builtIn(t, "mid-size-sedan")
	given := builtIn(t, "small-hatch")
	logs := []*fit.Log{
		charging("one", real.Taper, real.UsableKWh, 0.08, 0.86, 400, rng),
		charging("two", real.Taper, real.UsableKWh, 0.20, 0.70, 50, rng), // behind a weak station
	}
	r, err := fit.Fit(logs, given, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Taper.Points {
		// A bin is 2 % wide and the gauge shows steps of 0.5 %.
		want := real.Taper.PowerKW(p.SoCPct / 100)
		around := math.Abs(real.Taper.PowerKW(p.SoCPct/100-0.01) - real.Taper.PowerKW(p.SoCPct/100+0.01))
		if math.Abs(p.PowerKW-want) > 0.02*want+around {
			t.Errorf("%.0f %%: %.1f kW, the true curve has %.1f", p.SoCPct, p.PowerKW, want)
		}
		if !(p.LowKW <= p.PowerKW && p.PowerKW <= p.HighKW) {
			t.Errorf("%+v", p)
		}
	}
	if s := r.Taper.Sessions[0]; math.Abs(s.ComputedMin/s.RecordedMin-1) > 0.03 {
		t.Errorf("%+v: the charge does not follow from its own curve", s)
	}
	if s := r.Taper.Sessions[1]; s.ComputedMin > 0.9*s.RecordedMin {
		t.Errorf("%+v: behind a weak station the curve must be faster", s)
	}
	if err := r.Car.Taper.Validate(); err != nil {
		t.Error(err)
	}
	if last := r.Car.Taper[len(r.Car.Taper)-1]; last.SoC != 1 || last.PowerKW >= r.Car.Taper.PowerKW(0.85) {
		t.Errorf("the curve must go on to 100 %%: %+v", r.Car.Taper)
	}
	if given.Taper[0] != builtIn(t, "small-hatch").Taper[0] {
		t.Error("the given car was changed")
	}
}

func TestTaperWarnsOfStation(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	car := builtIn(t, "mid-size-sedan")
	r, err := fit.Fit([]*fit.Log{charging("weak", car.Taper, car.UsableKWh, 0.1, 0.8, 50, rng)}, car, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(r.Warnings, "\n"), "station") {
		t.Errorf("%q", r.Warnings)
	}
}

func TestTaperRefusals(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	car := builtIn(t, "mid-size-sedan")
	blind := charging("blind", car.Taper, car.UsableKWh, 0.1, 0.8, 400, rng)
	for i := range blind.Samples {
		blind.Samples[i].SoC = math.NaN()
	}
	for _, c := range []struct {
		reason string
		log    *fit.Log
	}{
		{"without a state of charge", blind},
		{"from 40 to 5", charging("short", car.Taper, car.UsableKWh, 0.40, 0.50, 400, rng)},
		{"AC charger", charging("slow", car.Taper, car.UsableKWh, 0.2, 0.6, car.AC.PowerKW, rng)},
	} {
		_, err := fit.Fit([]*fit.Log{c.log}, car, fit.Options{})
		var refusal *fit.CannotTell
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.reason) {
			t.Errorf("%v, want a refusal with %q", err, c.reason)
		}
	}
}

func ExampleFit() {
	// An invented charge: 80 kW to half, then falling to 20 kW at 80 %.
	curve := taper.Curve{{SoC: 0, PowerKW: 80}, {SoC: 0.5, PowerKW: 80}, {SoC: 0.8, PowerKW: 20}, {SoC: 1, PowerKW: 5}}
	log := charging("invented", curve, 60, 0.1, 0.8, 200, rand.New(rand.NewPCG(1, 1)))
	car := hatch(nil)
	r, err := fit.Fit([]*fit.Log{log}, car, fit.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, soc := range []float64{0.2, 0.5, 0.65, 0.75} {
		fmt.Printf("%2.0f %%: %.0f kW\n", 100*soc, r.Car.Taper.PowerKW(soc))
	}
	// Output:
	// 20 %: 80 kW
	// 50 %: 79 kW
	// 65 %: 50 kW
	// 75 %: 30 kW
}

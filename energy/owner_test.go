package energy_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy"
	"ampleway/energy/taper"
)

// UN GTR 15 against the mix of carried cycles that stands in for it, on the
// twelve cars of the US EPA list.
func TestTheStandInHasTheEnergyOfTheWorldwideCycle(t *testing.T) {
	for _, m := range measuredCars {
		car := m.onDynamometer()
		run, err := energy.Drive(car, dynamometer(), cycle(t, "wltc_3b"), 50)
		if err != nil {
			t.Fatal(err)
		}
		rated, err := car.Rated(energy.RatingWLTP)
		if err != nil {
			t.Fatal(err)
		}
		near(t, m.name, rated.BatteryKWhPer100km/(run.BatteryKWh/run.DistanceM*1e5), 1, 0.015)
	}
}

// A car made from an owner's figures, written and read again, has them.
func TestNewCarReproducesItsFigures(t *testing.T) {
	like := builtIn(t, "crossover")
	rapid.Check(t, func(r *rapid.T) {
		f := energy.OwnerFigures{
			Name:      "ours",
			Like:      like,
			UsableKWh: rapid.Float64Range(30, 110).Draw(r, "usableKWh"),
			MassKg:    rapid.Float64Range(1300, 2800).Draw(r, "massKg"),
			Rating:    rapid.SampledFrom(energy.Ratings()).Draw(r, "rating"),
		}
		plain := *like
		plain.MassKg, plain.UsableKWh = f.MassKg, f.UsableKWh
		rated, err := plain.Rated(f.Rating)
		if err != nil {
			r.Fatal(err)
		}
		consumption := rated.BatteryKWhPer100km * rapid.Float64Range(0.8, 1.3).Draw(r, "over the model")
		which := rapid.IntRange(1, 3).Draw(r, "range, consumption or both")
		if which&1 != 0 {
			f.RangeKm = f.UsableKWh / consumption * 100
		}
		if which&2 != 0 {
			f.OutletKWhPer100km = consumption / rapid.Float64Range(0.8, 0.95).Draw(r, "efficiency")
		}
		f.PeakKW = f.UsableKWh * rapid.Float64Range(0.8, 3).Draw(r, "C rate")
		f.Minutes10to80 = 60 * 0.7 * f.UsableKWh / f.PeakKW * rapid.Float64Range(1.02, 3).Draw(r, "over the least time")

		made, _, err := energy.NewCar(f)
		if err != nil {
			r.Fatal(err)
		}
		car := reread(r, made)
		got, err := car.Rated(f.Rating)
		if err != nil {
			r.Fatal(err)
		}
		if f.RangeKm != 0 {
			within(r, "range km", got.RangeKm, f.RangeKm)
		}
		if f.OutletKWhPer100km != 0 {
			within(r, "kWh/100 km", got.OutletKWhPer100km, f.OutletKWhPer100km)
		}
		within(r, "usable kWh", car.UsableKWh, f.UsableKWh)
		within(r, "mass kg", car.MassKg, f.MassKg)
		within(r, "peak kW", car.Taper.PeakKW(), f.PeakKW)
		charge, err := taper.New(car.Taper, car.UsableKWh)
		if err != nil {
			r.Fatal(err)
		}
		within(r, "10-80 % minutes", charge.TimeS(0.1, 0.8)/60, f.Minutes10to80)
	})
}

// within allows what twelve digits in a file allow.
func within(r *rapid.T, what string, got, want float64) {
	if !(got >= want*(1-1e-9) && got <= want*(1+1e-9)) {
		r.Fatalf("%s: got %v, want %v", what, got, want)
	}
}

func reread(r rapid.TB, car *energy.Car) *energy.Car {
	var file bytes.Buffer
	if err := energy.WriteCarYAML(&file, car); err != nil {
		r.Fatalf("write: %v", err)
	}
	again, err := energy.ReadCar(&file, "again.yaml")
	if err != nil {
		r.Fatalf("read: %v", err)
	}
	return again
}

// A label beside a highway test: the test is met, the label says how well the
// car charges.
func TestNewCarBesideALabel(t *testing.T) {
	f := energy.OwnerFigures{
		Name: "ours", Like: builtIn(t, "crossover"), UsableKWh: 70, Rating: energy.RatingHighway, OutletKWhPer100km: 15,
		Label: energy.LabelFigures{RangeKm: 400, OutletKWhPer100km: 20},
	}
	made, _, err := energy.NewCar(f)
	if err != nil {
		t.Fatal(err)
	}
	car := reread(t, made)
	got, err := car.Rated(energy.RatingHighway)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kWh/100 km at the outlet", got.OutletKWhPer100km, 15, 1e-8)
	near(t, "charging efficiency", car.AC.Efficiency, 70/4.0/20, 1e-11)
	unknown := f
	unknown.UsableKWh = 0
	if words := unknown.AssumeUsable(); words == "" || unknown.UsableKWh != 70.4 { // 400 km at 20 kWh/100 km and 88 %
		t.Errorf("assumed %v kWh, %q", unknown.UsableKWh, words)
	}
}

func TestNewCarRefusesWhatDoesNotFit(t *testing.T) {
	sound := energy.OwnerFigures{Name: "ours", Like: builtIn(t, "crossover"), UsableKWh: 60, RangeKm: 400, PeakKW: 100, Minutes10to80: 35}
	for _, c := range []struct {
		name   string
		change func(*energy.OwnerFigures)
		says   string
	}{
		{"nothing rated", func(f *energy.OwnerFigures) { f.RangeKm = 0 }, "rated range or consumption"},
		{"no battery", func(f *energy.OwnerFigures) { f.UsableKWh = 0 }, "usable"},
		{"range of a bicycle", func(f *energy.OwnerFigures) { f.RangeKm = 5000 }, "rated range"},
		{"charging better than whole", func(f *energy.OwnerFigures) { f.OutletKWhPer100km = 10 }, "belong together"},
		{"too fast", func(f *energy.OwnerFigures) { f.Minutes10to80 = 10 }, "shorter"},
		{"minutes without peak", func(f *energy.OwnerFigures) { f.PeakKW = 0 }, "peak"},
		{"unknown rating", func(f *energy.OwnerFigures) { f.Rating = "moon" }, "rating"},
		{"no name", func(f *energy.OwnerFigures) { f.Name = "" }, "name"},
	} {
		f := sound
		c.change(&f)
		if _, _, err := energy.NewCar(f); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.says)
		}
	}
	if _, words, err := energy.NewCar(sound); err != nil || len(words) == 0 {
		t.Errorf("sound figures: %v, words %q", err, words)
	}
}

// A car driven with a traction factor, its rated range told back, gets that
// factor; beyond 0.4 to 2.5 no car like this one can have the range.
func TestNewCarFindsTheTractionFactorAgain(t *testing.T) {
	like := builtIn(t, "crossover")
	for factor, sound := range map[float64]bool{0.399: false, 0.401: true, 1: true, 1.7: true, 2.499: true, 2.501: false} {
		driven := *like
		driven.TractionFactor = factor
		rated, err := driven.Rated(energy.RatingWLTP)
		if err != nil {
			t.Fatal(err)
		}
		for what, f := range map[string]energy.OwnerFigures{
			"range":       {Name: "ours", Like: like, UsableKWh: like.UsableKWh, Rating: energy.RatingWLTP, RangeKm: rated.RangeKm},
			"consumption": {Name: "ours", Like: like, UsableKWh: like.UsableKWh, Rating: energy.RatingWLTP, OutletKWhPer100km: rated.OutletKWhPer100km},
		} {
			car, _, err := energy.NewCar(f)
			if (err == nil) != sound {
				t.Errorf("factor %v, from its %s: %v", factor, what, err)
			}
			if err == nil {
				near(t, "factor", car.TractionFactor, factor, 1e-9)
			}
		}
	}
}

// Range, consumption and usable energy say how well a car charges: 70 to 100 %
// of what the outlet gives is possible, and the figure is told either way.
func TestNewCarChargingEfficiency(t *testing.T) {
	for _, c := range []struct {
		efficiency float64
		says       string
	}{{0.69, "69 % efficiency"}, {0.701, ""}, {0.88, ""}, {0.999, ""}, {1.02, "102 % efficiency"}} {
		like := builtIn(t, "crossover")
		rated, err := like.Rated(energy.RatingUS)
		if err != nil {
			t.Fatal(err)
		}
		car, words, err := energy.NewCar(energy.OwnerFigures{
			Name: "ours", Like: like, UsableKWh: like.UsableKWh,
			RangeKm: rated.RangeKm, OutletKWhPer100km: rated.BatteryKWhPer100km / c.efficiency,
		})
		if c.says != "" {
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v: error %v, want one that says %q", c.efficiency, err, c.says)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		near(t, "efficiency", car.AC.Efficiency, c.efficiency, 1e-9)
		if told := fmt.Sprintf("AC charging efficiency %.1f %%", 100*c.efficiency); !strings.Contains(strings.Join(words, "\n"), told) {
			t.Errorf("%q does not say %q", words, told)
		}
	}
}

// What is not told is taken from the car it is like, and said; DC power
// belongs to the size of the battery.
func TestNewCarSaysWhatItAssumes(t *testing.T) {
	like := builtIn(t, "crossover")
	car, words, err := energy.NewCar(energy.OwnerFigures{Name: "ours", Like: like, UsableKWh: 2 * like.UsableKWh, RangeKm: 800})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak kW", car.Taper.PeakKW(), 2*like.Taper.PeakKW(), 1e-9)
	near(t, "kg", car.MassKg, like.MassKg, 0)
	near(t, "efficiency", car.AC.Efficiency, like.AC.Efficiency, 0)
	for _, told := range []string{
		fmt.Sprintf("mass %.0f kg", like.MassKg), fmt.Sprintf("drag area %.2f m²", like.RoadLoad.CdAM2()),
		"charging power", fmt.Sprintf("AC charging efficiency %.0f %%", 100*like.AC.Efficiency), "traction factor", like.Name,
	} {
		if !strings.Contains(strings.Join(words, "\n"), told) {
			t.Errorf("%q does not say %q", words, told)
		}
	}
	peak := energy.OwnerFigures{Name: "ours", Like: like, UsableKWh: 60, RangeKm: 400, MassKg: 1700, PeakKW: 90, CoastDown: energy.CoastDownUS(35, 0.1, 0.02, 4000)}
	car, words, err = energy.NewCar(peak)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak kW", car.Taper.PeakKW(), 90, 1e-9)
	near(t, "kg", car.MassKg, 1700, 0)
	if text := strings.Join(words, "\n"); strings.Contains(text, "mass") || strings.Contains(text, "drag area") || !strings.Contains(text, "common shape") {
		t.Errorf("%q", text)
	}
}

// Usable energy is assumed only where it is missing and both figures are there.
func TestAssumeUsable(t *testing.T) {
	for _, c := range []struct {
		name string
		f    energy.OwnerFigures
		want float64
	}{
		{"rated", energy.OwnerFigures{RangeKm: 400, OutletKWhPer100km: 20}, 70.4},
		{"known", energy.OwnerFigures{UsableKWh: 66, RangeKm: 400, OutletKWhPer100km: 20}, 66},
		{"no consumption", energy.OwnerFigures{RangeKm: 400}, 0},
		{"no range", energy.OwnerFigures{OutletKWhPer100km: 20}, 0},
		{"half a rating and half a label", energy.OwnerFigures{RangeKm: 400, Label: energy.LabelFigures{OutletKWhPer100km: 20}}, 0},
	} {
		known := c.f.UsableKWh
		words := c.f.AssumeUsable()
		if c.f.UsableKWh != c.want || (words != "") != (c.want != known) {
			t.Errorf("%s: %v kWh, %q", c.name, c.f.UsableKWh, words)
		}
		if words != "" && !strings.Contains(words, "70.4 kWh: assumed, rated range times rated consumption times 88 %") {
			t.Errorf("%s: %q", c.name, words)
		}
	}
}

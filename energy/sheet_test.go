package energy_test

import (
	"math"
	"slices"
	"testing"

	"ampleway/energy"
)

// A sheet says the same as asking for each figure by itself.
func TestSheet(t *testing.T) {
	car := testCar()
	car.TopSpeedMS = 110 / 3.6
	windy := energy.Conditions{WindSpeedMS: 5}
	s, err := energy.NewSheet(car, energy.SheetOptions{Conditions: windy})
	if err != nil {
		t.Fatal(err)
	}
	// As documented: 50 to 130 km/h in steps of 20, as far as the car goes, and
	// −20 to 40 °C in steps of 10.
	if want := []float64{50, 70, 90, 110}; len(s.SpeedsMS) != len(want) {
		t.Errorf("speeds %v", s.SpeedsMS)
	}
	for i, speedMS := range s.SpeedsMS {
		near(t, "km/h", speedMS*3.6, 50+20*float64(i), 1e-9)
	}
	if want := []float64{-20, -10, 0, 10, 20, 30, 40}; !slices.Equal(s.TempsC, want) {
		t.Errorf("temperatures %v", s.TempsC)
	}
	for i, speedMS := range s.SpeedsMS {
		for k, tempC := range s.TempsC {
			c := windy
			c.TempC = tempC
			want, err := energy.RangeM(car, c, speedMS)
			if err != nil || s.RangeM[i][k] != want {
				t.Errorf("%v m/s at %v °C: %v m, asked by itself %v (%v)", speedMS, tempC, s.RangeM[i][k], want, err)
			}
		}
	}
	for i, rating := range energy.Ratings() {
		want, err := car.Rated(rating)
		if err != nil || s.Labels[i].Rating != rating || s.Labels[i].Rated != want {
			t.Errorf("%s: %+v, asked by itself %+v (%v)", rating, s.Labels[i], want, err)
		}
	}
}

// The charging table runs from 10 %, so its times and its gains are 0 there,
// and its row at 80 % is the figure at its head.
func TestSheetCharging(t *testing.T) {
	car := testCar()
	s, err := energy.NewSheet(car, energy.SheetOptions{SpeedsMS: []float64{20}, TempsC: []float64{20}})
	if err != nil {
		t.Fatal(err)
	}
	full, err := energy.RangeM(car, energy.Mild(), 110/3.6)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Charge) != 21 {
		t.Fatalf("%d rows, want one for each 5 %%", len(s.Charge))
	}
	for i, row := range s.Charge {
		near(t, "SoC", row.SoC, 0.05*float64(i), 1e-12)
		near(t, "kW", row.PowerKW, car.Taper.PowerKW(row.SoC), 1e-9)
		near(t, "gain in m", row.EnergyM, (row.SoC-0.1)*full, 1e-3)
		if i > 0 && row.TimeS <= s.Charge[i-1].TimeS {
			t.Errorf("no later at %v than before", row.SoC)
		}
	}
	// The test car takes 120 kW up to half: 60 kWh/120 kW is half an hour for
	// the whole, so a percent takes 18 s.
	near(t, "s at 0 %", s.Charge[0].TimeS, -180, 1e-9)
	near(t, "s at 10 %", s.Charge[2].TimeS, 0, 0)
	near(t, "s at 50 %", s.Charge[10].TimeS, 720, 1e-9)
	near(t, "s at 80 %", s.Charge[16].TimeS, s.Time10to80S, 1e-9)
	// From 50 to 80 % power falls from 120 to 54 kW, 220 kW for the whole.
	near(t, "s by hand", s.Time10to80S, 720+3600*60/220.0*math.Log(120.0/54), 1e-6)
	near(t, "kW", s.MeanKW, 0.7*60/(s.Time10to80S/3600), 1e-9)
}

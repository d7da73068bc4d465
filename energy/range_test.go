package energy_test

import (
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy"
)

// The range is where the cumulative energy of a long road meets the capacity.
func TestRangeIsWhereTheProfileMeetsTheCapacity(t *testing.T) {
	for _, tempC := range []float64{-15, 5, 20, 35} {
		for _, speedMS := range []float64{10, 25, 35} {
			conditions := energy.Conditions{TempC: tempC, WindSpeedMS: 3, WindFromDeg: 30, EveryMovement: true}
			car := testCar()
			rangeM, err := energy.RangeM(car, conditions, speedMS)
			if err != nil {
				t.Fatal(err)
			}
			steps := []energy.Step{{LengthM: 1, SpeedMS: speedMS}}
			for range 10000 {
				steps = append(steps, energy.Step{LengthM: 100, SpeedMS: speedMS})
			}
			p := mustProfile(t, car, conditions, steps)
			near(t, "energy over capacity", (p.EnergyKWh(rangeM)-p.EnergyKWh(1))/car.UsableKWh, 1, 0.0002)
		}
	}
}

func TestConversionsThereAndBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		x := rapid.Float64Range(1, 200).Draw(r, "x")
		within(r, "kWh/100 mi", energy.KWhPer100MilesFrom100km(energy.KWhPer100kmFrom100Miles(x)), x)
	})
}

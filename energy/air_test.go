package energy

import (
	"math"
	"testing"
)

// The table that stands for the ISO 2533 formula inside the loop is within
// 2e-5 of it as high as roads go, and holds its end values beyond its ends.
func TestAirTableFollowsTheFormula(t *testing.T) {
	table := newAirTable(-10, 1030)
	for elevationM := -500.0; elevationM <= 6000; elevationM += 7 {
		want := AirDensityKgM3(-10, PressureHPa(elevationM, 1030))
		if got := table.at(elevationM); math.Abs(got/want-1) > 2e-5 {
			t.Fatalf("%v m: %v kg/m³, formula %v", elevationM, got, want)
		}
	}
	for _, elevationM := range []float64{-9000, math.Inf(-1), math.NaN(), -500} {
		if got := table.at(elevationM); got != table.densityKgM3[0] {
			t.Errorf("%v m: %v kg/m³", elevationM, got)
		}
	}
	for _, elevationM := range []float64{9000, 9001, 50000} {
		if got := table.at(elevationM); got != table.densityKgM3[airEntries-1] {
			t.Errorf("%v m: %v kg/m³", elevationM, got)
		}
	}
}

package energy

import "math"

// Constants of ISO 2533:1975 (standard atmosphere).
const (
	kelvin              = 273.15
	gasConstant         = 287.05287 // J/(kg K), dry air
	standardPressureHPa = 1013.25
	standardTempC       = 15.0
	lapseKPerM          = 0.0065
)

// pressureExponent is g/(R L) of ISO 2533, equation 12.
var pressureExponent = gravityMS2 / (gasConstant * lapseKPerM)

// PressureHPa returns the air pressure in hPa at an elevation in m, given the
// pressure reduced to sea level as weather reports have it, by the ISO 2533
// formula below 11,000 m.
func PressureHPa(elevationM, seaLevelHPa float64) float64 {
	ratio := 1 - lapseKPerM*elevationM/(standardTempC+kelvin)
	return seaLevelHPa * math.Pow(ratio, pressureExponent)
}

// AirDensityKgM3 returns the density in kg/m³ of dry air, by the gas law
// ρ = p/(R T) with the constants of ISO 2533. Humid air is lighter by at most
// 2 % below 35 °C, which is left out.
func AirDensityKgM3(tempC, pressureHPa float64) float64 {
	return pressureHPa * 100 / (gasConstant * (tempC + kelvin))
}

// airTable holds density against elevation at one temperature and sea-level
// pressure, for a loop that cannot afford a power a step. Linear between
// entries 100 m apart it is within 2e-5 of the formula up to 6,000 m.
type airTable struct{ densityKgM3 [airEntries]float64 }

const (
	airLowestM = -500.0
	airStepM   = 100.0
	airEntries = 96
)

func newAirTable(tempC, seaLevelHPa float64) *airTable {
	t := new(airTable)
	for i := range t.densityKgM3 {
		elevationM := airLowestM + airStepM*float64(i)
		t.densityKgM3[i] = AirDensityKgM3(tempC, PressureHPa(elevationM, seaLevelHPa))
	}
	return t
}

func (t *airTable) at(elevationM float64) float64 {
	x := (elevationM - airLowestM) / airStepM
	if !(x > 0) {
		return t.densityKgM3[0]
	}
	i := int(x)
	if i >= airEntries-1 {
		return t.densityKgM3[airEntries-1]
	}
	return t.densityKgM3[i] + (t.densityKgM3[i+1]-t.densityKgM3[i])*(x-float64(i))
}

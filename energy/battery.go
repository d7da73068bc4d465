package energy

import "math"

// Battery is how the pack warms and what its temperature does to charging. All
// packs are taken to warm alike; they differ in their heater.
//
// One Arrhenius factor f(T) = exp(K (1/T − 1/298.15 K)) describes how much
// larger the resistance is than at 25 °C. Heat made in the pack grows with it
// and the charging power a cold pack accepts falls with it. K and the warming
// were fitted to the battery temperatures of 29 drives of one car
// (Steinstraeter et al., IEEE DataPort 2020); the fall of charging power is
// then checked on Motoaki et al., Energy Policy 2018 (see the tests).
type Battery struct {
	HeaterKW float64 // battery heater used for preconditioning; 0: none
}

const (
	riseKPerH   = 7    // warming at 25 °C and a power of one capacity an hour
	activationK = 2500 // K of the Arrhenius factor (21 kJ/mol)
	exchangeH   = 12   // time constant towards the air (common practice)
	heatWhPerK  = 1.8  // heat capacity for each kWh of the pack (6.5 kJ/K, common practice)
	readyTempC  = 25   // temperature that preconditioning aims at
	hotTempC    = 45   // power falls above this, to nothing hotSpanK higher
	rmsRatio    = 1.5  // root-mean-square over mean power when driving (2 in mixed driving: median of the same 29 drives)

	zeroCelsiusK   = 273.15
	referenceTempC = 25.0
	referenceK     = zeroCelsiusK + referenceTempC
	hotSpanK       = 15
	leastPackC     = -60.0
	batteryStepS   = 30.0
	secondsPerH    = 3600.0
	hottestC       = 90.0 // the model says nothing above
)

// ResistanceFactor returns the pack's resistance at a temperature in °C over
// that at 25 °C. Temperatures below −60 °C count as −60 °C.
func (b Battery) ResistanceFactor(packTempC float64) float64 {
	t := max(packTempC, leastPackC) + zeroCelsiusK
	return math.Exp(activationK * (1/t - 1/referenceK))
}

// Derate returns the share of the taper's power, 0 to 1, that the pack
// accepts at a temperature in °C: 1/ResistanceFactor in the cold, 1 from 25 °C
// to 45 °C, then falling to 0 over 15 K. A colder pack never accepts more.
func (b Battery) Derate(packTempC float64) float64 {
	if packTempC > hotTempC {
		return max(0, 1-(packTempC-hotTempC)/hotSpanK)
	}
	return min(1, 1/b.ResistanceFactor(packTempC))
}

// warmingKPerS is the rate at which the pack's temperature changes at a mean
// square of power over capacity in 1/h².
func (b Battery) warmingKPerS(packTempC, airTempC, rate2 float64) float64 {
	rise := riseKPerH * rate2 * b.ResistanceFactor(packTempC)
	return (rise + (airTempC-packTempC)/exchangeH) / secondsPerH
}

// advance moves the pack's temperature over timeS at constant power, by the
// midpoint rule in steps of at most 30 s.
func (b Battery) advance(packTempC, airTempC, rate2, timeS float64) float64 {
	steps := math.Ceil(timeS / batteryStepS)
	h := timeS / steps
	for range int(steps) {
		mid := packTempC + b.warmingKPerS(packTempC, airTempC, rate2)*h/2
		packTempC = min(packTempC+b.warmingKPerS(mid, airTempC, rate2)*h, hottestC)
	}
	return packTempC
}

// AfterDrive returns the pack's temperature in °C after timeS (≥ 0) of
// driving at a mean battery power in kW from a pack of capacityKWh (> 0).
func (b Battery) AfterDrive(packTempC, airTempC, capacityKWh, meanKW, timeS float64) float64 {
	if !(timeS > 0) {
		return packTempC
	}
	rate := rmsRatio * meanKW / capacityKWh
	return b.advance(packTempC, airTempC, rate*rate, timeS)
}

// AfterParking returns the pack's temperature in °C after timeS (≥ 0) at rest.
func (b Battery) AfterParking(packTempC, airTempC, timeS float64) float64 {
	return airTempC + (packTempC-airTempC)*math.Exp(-timeS/(secondsPerH*exchangeH))
}

// Precondition returns the pack's temperature after the heater has run for at
// most timeS on the way to a charger, and the energy in kWh it drew. It stops
// at 25 °C; without a heater, or with a warm pack, nothing happens. All
// of the heater's power is taken to reach the cells.
func (b Battery) Precondition(packTempC, capacityKWh, timeS float64) (tempC, heatKWh float64) {
	perK := capacityKWh * heatWhPerK / 1000
	want := (readyTempC - packTempC) * perK
	heatKWh = min(want, b.HeaterKW*timeS/secondsPerH)
	if !(heatKWh > 0) {
		return packTempC, 0
	}
	return packTempC + heatKWh/perK, heatKWh
}

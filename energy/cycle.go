package energy

import (
	"fmt"
	"math"

	"ampleway/data/fault"
)

// Moment is one instant of a drive: of a drive cycle, or of a log.
type Moment struct {
	TimeS      float64 // rising
	SpeedMS    float64 // ≥ 0
	ElevationM float64
	BearingDeg float64 // direction of travel, for the wind
}

// AtOneHertz makes the moments of a level drive whose speed in m/s is known
// every second.
func AtOneHertz(speedsMS []float64) []Moment {
	out := make([]Moment, len(speedsMS))
	for i, v := range speedsMS {
		out[i] = Moment{TimeS: float64(i), SpeedMS: v}
	}
	return out
}

// Run is what a drive took, split by use: BatteryKWh, the fall of the energy in
// the battery, is DriveKWh − RegenKWh + AuxiliaryKWh + ClimateKWh.
type Run struct {
	DistanceM    float64
	TimeS        float64
	DriveKWh     float64 // out of the battery for traction, ≥ 0, with the traction and user factors in it
	RegenKWh     float64 // into the battery from braking, ≥ 0
	RegenLostKWh float64 // would have come back but the battery was full, ≥ 0, not part of RegenKWh
	AuxiliaryKWh float64
	ClimateKWh   float64 // cabin and battery
	WheelKWh     float64 // at the wheels while driving, ≥ 0
	BrakeKWh     float64 // at the wheels while braking, motor and friction, ≥ 0
	BatteryKWh   float64
	LowestKWh    float64 // least energy in the battery on the way; below zero: it ran out
	ArriveKWh    float64
}

// Drive follows a drive from moment to moment, leaving with departKWh in the
// battery. Between two moments speed and height change evenly: road load at
// the mean speed, inertia and grade make the power at the wheels, as in
// NewProfile. Regeneration into a full battery is lost. A drive that runs
// empty goes on below zero.
//
// The error is a *fault.Input that names the moment or the condition.
func Drive(car *Car, cond Conditions, moments []Moment, departKWh float64) (Run, error) {
	d, err := newDrive(car, &cond)
	if err != nil {
		return Run{}, err
	}
	if !(departKWh >= 0 && departKWh <= d.capacityKWh) {
		return Run{}, &fault.Input{Field: "energy at departure", Found: fmt.Sprint(departKWh), Expected: fmt.Sprintf("0 to %v kWh", d.capacityKWh)}
	}
	run := Run{LowestKWh: departKWh, ArriveKWh: departKWh}
	if len(moments) == 0 {
		return run, nil
	}
	auxiliaryW := car.AuxiliaryW
	for i := 1; i < len(moments); i++ {
		from, to := &moments[i-1], &moments[i]
		if !from.sound() || !to.sound() || !(to.TimeS > from.TimeS) {
			return Run{}, &fault.Input{
				Where:    fmt.Sprintf("moment %d", i),
				Found:    fmt.Sprintf("%+v", *to),
				Expected: "rising time, speed of at least 0, finite numbers",
			}
		}
		seconds := to.TimeS - from.TimeS
		elapsedS := from.TimeS - moments[0].TimeS
		wheelW, batteryW := d.moment(from, to)
		auxiliaryJ := auxiliaryW * seconds
		climateJ := d.load.energyJ(elapsedS+seconds) - d.load.energyJ(elapsedS) - auxiliaryJ
		run.add(wheelW*seconds, batteryW*seconds, auxiliaryJ, climateJ, d.capacityKWh)
		run.DistanceM += (from.SpeedMS + to.SpeedMS) / 2 * seconds
		run.TimeS += seconds
	}
	return run, nil
}

// moment returns the mean power at the wheels and that of traction at the
// battery between two moments.
func (d *drive) moment(from, to *Moment) (wheelW, batteryW float64) {
	seconds := to.TimeS - from.TimeS
	speedMS := (from.SpeedMS + to.SpeedMS) / 2
	if speedMS == 0 {
		return 0, 0
	}
	sin := min(max((to.ElevationM-from.ElevationM)/(speedMS*seconds), -1), 1)
	headMS, crossMS := d.wind(from.BearingDeg)
	density := d.air.at((from.ElevationM + to.ElevationM) / 2)
	force := d.road.forceN(speedMS, headMS, crossMS, density, math.Sqrt(1-sin*sin)) +
		d.massKg*gravityMS2*sin + d.inertiaKg*(to.SpeedMS-from.SpeedMS)/seconds
	wheelW = force * speedMS
	return wheelW, d.batteryW(wheelW, speedMS)
}

func (r *Run) add(wheelJ, tractionJ, auxiliaryJ, climateJ, capacityKWh float64) {
	if wheelJ >= 0 {
		r.WheelKWh += wheelJ / joulePerKWh
	} else {
		r.BrakeKWh -= wheelJ / joulePerKWh
	}
	drawn := (tractionJ + auxiliaryJ + climateJ) / joulePerKWh
	lost := max(0, r.ArriveKWh-drawn-capacityKWh)
	if tractionJ >= 0 {
		r.DriveKWh += tractionJ / joulePerKWh
	} else {
		r.RegenKWh -= tractionJ/joulePerKWh + lost
		r.RegenLostKWh += lost
	}
	r.AuxiliaryKWh += auxiliaryJ / joulePerKWh
	r.ClimateKWh += climateJ / joulePerKWh
	r.BatteryKWh += drawn + lost
	r.ArriveKWh -= drawn + lost
	r.LowestKWh = min(r.LowestKWh, r.ArriveKWh)
}

func (m *Moment) sound() bool {
	return m.SpeedMS >= 0 && m.SpeedMS < 1000 && math.Abs(m.ElevationM) < 1e5 && math.Abs(m.BearingDeg) < 1e6 && !math.IsInf(m.TimeS, 0)
}

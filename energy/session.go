package energy

import (
	"fmt"
	"math"

	"ampleway/data/fault"
	"ampleway/energy/taper"
)

// Session is one fast charge with the pack's temperature followed through it.
type Session struct {
	TimeS      float64 // from the first to the last kWh
	PackTempC  float64 // at the end
	BatteryKWh float64 // into the battery
}

// sessionStepS is the time step of a Session.
const sessionStepS = 10

// Session follows a charge from one SoC to another at a fast charger, the
// pack starting at packTempC and warming as it charges. The power at each
// moment is that of ChargeCurve at the pack's temperature then. The car's
// cooling is taken to hold the pack at 45 °C once it gets there. TimeS is
// +Inf where the power ends before toSoC.
//
// It is the reference for Battery.StopTempC: a planner needs a power that
// depends on SoC alone.
func (c *Car) Session(s DCSupply, b Battery, packTempC, airTempC, fromSoC, toSoC float64) (Session, error) {
	accepted, given, err := c.sides(s)
	if err != nil {
		return Session{}, err
	}
	for _, x := range []struct {
		field              string
		value, least, most float64
	}{
		{"pack temperature in °C", packTempC, -100, 100},
		{"air temperature in °C", airTempC, -100, 100},
		{"SoC before charging", fromSoC, 0, 1},
		{"SoC after charging", toSoC, 0, 1},
		{"usable capacity in kWh", c.UsableKWh, 0.1, 1e5},
	} {
		if !(x.value >= x.least && x.value <= x.most) {
			return Session{}, &fault.Input{Field: x.field, Found: figure(x.value), Expected: fmt.Sprintf("%g to %g", x.least, x.most)}
		}
	}
	hold := max(packTempC, hotTempC)
	power := func(soc, tempC float64) float64 {
		return min(accepted.PowerKW(soc)*b.Derate(tempC), given.PowerKW(soc))
	}
	r := Session{PackTempC: packTempC}
	for soc := fromSoC; soc < toSoC; {
		p := power(soc, r.PackTempC)
		half := soc + p*sessionStepS/2/secondsPerH/c.UsableKWh
		p = power(min(half, toSoC), r.PackTempC)
		if !(p >= taper.LeastPowerKW) {
			r.TimeS = math.Inf(1)
			return r, nil
		}
		step := min(sessionStepS, (toSoC-soc)*c.UsableKWh*secondsPerH/p)
		rate := p / c.UsableKWh
		r.PackTempC = min(b.advance(r.PackTempC, airTempC, rate*rate, step), hold)
		r.BatteryKWh += p * step / secondsPerH
		r.TimeS += step
		if step < sessionStepS {
			break
		}
		soc += p * step / secondsPerH / c.UsableKWh
	}
	return r, nil
}

// stopFromSoC and stopToSoC are the stop that StopTempC gets right.
const stopFromSoC, stopToSoC = 0.1, 0.6

// StopTempC returns the one pack temperature at which a 10-60 % charge at the
// charger takes as long as with the pack warming from arriveTempC. With it the
// power of a stop depends on SoC alone, so that charging time splits into a
// difference G(to) − G(from) and the planner stays exact. Other stops between
// 10 and 90 % then take up to 9 % more or less time than with the pack
// warming (see the tests). arriveTempC comes from the drive to the charger,
// Battery.AfterDrive and Battery.Precondition; the heat of earlier stops may
// be left out, which is cautious in the cold. A pack at 25 °C or more keeps
// its temperature.
func (c *Car) StopTempC(s DCSupply, b Battery, arriveTempC, airTempC float64) (float64, error) {
	if arriveTempC >= referenceTempC {
		return arriveTempC, nil
	}
	session, err := c.Session(s, b, arriveTempC, airTempC, stopFromSoC, stopToSoC)
	if err != nil {
		return 0, err
	}
	accepted, given, err := c.sides(s)
	if err != nil {
		return 0, err
	}
	const halvings = 16 // to a thousandth of a degree
	lo, hi := arriveTempC, referenceTempC
	for range halvings {
		mid := lo + (hi-lo)/2
		curve := accepted.Scale(b.Derate(mid)).Min(given)
		f, err := taper.New(curve, c.UsableKWh)
		if err != nil {
			return 0, err
		}
		if f.TimeS(stopFromSoC, stopToSoC) > session.TimeS {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, nil
}

// StopCurve is ChargeCurve at the temperature that StopTempC returns.
func (c *Car) StopCurve(s DCSupply, b Battery, arriveTempC, airTempC float64) (taper.Curve, error) {
	tempC, err := c.StopTempC(s, b, arriveTempC, airTempC)
	if err != nil {
		return nil, err
	}
	return c.ChargeCurve(s, b, tempC)
}

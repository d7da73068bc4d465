package energy

import (
	"errors"
	"fmt"

	"ampleway/data/fault"
	"ampleway/energy/taper"
)

// DCSupply is what a fast charger gives one car.
type DCSupply struct {
	PowerKW  float64 // most power of the stall; 0: not stated, no limit
	CurrentA float64 // most current; 0: no limit
	VoltageV float64 // most voltage; 0: no limit
}

// ErrVoltage is returned where a station's voltage does not reach that of the
// full pack.
var ErrVoltage = errors.New("energy: the charger's voltage is below the pack's")

const (
	// assumedPackV stands for the pack of a car whose voltage is not known
	// (common practice for cars of the 400 V class).
	assumedPackV = 350
	// GridEfficiency is battery energy over energy drawn from the grid by a
	// fast charger, as the DESL-EPFL dataset takes it from its own meters.
	GridEfficiency = 0.95
)

// Validate says what is wrong with the figures of s.
func (s DCSupply) Validate() error {
	const most = 1e4
	for _, f := range []struct {
		field string
		value float64
	}{{"PowerKW", s.PowerKW}, {"CurrentA", s.CurrentA}, {"VoltageV", s.VoltageV}} {
		if !(f.value >= 0 && f.value <= most) {
			return &fault.Input{Field: "charger " + f.field, Found: figure(f.value), Expected: fmt.Sprintf("0 (not stated) to %g", most)}
		}
	}
	return nil
}

// ChargeCurve returns the power into the battery against SoC at a fast
// charger, at a pack temperature in °C that holds for the whole stop (see
// Battery.StopTempC):
//
//	p(SoC) = min(taper(SoC) · derate(T), P_station, I_max · V_pack(SoC))
//
// V_pack is the open-circuit voltage of c.Pack (350 V where it is unknown);
// under charge it is a few percent higher, which is left out. The error is
// ErrVoltage where the station's voltage is below that of the full pack, and
// a *fault.Input for figures out of range or a pack too hot or cold to charge.
func (c *Car) ChargeCurve(s DCSupply, b Battery, packTempC float64) (taper.Curve, error) {
	accepted, given, err := c.sides(s)
	if err != nil {
		return nil, err
	}
	derate := b.Derate(packTempC)
	if !(derate > 0) {
		return nil, &fault.Input{Field: "pack temperature", Found: figure(packTempC) + " °C", Expected: "one at which the battery accepts charge"}
	}
	return accepted.Scale(derate).Min(given), nil
}

// sides returns what a pack at 25 °C accepts and what the charger gives, kW
// against SoC.
func (c *Car) sides(s DCSupply) (accepted, given taper.Curve, err error) {
	if err := s.Validate(); err != nil {
		return nil, nil, err
	}
	if err := c.Taper.Validate(); err != nil {
		return nil, nil, err
	}
	if full := c.packV(1); s.VoltageV > 0 && full > s.VoltageV {
		return nil, nil, fmt.Errorf("%w: %g V against %.0f V of %q", ErrVoltage, s.VoltageV, full, c.Name)
	}
	given = taper.Flat(c.Taper.PeakKW())
	if s.PowerKW > 0 {
		given = given.Cap(s.PowerKW)
	}
	if s.CurrentA > 0 {
		given = given.Min(c.currentCurve(s.CurrentA))
	}
	return c.Taper, given, nil
}

func (c *Car) packV(soc float64) float64 {
	if v := c.PackVoltageV(soc); v > 0 {
		return v
	}
	return assumedPackV
}

// currentCurve is the power of a constant current against SoC.
func (c *Car) currentCurve(currentA float64) taper.Curve {
	var curve taper.Curve
	add := func(soc float64) {
		curve = append(curve, taper.Point{SoC: soc, PowerKW: currentA * c.packV(soc) / 1000})
	}
	add(0)
	for _, p := range c.Pack {
		if p.SoC > 0 && p.SoC < 1 {
			add(p.SoC)
		}
	}
	add(1)
	return curve
}

// ACCurve returns the power into the battery against SoC on an AC circuit:
// flat, and no more than the pack takes.
func (c *Car) ACCurve(circuit Circuit) (taper.Curve, error) {
	ac, err := c.AC.On(circuit)
	if err != nil {
		return nil, err
	}
	return c.Taper.Cap(ac.BatteryKW), nil
}

// GridKWh returns the energy drawn from the grid for batteryKWh at a fast
// charger.
func GridKWh(batteryKWh float64) float64 { return batteryKWh / GridEfficiency }

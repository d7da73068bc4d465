package trip

import (
	"math"

	"ampleway/energy"
	"ampleway/energy/taper"
	"ampleway/stations"
)

// curves makes the charging function of each charger once for every kind of
// supply and pack temperature it is met with.
type curves struct {
	drive   *Drive
	battery energy.Battery
	loadKW  float64
	made    map[curveKey]madeCurve
}

type curveKey struct {
	supply energy.DCSupply
	ac     bool
	phases int
	tempC  float64 // of the pack on arrival, whole degrees
}

type madeCurve struct {
	charge *taper.Func
	tempC  float64
}

// heaterKW is a battery heater used on the way to a charger where the driver
// says that the car has one: common practice.
const heaterKW = 5.0

func newCurves(d *Drive) (*curves, error) {
	c := &curves{drive: d, made: map[curveKey]madeCurve{}}
	if d.Options.Precondition {
		c.battery.HeaterKW = heaterKW
	}
	var err error
	c.loadKW, err = energy.StandingKW(d.Car, d.Conditions)
	return c, err
}

// at returns the charging function at a pass and the pack temperature it is
// taken at.
func (c *curves) at(pass Pass, offer stations.Offer) (*taper.Func, float64, error) {
	key := curveKey{
		supply: c.supply(offer),
		ac:     !offer.DC,
		phases: offer.Phases,
		tempC:  math.Round(c.arriveTempC(pass)),
	}
	if made, ok := c.made[key]; ok {
		return made.charge, made.tempC, nil
	}
	curve, tempC, err := c.curve(key)
	if err != nil {
		return nil, 0, err
	}
	charge, err := taper.New(curve, c.drive.Profile.CapacityKWh())
	if err != nil {
		return nil, 0, err
	}
	c.made[key] = madeCurve{charge, tempC}
	return charge, tempC, nil
}

func (c *curves) curve(key curveKey) (taper.Curve, float64, error) {
	car := c.drive.Car
	if key.ac {
		return car.Taper.Cap(math.Min(car.AC.PowerKW, key.supply.PowerKW) * car.AC.Efficiency), key.tempC, nil
	}
	tempC, err := car.StopTempC(key.supply, c.battery, key.tempC, c.drive.Conditions.TempC)
	if err != nil {
		return nil, 0, err
	}
	curve, err := car.ChargeCurve(key.supply, c.battery, tempC)
	return curve, tempC, err
}

// supply is what the stall has left for the battery after the car's own load:
// the driver waits in a heated or cooled car.
func (c *curves) supply(offer stations.Offer) energy.DCSupply {
	powerKW := offer.PowerKW
	if c.drive.Options.AssumeShared {
		powerKW = offer.FullKW
	}
	s := energy.DCSupply{
		PowerKW:  math.Max(powerKW-c.loadKW, powerKW/10),
		VoltageV: offer.MaxV,
	}
	if offer.MaxA > 0 {
		const halfFull = 0.5
		loadA := 0.0
		if v := c.drive.Car.PackVoltageV(halfFull); v > 0 {
			loadA = 1000 * c.loadKW / v
		}
		s.CurrentA = math.Max(offer.MaxA-loadA, offer.MaxA/10)
	}
	return s
}

// arriveTempC is the pack's temperature on reaching a pass: warmed by the
// drive, not by earlier stops, which would only warm it further; or brought to
// the battery's charging temperature on the way.
func (c *curves) arriveTempC(pass Pass) float64 {
	tempC, _ := c.arrive(pass)
	return tempC
}

// heatKWh is what warming the battery on the way to a pass takes.
func (c *curves) heatKWh(pass Pass) float64 {
	if !c.drive.Options.Precondition {
		return 0
	}
	_, heat := c.arrive(pass)
	return heat
}

func (c *curves) arrive(pass Pass) (tempC, heatKWh float64) {
	d := c.drive
	start := d.Options.startPackTempC(d.Conditions)
	timeS := d.Profile.TimeS(pass.ChainageM) + pass.inS()
	if !(timeS > 0) {
		return start, 0
	}
	capacity := d.Profile.CapacityKWh()
	meanKW := d.Profile.EnergyKWh(pass.ChainageM) * 3600 / timeS
	tempC = c.battery.AfterDrive(start, d.Conditions.TempC, capacity, meanKW, timeS)
	if !d.Options.Precondition {
		return tempC, 0
	}
	return c.battery.Precondition(tempC, capacity, timeS)
}

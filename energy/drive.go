package energy

import (
	"cmp"
	"math"
)

// drive is a car under conditions, made ready for many steps.
type drive struct {
	massKg        float64
	inertiaKg     float64
	road          terms
	driveFactor   float64 // battery energy for one unit at the wheels
	regenFactor   float64 // battery energy from one unit at the wheels
	regenLimitW   float64
	topSpeedMS    float64
	windMS        float64
	windFromRad   float64
	headWind      bool // against the car, whatever its bearing
	air           *airTable
	load          load
	capacityKWh   float64
	everyMovement bool
}

// newDrive checks the conditions against the car.
func newDrive(car *Car, cond *Conditions) (*drive, error) {
	if err := cond.validate(car); err != nil {
		return nil, err
	}
	d := &drive{
		massKg:        car.MassKg + cond.PayloadKg,
		regenFactor:   car.RegenEfficiency,
		driveFactor:   cmp.Or(cond.UserFactor, 1) * cmp.Or(car.TractionFactor, 1) / car.DriveEfficiency,
		regenLimitW:   car.RegenLimitKW * 1000 * cmp.Or(cond.RegenShare, 1),
		topSpeedMS:    car.TopSpeedMS,
		windMS:        cond.WindSpeedMS,
		windFromRad:   cond.WindFromDeg * math.Pi / 180,
		headWind:      cond.HeadWind,
		air:           newAirTable(cond.TempC, cond.seaLevelHPa()),
		load:          car.load(cond),
		capacityKWh:   car.UsableKWh * cmp.Or(cond.StateOfHealth, 1),
		everyMovement: cond.EveryMovement,
	}
	var dragM2 float64
	for _, name := range cond.Extras {
		extra := car.extra(name)
		d.massKg += extra.MassKg
		dragM2 += extra.DragAreaM2
		if extra.TopSpeedMS > 0 {
			d.topSpeedMS = min(d.topSpeedMS, extra.TopSpeedMS)
		}
	}
	if cond.SpeedCapMS > 0 {
		d.topSpeedMS = min(d.topSpeedMS, cond.SpeedCapMS)
	}
	d.inertiaKg = d.massKg + car.MassKg*car.RotatingShare
	d.road = car.RoadLoad.terms(d.massKg, cond.rollingFactor(), dragM2)
	return d, nil
}

// Regeneration fades out below regenFullMS and is nothing below regenNoneMS,
// where friction brakes stop the car; common practice.
const (
	regenNoneMS = 5 * metreSPerKMH
	regenFullMS = 15 * metreSPerKMH
)

// batteryW turns power at the wheels into power at the battery.
func (d *drive) batteryW(wheelW, speedMS float64) float64 {
	if wheelW >= 0 {
		return wheelW * d.driveFactor
	}
	if speedMS <= regenNoneMS {
		return 0
	}
	back := -wheelW * d.regenFactor
	if speedMS < regenFullMS {
		back *= (speedMS - regenNoneMS) / (regenFullMS - regenNoneMS)
	}
	return -min(back, d.regenLimitW)
}

// wind splits the wind into its part against and its part across a direction
// of travel.
func (d *drive) wind(bearingDeg float64) (headMS, crossMS float64) {
	if d.windMS == 0 {
		return 0, 0
	}
	if d.headWind {
		return d.windMS, 0
	}
	cross, head := math.Sincos(d.windFromRad - bearingDeg*(math.Pi/180))
	return d.windMS * head, d.windMS * cross
}

func (c *Car) extra(name string) *Extra {
	for i := range c.Extras {
		if c.Extras[i].Name == name {
			return &c.Extras[i]
		}
	}
	return nil
}

func (c *Car) extraNames() string {
	if len(c.Extras) == 0 {
		return "it has none"
	}
	names := ""
	for i, e := range c.Extras {
		if i > 0 {
			names += ", "
		}
		names += e.Name
	}
	return names
}

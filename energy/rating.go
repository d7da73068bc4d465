package energy

import (
	"fmt"

	"ampleway/data/cycles"
	"ampleway/data/fault"
)

// Rating is the duty behind a figure that an owner reads on a label.
type Rating string

// Ratings. Energy for each kilometre is weighted over the cycles, at 20 °C
// with the climate off.
const (
	// RatingUS is the US label: 55 % UDDS and 45 % HWFET, over 0.7, the
	// adjustment to real roads (40 CFR 600.210-12).
	RatingUS Rating = "us"
	// RatingWLTP stands in for the worldwide cycle of UN GTR 15, which is not
	// carried: 28 % UDDS, 38 % HWFET and 34 % US06 give its energy within 1.5 %
	// for twelve cars (see the tests).
	RatingWLTP Rating = "wltp"
	// RatingHighway is the bare HWFET, unadjusted, as the test car list of the
	// US EPA has it.
	RatingHighway Rating = "hwfet"
)

// Ratings lists them in a fixed order.
func Ratings() []Rating { return []Rating{RatingUS, RatingWLTP, RatingHighway} }

type duty struct {
	udds, hwfet, us06 float64 // shares of the distance
	adjustment        float64 // rated consumption is cycle consumption over this
}

var duties = map[Rating]duty{
	RatingUS:      {udds: 0.55, hwfet: 0.45, adjustment: 0.7},
	RatingWLTP:    {udds: 0.28, hwfet: 0.38, us06: 0.34, adjustment: 1},
	RatingHighway: {hwfet: 1, adjustment: 1},
}

const ratingTempC = 20

// Rated is what a car does on a rating.
type Rated struct {
	BatteryKWhPer100km float64
	OutletKWhPer100km  float64 // with the losses of AC charging
	RangeKm            float64 // usable energy over BatteryKWhPer100km

	driveKWhPer100km float64 // the part of BatteryKWhPer100km that a traction factor multiplies
}

// Rated drives a car on a rating. The error is a *fault.Input for an unknown
// rating or a car that cannot be driven.
func (c *Car) Rated(rating Rating) (Rated, error) {
	d, known := duties[rating]
	if !known {
		return Rated{}, &fault.Input{Field: "rating", Found: string(rating), Expected: fmt.Sprint(Ratings())}
	}
	// The air is as dense as the reference of coast-down coefficients.
	conditions := Conditions{TempC: ratingTempC, SeaLevelHPa: coastDownPressureHPa, ClimateOff: true}
	var out Rated
	for _, part := range []struct {
		share    float64
		speedsMS func() []float64
	}{{d.udds, cycles.UDDS}, {d.hwfet, cycles.HWFET}, {d.us06, cycles.US06}} {
		if part.share == 0 {
			continue
		}
		run, err := Drive(c, conditions, AtOneHertz(part.speedsMS()), c.UsableKWh/2)
		if err != nil {
			return Rated{}, err
		}
		per100km := part.share / d.adjustment / run.DistanceM * 1e5
		out.BatteryKWhPer100km += run.BatteryKWh * per100km
		out.driveKWhPer100km += run.DriveKWh * per100km
	}
	out.OutletKWhPer100km = out.BatteryKWhPer100km / c.AC.Efficiency
	out.RangeKm = c.UsableKWh / out.BatteryKWhPer100km * 100
	return out, nil
}

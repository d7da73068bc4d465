package trip

import (
	"math"

	"ampleway/energy"
)

// perMetre is what a metre off the main road costs.
type perMetre struct{ energyKWh float64 }

// offRoad takes the energy of a metre off the main road from the same physics:
// level road at the corridor's middle elevation, at one speed, the mean of the
// four directions against the wind. It is charged both ways.
func offRoad(car *energy.Car, cond energy.Conditions, c *Corridor, speedMS float64) (perMetre, error) {
	const sideM = 1000.0
	middle := c.Route.At(c.Route.LengthM() / 2).ElevationM
	if middle != middle {
		middle = 0
	}
	cond.CabinReady = true
	var square []energy.Step
	for _, bearing := range []float64{0, 0, 90, 180, 270} {
		square = append(square, energy.Step{LengthM: sideM, SpeedMS: speedMS, BearingDeg: bearing, ElevationM: middle})
	}
	p, err := energy.NewProfile(car, cond, square)
	if err != nil {
		return perMetre{}, err
	}
	// The first side is where the car gets going; the four others are the square.
	leg := p.Leg(sideM, p.LengthM())
	return perMetre{energyKWh: leg.CostKWh / leg.DistanceM}, nil
}

// off is what a metre of the way to a pass costs: at the detour speed, or at
// the speed of the road router's own way, to the nearest offStepMS.
func (a *localAir) off(p Pass) (perMetre, error) {
	const offStepMS, slowestMS, fastestMS = 5 / 3.6, 10 / 3.6, 130 / 3.6
	speedMS, step := a.drive.Corridor.Options.DetourSpeedMS, 0
	if p.Asked && p.OneWayM > 0 {
		asMS := math.Min(math.Max(p.OneWayM/p.OneWayS, slowestMS), fastestMS)
		step = int(math.Round((asMS - speedMS) / offStepMS))
		speedMS = math.Max(speedMS+float64(step)*offStepMS, offStepMS)
	}
	if made, ok := a.offRoad[step]; ok {
		return made, nil
	}
	m, err := offRoad(a.drive.Car, a.drive.Conditions, a.drive.Corridor, speedMS)
	if err == nil {
		a.offRoad[step] = m
	}
	return m, err
}

// legs are the way to a site and the way back.
func (m perMetre) legs(p Pass, capacityKWh float64) (in, out energy.Leg) {
	leg := func(lengthM, timeS float64) energy.Leg {
		cost := m.energyKWh * lengthM
		return energy.Leg{DistanceM: lengthM, TimeS: timeS, NeedKWh: cost, CostKWh: cost, CapKWh: capacityKWh - cost}
	}
	return leg(p.inM(), p.inS()), leg(p.outM(), p.outS())
}

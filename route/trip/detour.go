package trip

import (
	"ampleway/energy"
)

// perMetre is what a metre off the main road costs.
type perMetre struct{ energyKWh float64 }

// offRoad takes the energy of a metre off the main road from the same physics:
// level road at the corridor's middle elevation, at the detour speed, the mean
// of the four directions against the wind. It is charged both ways.
func offRoad(car *energy.Car, cond energy.Conditions, c *Corridor) (perMetre, error) {
	const sideM = 1000.0
	middle := c.Route.At(c.Route.LengthM() / 2).ElevationM
	if middle != middle {
		middle = 0
	}
	cond.CabinReady = true
	var square []energy.Step
	for _, bearing := range []float64{0, 0, 90, 180, 270} {
		square = append(square, energy.Step{LengthM: sideM, SpeedMS: c.Options.DetourSpeedMS, BearingDeg: bearing, ElevationM: middle})
	}
	p, err := energy.NewProfile(car, cond, square)
	if err != nil {
		return perMetre{}, err
	}
	// The first side is where the car gets going; the four others are the square.
	leg := p.Leg(sideM, p.LengthM())
	return perMetre{energyKWh: leg.CostKWh / leg.DistanceM}, nil
}

func (m perMetre) leg(p Pass, capacityKWh float64) energy.Leg {
	cost := m.energyKWh * p.OneWayM
	return energy.Leg{
		DistanceM: p.OneWayM,
		TimeS:     p.OneWayS,
		NeedKWh:   cost,
		CostKWh:   cost,
		CapKWh:    capacityKWh - cost,
	}
}

package study

import (
	"math"

	"ampleway/energy"
)

// chance is the probability that consumption which strays from the estimate
// breaks a reserve on some leg, when the plan is kept as it is. A leg with room
// h holds while its factor of consumption
//
//	F = exp(u·z₀ − u²/2) · exp(v·z − v²/2)   u² = ln(1+Trip²), v² = ln(1+Leg²)
//
// is at most 1+h, z₀ standard normal for the whole trip and z for each leg, so
// with m = ln(1+h) + (u²+v²)/2 the probability that all hold is
//
//	∫ φ(z) Π Φ((m − u z)/v) dz.
//
// Legs are taken as independent given z₀ and as leaving with what is planned: a
// stop charges to its departure whatever was there on arrival.
func chance(s energy.Spread, rooms []float64) float64 {
	u, v := math.Sqrt(math.Log1p(s.Trip*s.Trip)), math.Sqrt(math.Log1p(s.Leg*s.Leg))
	least := math.Inf(1)
	for _, h := range rooms {
		least = min(least, h)
	}
	shift := (u*u + v*v) / 2
	const widest = 8.0
	switch {
	case least <= -1:
		return 1
	case u == 0 && v == 0:
		if least < 0 {
			return 1
		}
		return 0
	case v == 0:
		return 1 - phi((math.Log1p(least)+shift)/u)
	case math.Log1p(least)+shift > widest*(u+v):
		return 0
	}
	const steps, width = 64, 2 * widest / 64
	sum := 0.0
	for i := range steps + 1 {
		z := -widest + float64(i)*width
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		weight *= math.Exp(-z * z / 2)
		sum += weight * breaks(rooms, shift-u*z, v)
	}
	return min(max(sum*width/3/math.Sqrt(2*math.Pi), 0), 1)
}

// breaks is the probability that some leg's own factor passes its room.
func breaks(rooms []float64, shift, v float64) float64 {
	hold := 1.0
	for _, h := range rooms {
		if x := (math.Log1p(h) + shift) / v; x < 8 {
			hold *= phi(x)
		}
	}
	return 1 - hold
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

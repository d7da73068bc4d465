package trip

import "math"

// Breaks is the probability that consumption which strays from the estimate
// breaks a reserve on some leg, when the plan is kept as it is. A leg with room h
// holds while its factor F is at most 1+h, so with m = ln(1+h) + (u²+v²)/2 the
// probability that all hold is
//
//	∫ φ(z) Π Φ((m − u z)/v) dz.
//
// Legs are taken as independent given z₀ and as leaving with what is planned: a
// stop charges to its departure whatever was there on arrival.
func (s Spread) Breaks(rooms []float64) float64 {
	least := math.Inf(1)
	logs := make([]float64, len(rooms))
	for i, h := range rooms {
		least = min(least, h)
		logs[i] = math.Log1p(h)
	}
	shift := (s.trip*s.trip + s.leg*s.leg) / 2
	switch {
	case least <= -1:
		return 1
	case s.trip == 0 && s.leg == 0:
		if least < 0 {
			return 1
		}
		return 0
	case s.leg == 0:
		return 1 - phi((math.Log1p(least)+shift)/s.trip)
	case math.Log1p(least)+shift > widest*(s.trip+s.leg):
		return 0
	}
	const steps = 64
	return min(max(overDays(steps, func(z float64) float64 { return s.breaks(logs, shift-s.trip*z) }), 0), 1)
}

// breaks is the probability that some leg's own factor passes its room, of which
// the logarithms are given.
func (s Spread) breaks(logs []float64, shift float64) float64 {
	hold := 1.0
	for _, l := range logs {
		if x := (l + shift) / s.leg; x < 8 {
			hold *= phi(x)
		}
	}
	return 1 - hold
}

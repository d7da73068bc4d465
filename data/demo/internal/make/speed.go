package main

import "math"

// A calm driver: sideways and lengthways acceleration in m/s².
const (
	sidewaysMS2   = 2.0
	lengthwaysMS2 = 0.6
)

// setSpeeds gives every piece the speed of a calm driver: the limit, slower in
// bends (v² = a R), with gentle braking before and pulling away after.
func (r *road) setSpeeds() {
	n := len(r.line)
	v := make([]float64, n)
	for i := range v {
		v[i] = r.limitKmh[i] / 3.6
		if turn := turnRad(r.line, i); turn > 0 {
			radiusM := r.line[i-1].distanceM(r.line[i+1]) / 2 / turn
			v[i] = min(v[i], math.Sqrt(sidewaysMS2*radiusM))
		}
	}
	for i := 1; i < n; i++ {
		v[i] = min(v[i], reach(v[i-1], r.alongM[i]-r.alongM[i-1]))
	}
	for i := n - 2; i >= 0; i-- {
		v[i] = min(v[i], reach(v[i+1], r.alongM[i+1]-r.alongM[i]))
	}
	r.speedMS = v
}

func reach(fromMS, lengthM float64) float64 {
	return math.Sqrt(fromMS*fromMS + 2*lengthwaysMS2*lengthM)
}

// pieceKmh is the mean speed over points i to j, in whole km/h.
func (r *road) pieceKmh(i, j int) int {
	var timeS float64
	for k := i; k < j; k++ {
		timeS += (r.alongM[k+1] - r.alongM[k]) / ((r.speedMS[k] + r.speedMS[k+1]) / 2)
	}
	return int(math.Round((r.alongM[j] - r.alongM[i]) / timeS * 3.6))
}

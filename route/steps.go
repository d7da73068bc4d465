package route

import (
	"cmp"
	"iter"
	"math"
)

// DefaultSpeedMS is the travel speed on pieces whose speed is unknown unless
// the caller names another: 25 m/s, 90 km/h.
const DefaultSpeedMS = 25.0

// Step is what one piece asks of a car.
type Step struct {
	LengthM    float64 // > 0
	SpeedMS    float64 // > 0
	RiseM      float64 // elevation at the end less elevation at the start, smoothed
	BearingDeg float64 // clockwise from true north in [0, 360)
	ElevationM float64 // mean of the piece, above sea level
}

// StepOptions says how steps are taken from a route.
type StepOptions struct {
	SmoothingM     float64 // smoothing length of the elevations, metres; 0 means DefaultSmoothingM, negative none
	DefaultSpeedMS float64 // speed where it is unknown, m/s; 0 means DefaultSpeedMS
}

// Steps ranges over the pieces with their numbers; step i is the piece from
// point i to point i+1. Where no elevation is known the road is level at 0 m.
// It panics if DefaultSpeedMS is negative or not finite.
func (r *Route) Steps(o StepOptions) iter.Seq2[int, Step] {
	speedMS := o.DefaultSpeedMS
	speedMS = cmp.Or(speedMS, DefaultSpeedMS)
	if !(speedMS > 0) || math.IsInf(speedMS, 0) {
		panic("route: Steps needs a positive default speed")
	}
	return func(yield func(int, Step) bool) {
		elevationsM := r.stepElevations(o.SmoothingM)
		for i := 0; i < len(r.points)-1; i++ {
			s := Step{
				LengthM:    r.chainageM[i+1] - r.chainageM[i],
				SpeedMS:    r.points[i].SpeedMS,
				RiseM:      elevationsM[i+1] - elevationsM[i],
				BearingDeg: r.BearingDeg(i),
				ElevationM: (elevationsM[i] + elevationsM[i+1]) / 2,
			}
			s.SpeedMS = cmp.Or(s.SpeedMS, speedMS)
			if !yield(i, s) {
				return
			}
		}
	}
}

func (r *Route) stepElevations(smoothingM float64) []float64 {
	if !r.HasElevation() {
		return make([]float64, len(r.points))
	}
	smoothingM = cmp.Or(smoothingM, DefaultSmoothingM)
	return r.Elevations(math.Max(smoothingM, 0))
}

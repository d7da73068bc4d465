package fit

import "math"

// smoothM is the half width of the running mean over distance that is taken
// twice over elevation: it turns the steps of a coarse record into a slope
// and keeps the climb from start to end.
const smoothM = 300.0

// leastHalfM is the half width below which a value stays as it is: the window
// would hold rounding only.
const leastHalfM = 0.1

// smoothElevation smooths elevation over distance; the window narrows towards
// both ends, so the first and the last value stay. Unknown values are filled
// from their neighbours; all unknown gives a level road and false.
func smoothElevation(chainageM, elevationM []float64) bool {
	if !fillUnknown(elevationM) {
		return false
	}
	runningMean(chainageM, elevationM)
	runningMean(chainageM, elevationM)
	return true
}

func fillUnknown(x []float64) bool {
	first := -1
	for i := range x {
		switch {
		case !math.IsNaN(x[i]):
			if first < 0 {
				first = i
				for j := range i {
					x[j] = x[i]
				}
			}
		case first >= 0:
			x[i] = x[i-1]
		}
	}
	if first < 0 {
		for i := range x {
			x[i] = 0
		}
	}
	return first >= 0
}

// runningMean replaces y by its mean over x ± smoothM, the integral of the
// straight lines between the points divided by the width.
func runningMean(x, y []float64) {
	last := len(x) - 1
	area := make([]float64, len(x))
	for i := 1; i <= last; i++ {
		area[i] = area[i-1] + (y[i]+y[i-1])/2*(x[i]-x[i-1])
	}
	out := make([]float64, len(x))
	lo, hi := 0, 0
	for i := range x {
		half := min(smoothM, x[i]-x[0], x[last]-x[i])
		if half < leastHalfM {
			out[i] = y[i]
			continue
		}
		var a, b float64
		a, lo = areaAt(x, y, area, x[i]-half, lo)
		b, hi = areaAt(x, y, area, x[i]+half, hi)
		out[i] = (b - a) / (2 * half)
	}
	copy(y, out)
}

// areaAt is the area from the start to at, looking from index i on; the lower
// edge of a narrowing window may run back, so it looks back too.
func areaAt(x, y, area []float64, at float64, i int) (float64, int) {
	for i > 0 && x[i] > at {
		i--
	}
	for i < len(x)-2 && x[i+1] < at {
		i++
	}
	width := x[i+1] - x[i]
	if width <= 0 {
		return area[i], i
	}
	share := min(max((at-x[i])/width, 0), 1)
	yAt := y[i] + (y[i+1]-y[i])*share
	return area[i] + (y[i]+yAt)/2*share*width, i
}

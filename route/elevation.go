package route

import "math"

// DefaultSmoothingM is the smoothing length that suits height models with
// posts 30 to 90 m apart and recorded tracks: common practice, no source. The
// grade of a road hardly changes within 250 m; the noise of a height model
// does.
const DefaultSmoothingM = 250.0

// Climb sums up the elevations of a route, in metres.
type Climb struct {
	AscentM, DescentM float64 // total climb and total fall, both ≥ 0
	MinM, MaxM        float64 // lowest and highest point; NaN where no elevation is known
}

// HasElevation reports whether at least one point has an elevation.
func (r *Route) HasElevation() bool {
	for _, p := range r.points {
		if !math.IsNaN(p.ElevationM) {
			return true
		}
	}
	return false
}

// Elevations returns one elevation a point in metres, smoothed over
// smoothingM metres. Unknown elevations are first filled: between two known
// ones in proportion to the chainage, before the first and after the last
// with the nearest; where none is known all are NaN.
//
// Smoothing takes the mean of the elevation profile (straight lines between
// the points, so the spacing of the points does not matter) over a window of
// smoothingM centred on the point. Near the ends the window shrinks to stay
// centred, so the first and the last elevation, and with them the net rise,
// are kept. 0 leaves the profile as it is. It panics if smoothingM is
// negative or not finite.
func (r *Route) Elevations(smoothingM float64) []float64 {
	if !(smoothingM >= 0) || math.IsInf(smoothingM, 0) {
		panic("route: Elevations needs a finite smoothing length of at least 0")
	}
	filled := r.filledElevations()
	if smoothingM == 0 || len(filled) == 0 || math.IsNaN(filled[0]) {
		return filled
	}
	area := profileArea{chainageM: r.chainageM, elevationM: filled, areaM2: make([]float64, len(filled))}
	for i := 1; i < len(filled); i++ {
		area.areaM2[i] = area.areaM2[i-1] + (r.chainageM[i]-r.chainageM[i-1])*(filled[i]+filled[i-1])/2
	}
	smooth := make([]float64, len(filled))
	var low, high int
	for i, s := range r.chainageM {
		halfM := min(smoothingM/2, s, r.LengthM()-s)
		if !(halfM > 0) {
			smooth[i] = filled[i]
			continue
		}
		var below, above float64
		below, low = area.to(s-halfM, low)
		above, high = area.to(s+halfM, high)
		smooth[i] = (above - below) / (2 * halfM)
	}
	return smooth
}

// profileArea is the running integral of the elevation profile.
type profileArea struct{ chainageM, elevationM, areaM2 []float64 }

// to returns the area under the profile from the start to a chainage, and
// the piece it found it in; the search starts at piece i.
func (a profileArea) to(chainageM float64, i int) (areaM2 float64, piece int) {
	for i < len(a.chainageM)-2 && a.chainageM[i+1] <= chainageM {
		i++
	}
	for i > 0 && a.chainageM[i] > chainageM {
		i--
	}
	lengthM := a.chainageM[i+1] - a.chainageM[i]
	alongM := chainageM - a.chainageM[i]
	endM := a.elevationM[i] + (a.elevationM[i+1]-a.elevationM[i])*alongM/lengthM
	return a.areaM2[i] + alongM*(a.elevationM[i]+endM)/2, i
}

func (r *Route) filledElevations() []float64 {
	filled := make([]float64, len(r.points))
	known := -1
	for i, p := range r.points {
		filled[i] = p.ElevationM
		if math.IsNaN(p.ElevationM) {
			continue
		}
		for k := known + 1; k < i; k++ {
			filled[k] = p.ElevationM
			if known >= 0 {
				f := (r.chainageM[k] - r.chainageM[known]) / (r.chainageM[i] - r.chainageM[known])
				filled[k] = filled[known] + f*(p.ElevationM-filled[known])
			}
		}
		known = i
	}
	for k := known + 1; known >= 0 && k < len(filled); k++ {
		filled[k] = filled[known]
	}
	return filled
}

// Climb sums up the elevations after smoothing over smoothingM metres (0:
// as they are). Where no elevation is known ascent and descent are 0 and the
// extremes NaN.
func (r *Route) Climb(smoothingM float64) Climb {
	c := Climb{MinM: math.NaN(), MaxM: math.NaN()}
	if !r.HasElevation() {
		return c
	}
	c.MinM, c.MaxM = math.Inf(1), math.Inf(-1)
	elevationsM := r.Elevations(smoothingM)
	for i, m := range elevationsM {
		c.MinM, c.MaxM = math.Min(c.MinM, m), math.Max(c.MaxM, m)
		if i == 0 {
			continue
		}
		rise := m - elevationsM[i-1]
		c.AscentM += math.Max(rise, 0)
		c.DescentM += math.Max(-rise, 0)
	}
	return c
}

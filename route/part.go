package route

import "math"

// Reverse returns the route driven the other way: the same line and speeds
// from end to start. Reversed twice it is the same route.
func (r *Route) Reverse() *Route {
	n := len(r.points)
	back := &Route{Name: r.Name, Credit: r.Credit, Notes: r.Notes, points: make([]Point, n), chainageM: make([]float64, n)}
	for i := range r.points {
		back.points[i] = r.points[n-1-i]
		back.points[i].SpeedMS = 0
		if i < n-1 {
			back.points[i].SpeedMS = r.points[n-2-i].SpeedMS
		}
		back.chainageM[i] = r.LengthM() - r.chainageM[n-1-i]
	}
	return back
}

// Part returns the stretch between two chainages in metres, which are
// brought into 0..LengthM. Its length is their difference, so that two parts
// that meet are as long as the whole. It reports false where less than a
// millimetre lies between the two.
func (r *Route) Part(fromM, toM float64) (*Route, bool) {
	fromM, toM = math.Max(fromM, 0), math.Min(toM, r.LengthM())
	if !(toM-fromM >= minPieceM) {
		return nil, false
	}
	part := &Route{Name: r.Name, Credit: r.Credit, Notes: r.Notes}
	part.put(r.At(fromM), 0)
	for i := r.Piece(fromM) + 1; i < len(r.points) && r.chainageM[i] <= toM-minPieceM; i++ {
		if r.chainageM[i] >= fromM+minPieceM {
			part.put(r.points[i], r.chainageM[i]-fromM)
		}
	}
	end := r.At(toM)
	end.SpeedMS = 0
	part.put(end, toM-fromM)
	return part, true
}

// put appends a point at a known chainage.
func (r *Route) put(p Point, chainageM float64) {
	r.points = append(r.points, p)
	r.chainageM = append(r.chainageM, chainageM)
}

// Densify returns the route with points put in so that no piece is longer
// than maxM metres; the line, its length and its chainages stay. It panics if
// maxM is less than 1 m.
func (r *Route) Densify(maxM float64) *Route {
	if !(maxM >= 1) {
		panic("route: Densify needs a length of at least 1 m")
	}
	dense := &Route{Name: r.Name, Credit: r.Credit, Notes: r.Notes}
	for i := 0; i < len(r.points)-1; i++ {
		a, b := r.points[i], r.points[i+1]
		lengthM := r.chainageM[i+1] - r.chainageM[i]
		dense.put(a, r.chainageM[i])
		pieces := math.Ceil(lengthM / maxM)
		for k := 1.0; k < pieces; k++ {
			dense.put(between(a, b, k/pieces), r.chainageM[i]+lengthM*k/pieces)
		}
	}
	if n := len(r.points); n > 0 {
		dense.put(r.points[n-1], r.chainageM[n-1])
	}
	return dense
}

// WithElevations returns the route with other elevations, one a point, NaN
// where unknown. It panics unless there are Len of them.
func (r *Route) WithElevations(elevationsM []float64) *Route {
	if len(elevationsM) != len(r.points) {
		panic("route: WithElevations needs one elevation a point")
	}
	other := &Route{Name: r.Name, Credit: r.Credit, Notes: r.Notes, points: r.Points(), chainageM: r.chainageM}
	for i, m := range elevationsM {
		other.points[i].ElevationM = m
	}
	return other
}

// WithNote returns the route with one more note.
func (r *Route) WithNote(note string) *Route {
	other := *r
	other.Notes = append(append([]string(nil), r.Notes...), note)
	return &other
}

// WithSpeed returns the route with one speed in m/s on every piece, 0 where
// it is unknown. It panics if the speed is negative or not finite.
func (r *Route) WithSpeed(speedMS float64) *Route {
	if !(speedMS >= 0) || math.IsInf(speedMS, 0) {
		panic("route: WithSpeed needs a speed of at least 0")
	}
	other := &Route{Name: r.Name, Credit: r.Credit, Notes: r.Notes, points: r.Points(), chainageM: r.chainageM}
	for i := range other.points[:max(len(other.points)-1, 0)] {
		other.points[i].SpeedMS = speedMS
	}
	return other
}

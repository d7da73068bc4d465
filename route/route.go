package route

import (
	"fmt"
	"iter"
	"math"
	"sort"
	"strconv"

	"ampleway/data/fault"
	"ampleway/route/earth"
)

// Point is one vertex of a route.
type Point struct {
	Lon, Lat   float64 // degrees, within ±180 and ±90
	ElevationM float64 // metres above sea level; NaN where unknown
	SpeedMS    float64 // travel speed on the piece that starts here, m/s; 0 where unknown
}

// Route is a polyline with chainages. The zero value is an empty route of no
// length; New makes every other.
type Route struct {
	Name   string   // from the file, or the file's name
	Credit string   // whose the road's data are and under which licence; empty: not said
	Notes  []string // what a reader left out, joined or assumed, one sentence each

	points    []Point
	chainageM []float64
}

// minPieceM is the shortest piece: nearer points are one place. A longitude
// of seven decimals, as RFC 7946 advises, tells 11 mm apart.
const minPieceM = 1e-3

// New makes a route from at least two different positions. Neighbours less
// than a millimetre apart are merged: the first keeps its place, the last
// gives the speed onwards, and a known elevation is kept before an unknown
// one. The points are copied.
//
// Errors are *fault.Input with Where "point n" (counted from 1): a position
// that is not finite or not within ±180 and ±90, an infinite elevation, a
// speed that is negative or not finite, fewer than two different positions.
func New(name string, points []Point) (*Route, error) {
	r := &Route{
		Name:      name,
		points:    make([]Point, 0, len(points)),
		chainageM: make([]float64, 0, len(points)),
	}
	for i, p := range points {
		if err := check(p); err != nil {
			err.File, err.Where = name, "point "+strconv.Itoa(i+1)
			return nil, err
		}
		r.add(p)
	}
	if len(r.points) < 2 {
		return nil, &fault.Input{
			File:     name,
			Found:    fmt.Sprintf("%d different positions in %d points", len(r.points), len(points)),
			Expected: "a line of at least two different positions",
		}
	}
	r.points[len(r.points)-1].SpeedMS = 0
	return r, nil
}

// add appends p, or merges it into the last point where that is as near as
// makes no difference.
func (r *Route) add(p Point) {
	n := len(r.points)
	if n == 0 {
		r.points = append(r.points, p)
		r.chainageM = append(r.chainageM, 0)
		return
	}
	last := &r.points[n-1]
	chainageM := r.chainageM[n-1] + earth.DistanceM(last.Lon, last.Lat, p.Lon, p.Lat)
	if chainageM-r.chainageM[n-1] < minPieceM {
		last.SpeedMS = p.SpeedMS
		if math.IsNaN(last.ElevationM) {
			last.ElevationM = p.ElevationM
		}
		return
	}
	r.points = append(r.points, p)
	r.chainageM = append(r.chainageM, chainageM)
}

func check(p Point) *fault.Input {
	switch {
	case !(math.Abs(p.Lat) <= 90):
		return &fault.Input{Field: "latitude", Found: number(p.Lat), Expected: "degrees within ±90"}
	case !(math.Abs(p.Lon) <= 180):
		return &fault.Input{Field: "longitude", Found: number(p.Lon), Expected: "degrees within ±180"}
	case math.IsInf(p.ElevationM, 0):
		return &fault.Input{Field: "elevation", Found: number(p.ElevationM), Expected: "metres, or NaN where unknown"}
	case !(p.SpeedMS >= 0) || math.IsInf(p.SpeedMS, 0):
		return &fault.Input{Field: "speed", Found: number(p.SpeedMS), Expected: "m/s, or 0 where unknown"}
	}
	return nil
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// Len returns the number of points, one more than the number of pieces.
func (r *Route) Len() int { return len(r.points) }

// Point returns point i, 0 ≤ i < Len.
func (r *Route) Point(i int) Point { return r.points[i] }

// Points returns a copy of the points.
func (r *Route) Points() []Point { return append([]Point(nil), r.points...) }

// All ranges over the points with their numbers, without a copy.
func (r *Route) All() iter.Seq2[int, Point] {
	return func(yield func(int, Point) bool) {
		for i, p := range r.points {
			if !yield(i, p) {
				return
			}
		}
	}
}

// LengthM returns the length of the route in metres: the sum of
// earth.DistanceM over the pieces, whose error it shares.
func (r *Route) LengthM() float64 {
	if len(r.chainageM) == 0 {
		return 0
	}
	return r.chainageM[len(r.chainageM)-1]
}

// ChainageM returns the chainage of point i in metres. Chainages rise
// strictly from 0 to LengthM.
func (r *Route) ChainageM(i int) float64 { return r.chainageM[i] }

// Chainages returns a copy of the chainages of all points, in metres.
func (r *Route) Chainages() []float64 { return append([]float64(nil), r.chainageM...) }

// BearingDeg returns the bearing of piece i, 0 ≤ i < Len−1, at its start,
// clockwise from true north in [0, 360).
func (r *Route) BearingDeg(i int) float64 {
	a, b := r.points[i], r.points[i+1]
	return earth.BearingDeg(a.Lon, a.Lat, b.Lon, b.Lat)
}

// Piece returns the number of the piece that holds a chainage: the last one
// that starts at or before it. Chainages off the route give the first or the
// last piece.
func (r *Route) Piece(chainageM float64) int {
	i := sort.Search(len(r.chainageM), func(i int) bool { return r.chainageM[i] > chainageM }) - 1
	return min(max(i, 0), len(r.chainageM)-2)
}

// At returns the place at a chainage, between two points by straight
// interpolation of longitude (the short way round), latitude and elevation,
// with the speed of its piece. At the chainage of a point it is that point. A
// chainage off the route gives its start or its end. The elevation is NaN
// unless both ends of the piece have one.
func (r *Route) At(chainageM float64) Point {
	last := len(r.points) - 1
	if !(chainageM > 0) {
		return r.points[0]
	}
	if chainageM >= r.chainageM[last] {
		return r.points[last]
	}
	i := r.Piece(chainageM)
	a, b := r.points[i], r.points[i+1]
	if chainageM == r.chainageM[i] {
		return a
	}
	return between(a, b, (chainageM-r.chainageM[i])/(r.chainageM[i+1]-r.chainageM[i]))
}

// between returns the point a fraction f of the way from a to b.
func between(a, b Point, f float64) Point {
	return Point{
		Lon:        wrap(a.Lon + f*earth.LonDelta(a.Lon, b.Lon)),
		Lat:        a.Lat + f*(b.Lat-a.Lat),
		ElevationM: a.ElevationM + f*(b.ElevationM-a.ElevationM),
		SpeedMS:    a.SpeedMS,
	}
}

// wrap brings a longitude that is less than a turn off into ±180.
func wrap(lon float64) float64 {
	switch {
	case lon > 180:
		return lon - 360
	case lon < -180:
		return lon + 360
	}
	return lon
}

package route

import (
	"math"

	"github.com/paulmach/orb"

	"ampleway/route/earth"
)

// Line returns the positions as a line string, one a point, with longitudes
// as they are within ±180. Across the antimeridian two neighbours differ by
// nearly 360 degrees; Lines cuts there.
func (r *Route) Line() orb.LineString {
	line := make(orb.LineString, len(r.points))
	for i, p := range r.points {
		line[i] = orb.Point{p.Lon, p.Lat}
	}
	return line
}

// Lines returns the positions as line strings of which none crosses the
// antimeridian, as RFC 7946 section 3.1.9 asks of GeoJSON: one line for most
// routes, else cut at ±180 degrees.
func (r *Route) Lines() orb.MultiLineString {
	var lines orb.MultiLineString
	var line orb.LineString
	for i, p := range r.points {
		if i > 0 {
			if before, after, cut := antimeridian(r.points[i-1], p); cut {
				lines = append(lines, appendNew(line, before))
				line = appendNew(nil, after)
			}
		}
		line = appendNew(line, orb.Point{p.Lon, p.Lat})
	}
	return append(lines, line)
}

// appendNew appends p unless the line ends there already.
func appendNew(line orb.LineString, p orb.Point) orb.LineString {
	if n := len(line); n > 0 && line[n-1] == p {
		return line
	}
	return append(line, p)
}

// antimeridian returns where the piece from a to b meets the antimeridian,
// seen from either side, if it crosses it.
func antimeridian(a, b Point) (before, after orb.Point, cut bool) {
	if math.Abs(b.Lon-a.Lon) <= 180 {
		return before, after, false
	}
	side := math.Copysign(180, a.Lon)
	total := earth.LonDelta(a.Lon, b.Lon)
	f := 0.0
	if total != 0 {
		f = (side - a.Lon) / total
	}
	lat := a.Lat + f*(b.Lat-a.Lat)
	return orb.Point{side, lat}, orb.Point{-side, lat}, true
}

package stations

import (
	"math"
	"slices"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
)

// Side is the side of the line a site lies on, seen in the direction of travel.
type Side int8

// The sides. On is within a metre of the line.
const (
	Left  Side = -1
	On    Side = 0
	Right Side = 1
)

// String gives "left", "on" or "right".
func (s Side) String() string {
	switch s {
	case Left:
		return "left"
	case Right:
		return "right"
	}
	return "on"
}

// Hit is one pass of a line by a site: the nearest approach of a stretch of
// the line to it.
type Hit struct {
	Site       int     // number in the Set
	ChainageM  float64 // of the nearest point of the line
	OffsetM    float64 // from that point to the site
	Side       Side    // of the line
	BearingDeg float64 // of the line there, in the direction of travel
}

// Corridor returns every pass within halfWidthM of a line, ordered by chainage
// and then by site number. chainageM holds the distance along the line at each
// of its points, not falling; its length must be that of the line, or the call
// panics. A line of one point is a place.
//
// Between two points the line is straight in longitude and latitude, the short
// way round the globe, as GeoJSON draws it (RFC 7946 section 3.1.1). Offsets
// are earth.DistanceM to the nearest point.
//
// A site gives one hit for each pass: two passes are separate where the line
// between them leaves the corridor of that site, or gets further away from it
// by PassRiseM and comes back as much.
func (x *Index) Corridor(line orb.LineString, chainageM []float64, halfWidthM float64) []Hit {
	if len(line) != len(chainageM) {
		panic("stations: Corridor needs one chainage for each point of the line")
	}
	var hits []Hit
	for i := range x.set.Len() {
		hits = append(hits, passes(x.set, i, line, chainageM, halfWidthM)...)
	}
	slices.SortFunc(hits, byChainage)
	return hits
}

// PassRiseM is how far, in metres, a line must get away from a site and come
// back for two approaches inside the corridor to count as two passes.
const PassRiseM = 1000.0

func byChainage(a, b Hit) int {
	switch {
	case a.ChainageM != b.ChainageM:
		if a.ChainageM < b.ChainageM {
			return -1
		}
		return 1
	}
	return a.Site - b.Site
}

// passes walks the whole line for one site.
func passes(set Set, i int, line orb.LineString, chainageM []float64, halfWidthM float64) []Hit {
	lon, lat := set.Position(i)
	walk := newPassWalk(i, halfWidthM)
	if len(line) == 1 {
		line, chainageM = orb.LineString{line[0], line[0]}, []float64{chainageM[0], chainageM[0]}
	}
	for k := 0; k+1 < len(line); k++ {
		a, b := line[k], line[k+1]
		t, offsetM := nearest(lon, lat, a, b)
		walk.segment(approach{
			segment:   k,
			chainageM: chainageM[k] + t*(chainageM[k+1]-chainageM[k]),
			offsetM:   offsetM,
			startM:    earth.DistanceM(lon, lat, a[0], a[1]),
		})
	}
	hits := walk.finish()
	for n := range hits {
		k := hits[n].Site
		hits[n].Site = i
		hits[n].BearingDeg, hits[n].Side = heading(lon, lat, line[k], line[k+1], hits[n].OffsetM)
	}
	return hits
}

// approach is what a site sees of one segment of the line.
type approach struct {
	segment   int
	chainageM float64 // of the nearest point
	offsetM   float64 // to the nearest point
	startM    float64 // to the segment's first point
}

// passWalk turns approaches, in order along the line, into passes.
type passWalk struct {
	halfWidthM float64
	best       approach // nearest of the pass that is open
	open       bool
	peakM      float64 // furthest since best
	hits       []Hit
}

func newPassWalk(site int, halfWidthM float64) *passWalk {
	return &passWalk{halfWidthM: halfWidthM}
}

func (w *passWalk) segment(a approach) {
	if a.startM > w.halfWidthM {
		w.close()
	}
	if w.open {
		w.peakM = math.Max(w.peakM, a.startM)
		if w.peakM-w.best.offsetM >= PassRiseM && w.peakM-a.offsetM >= PassRiseM {
			w.close()
		}
	}
	if a.offsetM > w.halfWidthM {
		return
	}
	if !w.open || a.offsetM < w.best.offsetM {
		w.best, w.open, w.peakM = a, true, 0
	}
}

func (w *passWalk) close() {
	if w.open {
		w.hits = append(w.hits, Hit{Site: w.best.segment, ChainageM: w.best.chainageM, OffsetM: w.best.offsetM})
	}
	w.open = false
}

func (w *passWalk) finish() []Hit {
	w.close()
	return w.hits
}

// nearest returns the point of the segment from a to b nearest to a position,
// as a share t of the segment, and its distance in metres. It works in a plane
// whose scale is taken at the position and then once more midway to the point
// found, which is where earth.DistanceM takes it.
func nearest(lon, lat float64, a, b orb.Point) (t, distanceM float64) {
	ax, ay := earth.LonDelta(lon, a[0]), a[1]-lat
	dx, dy := earth.LonDelta(a[0], b[0]), b[1]-a[1]
	scaleLat := lat
	for range 2 {
		perLon, perLat := earth.DegreeM(scaleLat)
		px, py, qx, qy := ax*perLon, ay*perLat, dx*perLon, dy*perLat
		t = 0
		if length2 := qx*qx + qy*qy; length2 > 0 {
			t = min(1, max(0, -(px*qx+py*qy)/length2))
		}
		scaleLat = lat + (ay+t*dy)/2
	}
	return t, earth.DistanceM(lon, lat, a[0]+t*dx, a[1]+t*dy)
}

// heading returns the bearing of a segment and the side of it a position is on.
func heading(lon, lat float64, a, b orb.Point, offsetM float64) (bearingDeg float64, side Side) {
	bearingDeg = earth.BearingDeg(a[0], a[1], b[0], b[1])
	if offsetM <= 1 {
		return bearingDeg, On
	}
	cross := earth.LonDelta(a[0], b[0])*(lat-a[1]) - (b[1]-a[1])*earth.LonDelta(a[0], lon)
	switch {
	case cross > 0:
		return bearingDeg, Left
	case cross < 0:
		return bearingDeg, Right
	}
	return bearingDeg, On
}

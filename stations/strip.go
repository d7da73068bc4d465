package stations

import (
	"math"
	"slices"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
)

// strip is a line made ready to be searched: longitudes that run on across
// the antimeridian, no segment longer than a piece may be, and pieces.
type strip struct {
	points     []orb.Point
	chainageM  []float64
	pieces     []piece
	blocks     []block
	halfWidthM float64
	riseM      float64

	pairs []pair // sites and pieces that can matter to each other
	spare []pair // to sort them
}

// piece is a run of segments with the chord that stands for it. Walked from
// end to end, the run never is further than strayM from a point that moves
// along the chord and never turns back. So the distance of a site to the run
// differs from its distance to the chord by strayM at most, up and down and in
// the same order (a bound on the Fréchet distance).
type piece struct {
	first, last   int     // points
	strayM        float64 //
	eastM         float64 // metres a degree of longitude at the first point
	northM        float64
	chordX        float64 // of the last point, in metres from the first
	chordY        float64
	skew          float64 // how far these metres can be off around the piece, relative
	reach         orb.Bound
	wholeParallel bool // the reach touches a pole
	block, blocks int  // first of its blocks, and how many
}

// block is a part of a piece, a few segments that stand by their own chord.
type block struct {
	first, last int     // points
	longest2    float64 // square of the length of its longest segment, m²
	strayM      float64 // furthest of its points from the chord
	skew        float64 // how much the length of a degree can change along it, relative
}

const (
	blockSize   = 8
	chordShare  = 1.0 / 16 // tolerance of the simplification, of the half width
	minPieceM   = 1000.0   // pieces are 2 half widths long, and no shorter than this
	poleNearDeg = 89.5
	roundingDeg = 4e-5 // more than a float32 loses on a longitude
)

// lay makes a strip of a line; the strip may have been used before.
func (s *strip) lay(line orb.LineString, chainageM []float64, halfWidthM float64) {
	s.halfWidthM, s.riseM = halfWidthM, halfWidthM*PassRise
	s.points, s.chainageM = s.points[:0], s.chainageM[:0]
	s.pieces, s.blocks, s.pairs = s.pieces[:0], s.blocks[:0], s.pairs[:0]
	longestM := max(2*halfWidthM, minPieceM)
	s.unroll(line, chainageM, longestM)
	s.cut(longestM, halfWidthM*chordShare)
}

// unroll copies the line, with long segments divided evenly.
func (s *strip) unroll(line orb.LineString, chainageM []float64, longestM float64) {
	s.points = slices.Grow(s.points, len(line)+1)
	s.chainageM = slices.Grow(s.chainageM, len(line)+1)
	s.add(line[0], chainageM[0])
	for k := 1; k < len(line); k++ {
		from, fromM := s.points[len(s.points)-1], chainageM[k-1]
		dLon, dLat := lonDelta(line[k-1][0], line[k][0]), line[k][1]-line[k-1][1]
		parts := divisions(dLon, dLat, longestM)
		for p := 1; p < parts; p++ {
			share := float64(p) / float64(parts)
			s.add(orb.Point{from[0] + share*dLon, from[1] + share*dLat}, fromM+share*(chainageM[k]-fromM))
		}
		s.add(orb.Point{from[0] + dLon, line[k][1]}, chainageM[k])
	}
	if len(line) == 1 {
		s.add(line[0], chainageM[0])
	}
}

func (s *strip) add(p orb.Point, chainageM float64) {
	s.points = append(s.points, p)
	s.chainageM = append(s.chainageM, chainageM)
}

// lonDelta is earth.LonDelta without a division for the usual small step.
func lonDelta(lon1, lon2 float64) float64 {
	if d := lon2 - lon1; d > -180 && d <= 180 {
		return d
	}
	return earth.LonDelta(lon1, lon2)
}

// metresPerDegree is more than a degree is long anywhere.
const metresPerDegree = 111700.0

// atMostM returns a length that a segment does not exceed.
func (s *strip) atMostM(k int) float64 {
	a, b := s.points[k], s.points[k+1]
	return (math.Abs(b[0]-a[0]) + math.Abs(b[1]-a[1])) * metresPerDegree
}

func divisions(dLon, dLat, longestM float64) int {
	return int(math.Hypot(dLon, dLat)*metresPerDegree/longestM) + 1
}

// cut divides the strip into pieces: from each start it goes on while one
// direction passes every point within toleranceM (the cone of Sklansky and
// Gonzalez, Pattern Recognition 12, 1980), the line does not turn back, and
// the piece is not too long. What the chord then misses is measured.
func (s *strip) cut(longestM, toleranceM float64) {
	for first := 0; first+1 < len(s.points); {
		p := piece{first: first}
		p.eastM, p.northM = earth.DegreeM(s.points[first][1])
		p.last = s.extend(&p, longestM, toleranceM)
		s.measure(&p)
		s.divide(&p)
		s.pieces = append(s.pieces, p)
		first = p.last
	}
}

// extend returns the last point that the piece can take.
func (s *strip) extend(p *piece, longestM, toleranceM float64) int {
	var leftX, leftY, rightX, rightY, furthest float64
	open := true
	for j := p.first + 1; j < len(s.points); j++ {
		x, y := p.plane(s, s.points[j])
		away := math.Sqrt(x*x + y*y)
		if j > p.first+1 && (away > longestM || away < furthest-toleranceM) {
			return j - 1
		}
		furthest = max(furthest, away)
		if away <= toleranceM {
			continue
		}
		if !open && (rightX*y-rightY*x < 0 || x*leftY-y*leftX < 0) {
			return j - 1
		}
		sin := toleranceM / away
		cos := math.Sqrt(1 - sin*sin)
		lx, ly := x*cos-y*sin, x*sin+y*cos
		rx, ry := x*cos+y*sin, y*cos-x*sin
		if open || lx*leftY-ly*leftX > 0 {
			leftX, leftY = lx, ly
		}
		if open || rightX*ry-rightY*rx > 0 {
			rightX, rightY = rx, ry
		}
		open = false
	}
	return len(s.points) - 1
}

// plane returns a point in the piece's metres, from its first point.
func (p *piece) plane(s *strip, q orb.Point) (x, y float64) {
	start := s.points[p.first]
	return (q[0] - start[0]) * p.eastM, (q[1] - start[1]) * p.northM
}

// measure finds how far the run strays from the chord and turns back along
// it, and the box of all that can be in its reach.
func (s *strip) measure(p *piece) {
	p.chordX, p.chordY = p.plane(s, s.points[p.last])
	length := math.Sqrt(p.chordX*p.chordX + p.chordY*p.chordY)
	bound := orb.Bound{Min: s.points[p.first], Max: s.points[p.first]}
	var stray, ahead float64
	for k := p.first; k <= p.last; k++ {
		q := s.points[k]
		bound.Min[0], bound.Max[0] = min(bound.Min[0], q[0]), max(bound.Max[0], q[0])
		bound.Min[1], bound.Max[1] = min(bound.Min[1], q[1]), max(bound.Max[1], q[1])
		x, y := p.plane(s, q)
		if length == 0 {
			stray = max(stray, math.Hypot(x, y))
			continue
		}
		along, across := (x*p.chordX+y*p.chordY)/length, (x*p.chordY-y*p.chordX)/length
		ahead = max(ahead, min(along, length))
		stray = max(stray, math.Abs(across)+math.Abs(along-ahead))
	}
	s.grow(p, bound)
	p.strayM = stray + stray*p.skew
	if math.IsInf(p.skew, 1) {
		p.strayM = p.skew
	}
}

// grow sets the piece's reach and skew.
func (s *strip) grow(p *piece, bound orb.Bound) {
	reachM := s.halfWidthM + s.riseM
	padLat := reachM/(p.northM*0.98) + roundingDeg
	p.reach = orb.Bound{Min: orb.Point{-180, bound.Min[1] - padLat}, Max: orb.Point{180, bound.Max[1] + padLat}}
	poleward := max(math.Abs(p.reach.Min[1]), math.Abs(p.reach.Max[1]))
	if poleward > poleNearDeg {
		p.wholeParallel, p.skew = true, math.Inf(1)
		return
	}
	atMin, _ := earth.DegreeM(p.reach.Min[1])
	atMax, _ := earth.DegreeM(p.reach.Max[1])
	padLon := reachM/min(atMin, atMax) + roundingDeg
	p.reach.Min[0], p.reach.Max[0] = bound.Min[0]-padLon, bound.Max[0]+padLon
	p.skew = max(math.Abs(atMin/p.eastM-1), math.Abs(atMax/p.eastM-1)) + 1e-3
	if p.skew > 0.25 || p.reach.Max[0]-p.reach.Min[0] >= 360 {
		p.skew = math.Inf(1)
		p.wholeParallel = p.reach.Max[0]-p.reach.Min[0] >= 360
	}
}

// divide adds the piece's blocks.
func (s *strip) divide(p *piece) {
	p.block = len(s.blocks)
	for first := p.first; first < p.last; first += blockSize {
		b := block{first: first, last: min(first+blockSize, p.last)}
		x0, y0 := p.plane(s, s.points[first])
		cx, cy := p.plane(s, s.points[b.last])
		var stray2 float64
		lastX, lastY := x0, y0
		for k := first + 1; k <= b.last; k++ {
			x, y := p.plane(s, s.points[k])
			stray2 = max(stray2, fromChord2(x-x0, y-y0, cx-x0, cy-y0))
			b.longest2 = max(b.longest2, (x-lastX)*(x-lastX)+(y-lastY)*(y-lastY))
			lastX, lastY = x, y
		}
		b.longest2 *= (1 + p.skew) * (1 + p.skew)
		b.strayM = math.Sqrt(stray2) * (1 + p.skew)
		b.skew = p.skew*min(1, math.Hypot(cx-x0, cy-y0)/s.halfWidthM) + 1e-6
		s.blocks = append(s.blocks, b)
	}
	p.blocks = len(s.blocks) - p.block
}

// mayServe reports whether a position can be within reach of the piece. It
// errs on the side of yes, and allows for a position rounded to a float32.
func (s *strip) mayServe(p *piece, lon, lat float64) bool {
	if math.IsInf(p.skew, 1) {
		return true
	}
	start := s.points[p.first]
	x, y := lonDelta(start[0], lon)*p.eastM, (lat-start[1])*p.northM
	return math.Sqrt(fromChord2(x, y, p.chordX, p.chordY))*(1-p.skew)-p.strayM <= s.halfWidthM+s.riseM+roundingDeg*metresPerDegree
}

// fromChord2 is the square of the distance from (x, y) to the segment from
// the origin to (cx, cy).
func fromChord2(x, y, cx, cy float64) float64 {
	if length2 := cx*cx + cy*cy; length2 > 0 {
		t := unit((x*cx + y*cy) / length2)
		x, y = x-t*cx, y-t*cy
	}
	return x*x + y*y
}

package stations

import (
	"math"
	"runtime"
	"slices"
	"sync"

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
	OffsetM    float64 // from that point to the site's position in the Set
	Side       Side    // of the line
	BearingDeg float64 // of the line there, in the direction of travel
}

// PassRise is how much further from a site, as a share of the corridor's half
// width, a line must get and come back for two approaches to be two passes.
const PassRise = 0.25

// Corridor returns every pass within halfWidthM of a line, ordered by chainage
// and then by site number. chainageM holds the distance along the line at each
// of its points, not falling; it must be as long as the line and halfWidthM
// must be above 0, or the call panics. A line of one point is a place, and a
// line of none has no hits.
//
// Between two points the line is straight in longitude and latitude, the short
// way round the globe, as GeoJSON draws it (RFC 7946 section 3.1.1). Offsets
// are earth.DistanceM to the nearest point.
//
// A site gives one hit for each pass. Two approaches are two passes where, on
// the way from one to the other, the line gets further from the site than both
// by PassRise half widths, so that a bend is no second pass and a way back is.
// Of points that are equally near, to tieM, the first counts.
func (x *Index) Corridor(line orb.LineString, chainageM []float64, halfWidthM float64) []Hit {
	if len(line) != len(chainageM) {
		panic("stations: Corridor needs one chainage for each point of the line")
	}
	if !(halfWidthM > 0) || math.IsInf(halfWidthM, 0) {
		panic("stations: Corridor needs a half width above 0")
	}
	if len(line) == 0 {
		return nil
	}
	s := x.strips.Get().(*strip)
	defer x.strips.Put(s)
	s.lay(line, chainageM, halfWidthM)
	x.pair(s)
	return x.hits(s)
}

// seeker finds the passes of sites by a strip that others may read too.
type seeker struct {
	*strip
	chordM  []float64 // what onePass found of one site
	boundM  float64
	chances []chance // what look found of one site
}

// sharePairs is how many pairs are worth a goroutine of their own.
const sharePairs = 4096

// hits turns the strip's pairs into hits, on as many cores as there are.
func (x *Index) hits(s *strip) []Hit {
	shares := s.shares(cores(len(s.pairs), sharePairs))
	found := make([][]Hit, len(shares))
	together(len(shares), func(n int) {
		found[n] = x.seek(s, shares[n])
		slices.SortFunc(found[n], inOrder)
	})
	return merged(found)
}

// inOrder compares hits by chainage and then by site.
func inOrder(a, b Hit) int {
	switch {
	case a.ChainageM < b.ChainageM:
		return -1
	case a.ChainageM > b.ChainageM:
		return 1
	}
	return a.Site - b.Site
}

// merged puts a few lists of hits in order into one.
func merged(lists [][]Hit) []Hit {
	if len(lists) == 1 {
		return lists[0]
	}
	total := 0
	for _, l := range lists {
		total += len(l)
	}
	hits := make([]Hit, 0, total)
	for len(hits) < total {
		least := -1
		for n, l := range lists {
			if len(l) > 0 && (least < 0 || inOrder(l[0], lists[least][0]) < 0) {
				least = n
			}
		}
		hits = append(hits, lists[least][0])
		lists[least] = lists[least][1:]
	}
	return hits
}

// cores is how many goroutines so much work is worth, one for each share.
func cores(work, share int) int { return min(runtime.GOMAXPROCS(0), work/share+1) }

// together runs n parts of a task at once, the first in the caller's goroutine.
func together(n int, part func(n int)) {
	var others sync.WaitGroup
	for k := 1; k < n; k++ {
		others.Go(func() { part(k) })
	}
	part(0)
	others.Wait()
}

// shares cuts the pairs into so many parts of about one size, each of whole
// sites.
func (s *strip) shares(n int) [][]pair {
	shares := make([][]pair, n)
	from := 0
	for k := range shares {
		to := max(from, len(s.pairs)*(k+1)/n)
		for to > from && to < len(s.pairs) && s.pairs[to].site() == s.pairs[to-1].site() {
			to++
		}
		shares[k], from = s.pairs[from:to], to
	}
	return shares
}

// seek finds the hits of a share of the pairs, by site.
func (x *Index) seek(s *strip, pairs []pair) []Hit {
	k := x.seekers.Get().(*seeker)
	defer x.seekers.Put(k)
	k.strip = s
	hits := make([]Hit, 0, len(pairs)/3+1)
	for len(pairs) > 0 {
		n := 1
		for n < len(pairs) && pairs[n].site() == pairs[0].site() {
			n++
		}
		hits = k.passes(hits, x.positions, pairs[:n])
		pairs = pairs[n:]
	}
	return hits
}

// passes appends the hits of one site, given its pieces in order.
func (s *seeker) passes(hits []Hit, positions []orb.Point, pairs []pair) []Hit {
	at := positions[pairs[0].site()]
	from := newSight(at[0], at[1])
	for len(pairs) > 0 {
		n := 1
		for n < len(pairs) && pairs[n].piece() == pairs[n-1].piece()+1 {
			n++
		}
		first, last := &s.pieces[pairs[0].piece()], &s.pieces[pairs[n-1].piece()]
		run := s.pieces[pairs[0].piece() : pairs[n-1].piece()+1]
		look := from.turned(s.points[first.first][0])
		if s.onePass(&look, run) {
			if s.mayEnter(run) {
				hits = s.hit(hits, pairs[0].site(), &look, s.nearestOf(&look, run))
			}
		} else {
			for _, a := range s.walk(&look, first.first, last.last) {
				hits = s.hit(hits, pairs[0].site(), &look, a)
			}
		}
		pairs = pairs[n:]
	}
	return hits
}

// approach is a nearest point: a share t of a segment, and its distance.
type approach struct {
	segment   int
	t         float64
	distanceM float64
}

// hit appends an approach that lies in the corridor.
func (s *strip) hit(hits []Hit, site int, look *sight, a approach) []Hit {
	if a.distanceM > s.halfWidthM*1.01 {
		return hits
	}
	p, q := s.points[a.segment], s.points[a.segment+1]
	offsetM := earth.DistanceM(look.lon, look.lat, p[0]+a.t*(q[0]-p[0]), p[1]+a.t*(q[1]-p[1]))
	if offsetM > s.halfWidthM {
		return hits
	}
	fromM, toM := s.chainageM[a.segment], s.chainageM[a.segment+1]
	return append(hits, Hit{
		Site:       site,
		ChainageM:  fromM + a.t*(toM-fromM),
		OffsetM:    offsetM,
		Side:       side(look, p, q, offsetM),
		BearingDeg: earth.BearingDeg(p[0], p[1], q[0], q[1]),
	})
}

func side(look *sight, p, q orb.Point, offsetM float64) Side {
	if offsetM <= 1 {
		return On
	}
	switch cross := (q[0]-p[0])*(look.lat-p[1]) - (q[1]-p[1])*(look.lon-p[0]); {
	case cross > 0:
		return Left
	case cross < 0:
		return Right
	}
	return On
}

// onePass reports whether the run is sure to be one pass: seen along the
// chords it is one even at a rise that is smaller by all that the run can
// differ from its chords (persistence is stable: Cohen-Steiner, Edelsbrunner,
// Harer, Discrete Comput. Geom. 37, 2007). It leaves the distances to the
// chords in s.chordM, and a distance in s.boundM that the run comes within.
func (s *seeker) onePass(look *sight, run []piece) bool {
	s.chordM = s.chordM[:0]
	s.boundM = math.Inf(1)
	var strayM, skew float64
	for n := range run {
		strayM, skew = max(strayM, run[n].strayM), max(skew, run[n].skew)
	}
	walk := passWalk{riseM: s.riseM*0.99 - 2*strayM - 2*skew*s.halfWidthM}
	if !(walk.riseM > 0) {
		return false
	}
	for n := range run {
		p := &run[n]
		a, b := s.points[p.first], s.points[p.last]
		t, d2 := look.nearest(a, b)
		toChord := approach{n, t, math.Sqrt(d2)}
		walk.peak(look.distanceM(a))
		walk.near(toChord)
		if len(walk.done) > 0 {
			return false
		}
		s.chordM = append(s.chordM, toChord.distanceM)
		if toChord.distanceM < s.boundM {
			s.boundM = min(s.boundM, look.distanceM(s.points[p.first+int(t*float64(p.last-p.first))]))
		}
	}
	return true
}

// mayEnter reports whether a run that is one pass can come within the half
// width.
func (s *seeker) mayEnter(run []piece) bool {
	for n := range run {
		if s.chordM[n]-run[n].strayM <= s.halfWidthM*1.01 {
			return true
		}
	}
	return false
}

// walk returns the passes among the segments between two points.
func (s *strip) walk(look *sight, first, last int) []approach {
	walk := passWalk{riseM: s.riseM}
	endM := look.distanceM(s.points[first])
	for k := first; k < last; k++ {
		startM := endM
		endM = look.distanceM(s.points[k+1])
		walk.peak(startM)
		if walk.matters((startM + endM - s.atMostM(k)) / 2) {
			t, d2 := look.nearest(s.points[k], s.points[k+1])
			walk.near(approach{k, t, math.Sqrt(d2)})
		}
	}
	return walk.finish()
}

// nearestOf returns the nearest approach of a run that is one pass, the first
// of equals, looking only where the chords, boxes and points allow one.
func (s *seeker) nearestOf(look *sight, run []piece) approach {
	nearest := s.look(look, run)
	boundM := s.boundM
	if nearest.block != nil {
		bound2 := boundM * boundM
		for _, p := range s.points[nearest.block.first : nearest.block.last+1] {
			bound2 = min(bound2, look.distance2(p))
		}
		boundM = math.Sqrt(bound2)
	}
	boundM += tieM
	best := approach{distanceM: math.Inf(1)}
	for _, c := range s.chances {
		if c.leastM <= boundM {
			s.nearer(look, c.block, &best, &boundM)
		}
	}
	return best
}

// chance is a block that is no nearer than leastM.
type chance struct {
	block  *block
	leastM float64
}

// look fills s.chances with the blocks of a run that can hold its nearest
// approach, and returns the one that can be nearest.
func (s *seeker) look(look *sight, run []piece) chance {
	s.chances = s.chances[:0]
	nearest := chance{leastM: math.Inf(1)}
	boundM := s.boundM + tieM
	for n := range run {
		p := &run[n]
		if s.chordM[n]-p.strayM > boundM {
			continue
		}
		blocks := s.blocks[p.block : p.block+p.blocks]
		for i := range blocks {
			c := chance{&blocks[i], s.leastM(look, &blocks[i])}
			if c.leastM > boundM {
				continue
			}
			s.chances = append(s.chances, c)
			if c.leastM < nearest.leastM {
				nearest = c
			}
		}
	}
	return nearest
}

// nearer improves best, and the bound on it, with the segments of a block.
//
// On a plane no point of a segment of length l is nearer, squared, than the
// nearer end less l²/4. The metres here change along the block by its skew,
// which takes as much again, four times for two squares both ways.
func (s *seeker) nearer(look *sight, b *block, best *approach, boundM *float64) {
	share, quarter := 1-4*b.skew, b.longest2/4
	bound2 := *boundM * *boundM
	end2 := look.distance2(s.points[b.first])
	for k := b.first; k < b.last; k++ {
		start2 := end2
		end2 = look.distance2(s.points[k+1])
		if min(start2, end2)*share-quarter > bound2 {
			continue
		}
		t, d2 := look.nearest(s.points[k], s.points[k+1])
		if a := (approach{k, t, math.Sqrt(d2)}); a.distanceM < best.distanceM-tieM {
			*best = a
			*boundM = min(*boundM, a.distanceM+tieM)
			bound2 = *boundM * *boundM
		}
	}
}

// leastM returns a distance that a block is not nearer than.
func (s *strip) leastM(look *sight, b *block) float64 {
	p, q := s.points[b.first], s.points[b.last]
	h := p[1] - look.lat
	e, n := look.east.at(h), look.north.at(h)
	return math.Sqrt(fromChord2((look.lon-p[0])*e, -h*n, (q[0]-p[0])*e, (q[1]-p[1])*n))*(1-b.skew) - b.strayM
}

// tieM is how much nearer a later point must be to count as nearer: less than
// this is rounding, and a line that comes back on itself would be a coin toss.
const tieM = 1e-6

// passWalk turns segments, in order along the line, into passes. It keeps the
// nearest approach of the pass it is in and the peak of distance since.
// Distance along a straight segment has no peak inside, so the first points of
// segments are all the peaks there are.
type passWalk struct {
	riseM float64
	best  approach
	open  bool
	peakM float64
	done  []approach
}

// peak takes the distance of a segment's first point.
func (w *passWalk) peak(startM float64) { w.peakM = max(w.peakM, startM) }

// matters reports whether a segment that is no nearer than leastM could change
// anything.
func (w *passWalk) matters(leastM float64) bool {
	return !w.open || leastM < w.best.distanceM || w.peakM-max(w.best.distanceM, leastM) >= w.riseM
}

// near takes a segment's nearest approach.
func (w *passWalk) near(a approach) {
	if w.open && w.peakM-max(w.best.distanceM, a.distanceM) >= w.riseM {
		w.done = append(w.done, w.best)
		w.open = false
	}
	if !w.open || a.distanceM < w.best.distanceM-tieM {
		w.best, w.open, w.peakM = a, true, 0
	}
}

func (w *passWalk) finish() []approach {
	if w.open {
		w.done = append(w.done, w.best)
	}
	return w.done
}

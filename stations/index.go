package stations

import (
	"sync"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// Index finds the sites of a Set by position. It is safe for concurrent use
// once built; the Set must not change under it.
type Index struct {
	set       Set
	positions []orb.Point
	tree      rtree.RTreeGN[float32, uint32]
	strips    sync.Pool // of *strip, to be used again
	seekers   sync.Pool // of *seeker, likewise
}

// NewIndex puts an R-tree over the positions of a set. A set with a method
// Positions() []orb.Point lends its positions; of any other they are copied.
func NewIndex(set Set) *Index {
	x := &Index{set: set}
	x.strips.New = func() any { return new(strip) }
	x.seekers.New = func() any { return new(seeker) }
	if lender, ok := set.(interface{ Positions() []orb.Point }); ok {
		x.positions = lender.Positions()
	} else {
		x.positions = make([]orb.Point, set.Len())
		for i := range x.positions {
			x.positions[i][0], x.positions[i][1] = set.Position(i)
		}
	}
	for i, at := range x.positions {
		p := [2]float32{float32(at[0]), float32(at[1])}
		x.tree.Insert(p, p, uint32(i))
	}
	return x
}

// Set returns the set that was indexed.
func (x *Index) Set() Set { return x.set }

// Len returns the number of sites.
func (x *Index) Len() int { return x.set.Len() }

// search visits the sites in a piece's reach, each once, with their positions
// as the tree rounds them.
func (x *Index) search(p *piece, visit func(lon, lat float32, site uint32)) {
	for _, box := range boxes(p.reach, p.wholeParallel) {
		x.tree.Search(
			[2]float32{float32(box.Min[0]), float32(box.Min[1])},
			[2]float32{float32(box.Max[0]), float32(box.Max[1])},
			func(at, _ [2]float32, site uint32) bool {
				visit(at[0], at[1], site)
				return true
			})
	}
}

// around visits the sites within a distance of a position, and some beyond.
func (x *Index) around(lon, lat, distanceM float64, visit func(site int)) {
	p := &piece{}
	s := strip{points: []orb.Point{{lon, lat}}, halfWidthM: distanceM}
	p.eastM, p.northM = earth.DegreeM(lat)
	s.grow(p, orb.Bound{Min: s.points[0], Max: s.points[0]})
	x.search(p, func(_, _ float32, site uint32) { visit(int(site)) })
}

// boxes brings a reach, whose longitudes may be any number of turns away,
// back to −180..180; across the antimeridian that makes two boxes.
func boxes(reach orb.Bound, wholeParallel bool) []orb.Bound {
	if wholeParallel {
		reach.Min[0], reach.Max[0] = -180, 180
		return []orb.Bound{reach}
	}
	west := reach.Min[0]
	turn := lonDelta(0, west) - west
	reach.Min[0] += turn
	reach.Max[0] += turn
	if reach.Max[0] <= 180 {
		return []orb.Bound{reach}
	}
	east := reach
	east.Min[0], east.Max[0] = -180, reach.Max[0]-360
	reach.Max[0] = 180
	return []orb.Bound{reach, east}
}

package stations

import (
	"sync"

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
}

// NewIndex puts an R-tree over the positions of a set.
func NewIndex(set Set) *Index {
	x := &Index{set: set, positions: make([]orb.Point, set.Len())}
	x.strips.New = func() any { return new(strip) }
	for i := range x.positions {
		lon, lat := set.Position(i)
		x.positions[i] = orb.Point{lon, lat}
		p := [2]float32{float32(lon), float32(lat)}
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

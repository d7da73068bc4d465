package stations

import (
	"github.com/tidwall/rtree"
)

// Index finds the sites of a Set by position. It is safe for concurrent use
// once built; the Set must not change under it.
type Index struct {
	set  Set
	tree rtree.RTreeGN[float32, uint32]
}

// NewIndex puts an R-tree over the positions of a set.
func NewIndex(set Set) *Index {
	x := &Index{set: set}
	for i := range set.Len() {
		lon, lat := set.Position(i)
		p := [2]float32{float32(lon), float32(lat)}
		x.tree.Insert(p, p, uint32(i))
	}
	return x
}

// Set returns the set that was indexed.
func (x *Index) Set() Set { return x.set }

// Len returns the number of sites.
func (x *Index) Len() int { return x.set.Len() }

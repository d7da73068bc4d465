package stations

import "github.com/paulmach/orb"

// WholeWalk is the corridor by looking from every site at every segment.
var WholeWalk = wholeWalk

// WithoutTree is the corridor with everything but the tree: every site is held
// against the reach of every piece.
func (x *Index) WithoutTree(line orb.LineString, chainageM []float64, halfWidthM float64) []Hit {
	s := x.strips.Get().(*strip)
	defer x.strips.Put(s)
	s.lay(line, chainageM, halfWidthM)
	type reach struct {
		piece int
		box   orb.Bound
	}
	var all []reach
	for n := range s.pieces {
		for _, box := range boxes(s.pieces[n].reach, s.pieces[n].wholeParallel) {
			all = append(all, reach{n, box})
		}
	}
	for site, at := range x.positions {
		for _, r := range all {
			if r.box.Contains(at) && s.mayServe(&s.pieces[r.piece], at[0], at[1]) {
				s.pairs = append(s.pairs, pair(site)<<32|pair(r.piece))
			}
		}
	}
	return x.hits(s)
}

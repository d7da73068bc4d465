package place

import (
	"github.com/paulmach/orb"

	"ampleway/route/earth"
)

// Nearest returns the place nearest to a position, longitude before latitude,
// and false where none is within so many metres of it.
func (l *List) Nearest(at orb.Point, withinM float64) (Place, bool) {
	best, found := Place{}, false
	for _, p := range l.places {
		if m := earth.DistanceM(at[0], at[1], p.At[0], p.At[1]); m <= withinM {
			best, found, withinM = p, true, m
		}
	}
	return best, found
}

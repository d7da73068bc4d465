package trip

import (
	"fmt"
	"math"

	"ampleway/route/earth"
	"ampleway/route/question"

	"github.com/paulmach/orb"
)

// Coverage is whether station files know anything near a road. The zero value
// says nothing against them.
type Coverage struct {
	Empty              bool    // they hold no station at all
	NearestM           float64 // where none is near the whole road: about how far the nearest is
	BareFromM, BareToM float64 // the longest part of the road, by chainage, with none near
}

// coveredM is how near a station of any kind must be for a road to count as
// covered, and bareM how long a part without one must be to be told of: in
// country where people live, chargers of some kind are closer together.
const (
	coveredM = 50e3
	bareM    = 100e3

	roadSamples = 100 // places of the road that are looked at
)

// coverage looks at the part of a road between two chainages.
func (c *Corridor) coverage(fromM, toM float64) (out Coverage) {
	if c.index.Len() == 0 {
		return Coverage{Empty: true}
	}
	bareFromM, covered := math.NaN(), false
	for k := range roadSamples + 1 {
		atM := c.Route.LengthM() * float64(k) / roadSamples
		at := c.Route.At(atM)
		if len(c.index.Corridor(orb.LineString{{at.Lon, at.Lat}}, []float64{0}, coveredM)) > 0 {
			bareFromM, covered = math.NaN(), true
			continue
		}
		if math.IsNaN(bareFromM) {
			bareFromM = atM
		}
		if long := atM - bareFromM; long >= bareM && long > out.BareToM-out.BareFromM && bareFromM < toM && atM > fromM {
			out.BareFromM, out.BareToM = bareFromM, atM
		}
	}
	if !covered {
		return Coverage{NearestM: c.nearestM()}
	}
	return out
}

// nearestM is about how far the nearest station is from the road, to two
// digits.
func (c *Corridor) nearestM() float64 {
	bestM, set := math.Inf(1), c.index.Set()
	for k := range roadSamples + 1 {
		at := c.Route.At(c.Route.LengthM() * float64(k) / roadSamples)
		eastM, northM := earth.DegreeM(at.Lat)
		best, best2 := 0, math.Inf(1)
		for i := range set.Len() {
			lon, lat := set.Position(i)
			x, y := math.Remainder(lon-at.Lon, 360)*eastM, (lat-at.Lat)*northM
			if d2 := x*x + y*y; d2 < best2 {
				best, best2 = i, d2
			}
		}
		lon, lat := set.Position(best)
		bestM = min(bestM, earth.DistanceM(at.Lon, at.Lat, lon, lat))
	}
	digits := math.Pow(10, math.Floor(math.Log10(bestM))-1)
	return math.Round(bestM/digits) * digits
}

// Text gives the coverage in a sentence, empty where nothing is against it.
func (c Coverage) Text(u question.Units) string {
	switch {
	case c.Empty:
		return "The station files hold no station."
	case c.NearestM > 0:
		return fmt.Sprintf("The station files do not cover this road: their nearest station is about %s away from it.", u.Distance(c.NearestM))
	case c.BareToM > 0:
		return fmt.Sprintf("The station files have no station of any kind within %s of the road from %s to %s: look whether they cover that part.",
			u.Distance(coveredM), at(c.BareFromM, u), at(c.BareToM, u))
	}
	return ""
}

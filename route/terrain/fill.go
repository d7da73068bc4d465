package terrain

import (
	"cmp"
	"fmt"
	"math"

	"ampleway/route"
)

// DefaultSpacingM is how far apart a route is sampled at most: closer than
// the posts of 3 arc-seconds, so that no hill between two points of the line
// is missed.
const DefaultSpacingM = 50.0

// steepest is the grade no through road exceeds over a smoothing length:
// common practice, no source.
const steepest = 0.15

// Options says how a route is given elevations.
type Options struct {
	SpacingM float64 // longest piece after sampling, metres, at least 1; 0 means DefaultSpacingM
}

// Fill returns the route with elevations of the model, sampled along the line
// at least every SpacingM; those it has are replaced, as two sources differ by a
// step. Its notes say how much of it is without
// elevation, the ascent before and after smoothing over
// route.DefaultSmoothingM, and how far it would be steeper than 15 %: there
// the road is likely in a tunnel or on a bridge. The error is that of a tile
// that cannot be read. It panics if SpacingM is below 1 and not 0.
func (m *Model) Fill(r *route.Route, o Options) (*route.Route, error) {
	o.SpacingM = cmp.Or(o.SpacingM, DefaultSpacingM)
	dense := r.Densify(o.SpacingM)
	elevationsM := make([]float64, dense.Len())
	unknown := 0
	for i, p := range dense.All() {
		e, err := m.ElevationM(p.Lon, p.Lat)
		if err != nil {
			return nil, err
		}
		elevationsM[i] = e
		if math.IsNaN(e) {
			unknown++
		}
	}
	return noted(dense.WithElevations(elevationsM), unknown), nil
}

func noted(r *route.Route, unknown int) *route.Route {
	if unknown > 0 {
		r = r.WithNote(fmt.Sprintf("The height model knows no elevation for %d of %d points; they are filled along the road.", unknown, r.Len()))
	}
	if !r.HasElevation() {
		return r
	}
	raw, smooth := r.Climb(0), r.Climb(route.DefaultSmoothingM)
	r = r.WithNote(fmt.Sprintf("Elevations are from the height model: the ascent is %.0f m, and %.0f m after smoothing over %.0f m.", raw.AscentM, smooth.AscentM, route.DefaultSmoothingM))
	if steepM := steepM(r); steepM > 0 {
		r = r.WithNote(fmt.Sprintf("By the height model %.1f km are steeper than %.0f %%: likely tunnels or bridges, where it shows the ground above or below.", steepM/1000, steepest*100))
	}
	return r
}

// steepM is the length of road steeper than a road is.
func steepM(r *route.Route) float64 {
	sumM := 0.0
	for _, s := range r.Steps(route.StepOptions{}) {
		if math.Abs(s.RiseM) > steepest*s.LengthM {
			sumM += s.LengthM
		}
	}
	return sumM
}

package input

import (
	"context"
	"time"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/place"
	"ampleway/route/router"
	"ampleway/route/terrain"
	"ampleway/route/trip"

	"github.com/paulmach/orb"
)

// Road is a road by the places it joins, asked from the user's own router.
type Road struct {
	From, To string
	Via      []string
	Places   string // list of places; "demo" is the demo's; empty: lon,lat only
	Router   string // command or URL template, see package router
}

// Limits on a question for a detour: a road that begins or ends farther from a
// station than this does not lead to it.
const (
	detourTimeout = 10 * time.Second
	detourSnapM   = 500.0
)

// Roads asks the router for detours; nil where there is no router.
func (r Road) Roads() (trip.Roads, error) {
	if r.Router == "" {
		return nil, nil
	}
	ask, err := router.New(r.Router, router.Options{Timeout: detourTimeout, SnapM: detourSnapM})
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		pairs := make([]router.Pair, len(questions))
		for i, q := range questions {
			pairs[i] = router.Pair(q)
		}
		answers, errs, _ := ask.Ways(ctx, pairs) // the error is that of ctx, which errs have
		ways := make([]trip.Way, len(answers))
		for i, w := range answers {
			ways[i] = trip.Way(w)
		}
		return ways, errs
	}, nil
}

// Named reports whether the road itself is to be asked for.
func (r Road) Named() bool { return r.From != "" || r.To != "" || len(r.Via) > 0 }

// Given reports whether anything of a Road was asked for.
func (r Road) Given() bool { return r.Named() || r.Router != "" }

// Find asks the router for the road between places of a list.
func (r Road) Find(ctx context.Context, places *place.List) (*route.Route, error) {
	if r.From == "" || r.To == "" || r.Router == "" {
		return nil, &fault.Input{Field: "--from, --to and --router", Expected: "all three: where from, where to, and the road router to ask"}
	}
	ask, err := router.New(r.Router, router.Options{})
	if err != nil {
		return nil, err
	}
	var points []orb.Point
	for _, text := range append(append([]string{r.From}, r.Via...), r.To) {
		found, err := places.Find(text)
		if err != nil {
			return nil, err
		}
		points = append(points, found.At)
	}
	road, err := ask.Route(ctx, points...)
	if err != nil {
		return nil, err
	}
	road.Name = r.From + " to " + r.To
	return road, nil
}

// Heights fills routes with elevations of the user's tiles.
func Heights(routes []*route.Route, paths []string) error {
	if len(paths) == 0 {
		return nil
	}
	model, err := terrain.Open(paths...)
	if err != nil {
		return err
	}
	for i := range routes {
		if routes[i], err = model.Fill(routes[i], terrain.Options{}); err != nil {
			return err
		}
	}
	return nil
}

// Package nearby lists the stations that serve a route, as text, GeoJSON or
// CSV.
package nearby

import (
	"ampleway/route"
	"ampleway/route/trip"
	"ampleway/stations"
)

// List is what a corridor has.
type List struct {
	RouteName string
	LengthM   float64
	HalfWidth float64 // metres
	Passes    []Pass
	Refused   map[stations.Verdict]int // passes that are not listed, by reason
}

// Pass is a station where the route passes it.
type Pass struct {
	trip.Pass
	Offer stations.Offer   // the best that fits
	Why   stations.Verdict // against it; Taken where it serves
}

// Find lists the passes that a filter takes, or, with all, the refused ones
// too.
func Find(r *route.Route, index *stations.Index, halfWidthM float64, filter stations.Filter, all bool) List {
	corridor := trip.NewCorridor(r, index, trip.CorridorOptions{HalfWidthM: halfWidthM})
	list := List{RouteName: r.Name, LengthM: r.LengthM(), HalfWidth: halfWidthM, Refused: map[stations.Verdict]int{}}
	for _, p := range corridor.Passes {
		offer, why := filter.Judge(p.Site)
		if why != stations.Taken && !all {
			list.Refused[why]++
			continue
		}
		list.Passes = append(list.Passes, Pass{p, offer, why})
	}
	return list
}

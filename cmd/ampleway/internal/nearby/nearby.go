// Package nearby lists the stations that serve a route, as text, GeoJSON or
// CSV.
package nearby

import (
	"cmp"
	"slices"

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
	Credits   []string                 // whose the data are, see trip.Credits
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
	list := List{RouteName: r.Name, LengthM: r.LengthM(), HalfWidth: halfWidthM, Refused: map[stations.Verdict]int{}, Credits: corridor.Credits()}
	add := func(p trip.Pass, offer stations.Offer, why stations.Verdict) {
		if why != stations.Taken && !all {
			list.Refused[why]++
			return
		}
		list.Passes = append(list.Passes, Pass{p, offer, why})
	}
	for _, p := range corridor.Passes {
		offer, why := filter.Judge(p.Site)
		add(p, offer, why)
	}
	for _, p := range corridor.Barred {
		offer, _ := filter.Judge(p.Site)
		add(p, offer, trip.OtherDirection)
	}
	slices.SortStableFunc(list.Passes, func(a, b Pass) int { return cmp.Compare(a.ChainageM, b.ChainageM) })
	return list
}

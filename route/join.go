package route

import (
	"fmt"
	"slices"
	"strings"

	"ampleway/data/fault"
	"ampleway/route/earth"
)

// MaxJoinM is the widest gap between two routes that Join bridges.
const MaxJoinM = 1000.0

// Join drives one or more routes one after the other. The name is that of the first, the
// notes and credits are those of all. The error is a *fault.Input where the end of one and
// the start of the next are more than MaxJoinM apart.
func Join(routes ...*Route) (*Route, error) {
	if len(routes) == 1 {
		return routes[0], nil
	}
	var points []Point
	var notes, credits []string
	for i, r := range routes {
		if i > 0 {
			end, start := points[len(points)-1], r.Point(0)
			if gapM := earth.DistanceM(end.Lon, end.Lat, start.Lon, start.Lat); gapM > MaxJoinM {
				return nil, &fault.Input{File: r.Name, Found: fmt.Sprintf("a start %.1f km from the end of %s", gapM/1000, routes[i-1].Name), Expected: "routes that follow each other"}
			}
		}
		points = append(points, r.points...)
		notes = append(notes, r.Notes...)
		if r.Credit != "" && !slices.Contains(credits, r.Credit) {
			credits = append(credits, r.Credit)
		}
	}
	joined, err := New(routes[0].Name, points)
	if err != nil {
		return nil, err
	}
	joined.Notes, joined.Credit = notes, strings.Join(credits, "; ")
	return joined, nil
}

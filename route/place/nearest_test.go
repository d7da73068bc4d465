package place_test

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"ampleway/route/place"
)

func TestNearest(t *testing.T) {
	l, err := place.Read(strings.NewReader(`{"type":"FeatureCollection","features":[
		{"type":"Feature","geometry":{"type":"Point","coordinates":[-150.0,41.0]},"properties":{"name":"Near"}},
		{"type":"Feature","geometry":{"type":"Point","coordinates":[-150.2,41.0]},"properties":{"name":"Far"}}]}`), "list")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at      orb.Point
		withinM float64
		name    string
	}{{orb.Point{-150.05, 41}, 1e5, "Near"}, {orb.Point{-150.15, 41}, 1e5, "Far"}, {orb.Point{-150.05, 41}, 1000, ""}} {
		p, found := l.Nearest(c.at, c.withinM)
		if found != (c.name != "") || p.Name != c.name {
			t.Errorf("nearest to %v within %g m: %q, want %q", c.at, c.withinM, p.Name, c.name)
		}
	}
}

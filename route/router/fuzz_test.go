package router_test

import (
	"errors"
	"testing"

	"ampleway/data/fault"
	"ampleway/route/router"
)

// No template panics, and one that is refused says why as an input error.
func FuzzNew(f *testing.F) {
	for _, seed := range []string{
		"true" + ends, "true '{from.lonlat}' \"{to.latlon}\" {{x}}", "true {from.lon", "'", "}{",
		"http://localhost:1/{from.lonlat}/{to.lonlat}#line=a.0.b&format=polyline6&duration_s=t",
		"https://[::1/{from.lonlat}{to.lonlat}#%", "http://{from.lonlat}/{to.lonlat}",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, template string) {
		_, err := router.New(template, router.Options{})
		var in *fault.Input
		if err != nil && (!errors.As(err, &in) || in.File != "router template") {
			t.Fatalf("not an input error: %v", err)
		}
	})
}

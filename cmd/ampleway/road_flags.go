package main

import (
	"ampleway/route/input"

	"github.com/spf13/pflag"
)

// roadFlags are the options that name a road by its places instead of a file.
func roadFlags(f *pflag.FlagSet, r *input.Road, heights *[]string) {
	f.StringVar(&r.From, "from", "", "start, as lon,lat or a name in --places; needs --to and --router")
	f.StringVar(&r.To, "to", "", "destination, as lon,lat or a name in --places")
	f.StringArrayVar(&r.Via, "via", nil, "place on the way (repeatable)")
	f.StringVar(&r.Places, "places", "", "list of places: a GeoNames-style table or GeoJSON points")
	f.StringVar(&r.Router, "router", "", "your road router: a command or URL template with {from.lon} {from.lat} {to.lonlat} ...; see the help text")
	f.StringArrayVar(heights, "heights", nil, "SRTM .hgt tile or folder of tiles to take elevations from (repeatable)")
}

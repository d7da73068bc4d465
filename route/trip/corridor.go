package trip

import (
	"cmp"
	"slices"

	"ampleway/route"
	"ampleway/stations"
)

// Defaults of CorridorOptions.
const (
	// DefaultHalfWidthM is how far from the road a station may lie.
	DefaultHalfWidthM = 5000.0
	// DefaultDetourFactor is road distance over great-circle distance between
	// the road and a station: common practice, no source.
	DefaultDetourFactor = 1.4
	// DefaultDetourSpeedMS is the travel speed off the main road: 40 km/h,
	// common practice.
	DefaultDetourSpeedMS = 40 / 3.6
)

// CorridorOptions says which stations serve a road. Zero values mean the
// defaults above.
type CorridorOptions struct {
	StartName     string  // what to call the start; empty: "start"
	EndName       string  // what to call the destination; empty: "destination"
	HalfWidthM    float64 // great-circle distance from the road
	DetourFactor  float64 // road distance over great-circle distance, at least 1
	DetourSpeedMS float64 // travel speed off the main road
}

func (o CorridorOptions) withDefaults() CorridorOptions {
	if o.StartName == "" {
		o.StartName = "start"
	}
	if o.EndName == "" {
		o.EndName = "destination"
	}
	if o.HalfWidthM == 0 {
		o.HalfWidthM = DefaultHalfWidthM
	}
	if o.DetourFactor == 0 {
		o.DetourFactor = DefaultDetourFactor
	}
	if o.DetourSpeedMS == 0 {
		o.DetourSpeedMS = DefaultDetourSpeedMS
	}
	return o
}

// Corridor is a road with the sites that serve it. It knows geometry alone:
// no car, no weather.
type Corridor struct {
	Route   *route.Route
	Options CorridorOptions // with the defaults filled in
	Passes  []Pass          // in order of chainage
	Barred  []Pass          // that the direction of travel cannot enter
	Asked   *Asked          // what a road router was asked about them; nil: nothing

	index *stations.Index // that the passes are from
}

// Pass is a site as the road passes it. A road that passes a site twice has
// two passes of it.
type Pass struct {
	Site       *stations.Site
	ChainageM  float64 // where the driver leaves and rejoins the road
	OffsetM    float64 // great-circle distance from there to the site
	OneWayM    float64 // road distance from there to the site: half of the way there and back
	OneWayS    float64 // driving time of the same
	LongerInM  float64 // so much longer than OneWayM is the way there, and the way back so much shorter
	Stated     bool    // the detour is from the data, not estimated
	Asked      bool    // the detour is a road router's
	Unanswered bool    // a road router was asked for the detour and did not give it
}

// inM is the road distance to the site, outM that back to the road.
func (p *Pass) inM() float64  { return p.OneWayM + p.LongerInM }
func (p *Pass) outM() float64 { return p.OneWayM - p.LongerInM }

// inS and outS part the time there and back as the distance is.
func (p *Pass) inS() float64 {
	if p.LongerInM == 0 {
		return p.OneWayS
	}
	return p.OneWayS * p.inM() / p.OneWayM
}

func (p *Pass) outS() float64 { return 2*p.OneWayS - p.inS() }

// NewCorridor finds the sites within the half-width of a route.
func NewCorridor(r *route.Route, index *stations.Index, o CorridorOptions) *Corridor {
	o = o.withDefaults()
	c := &Corridor{Route: r, Options: o, index: index}
	sites := map[int]*stations.Site{}
	for _, hit := range index.Corridor(r.Line(), r.Chainages(), o.HalfWidthM) {
		site, known := sites[hit.Site]
		if !known {
			s := index.Set().Site(hit.Site)
			site = &s
			sites[hit.Site] = site
		}
		if site.Reach.Admits(hit.BearingDeg) {
			c.Passes = append(c.Passes, o.pass(site, hit))
		} else {
			c.Barred = append(c.Barred, o.pass(site, hit))
		}
	}
	slices.SortStableFunc(c.Passes, func(a, b Pass) int { return cmp.Compare(a.ChainageM, b.ChainageM) })
	return c
}

func (o CorridorOptions) pass(site *stations.Site, hit stations.Hit) Pass {
	p := Pass{
		Site:      site,
		ChainageM: hit.ChainageM,
		OffsetM:   hit.OffsetM,
		OneWayM:   site.AwayM(hit.OffsetM) * o.DetourFactor,
	}
	if site.DetourM > 0 {
		p.OneWayM, p.Stated = site.DetourM/2, true
	}
	p.OneWayS = p.OneWayM / o.DetourSpeedMS
	if site.DetourS > 0 {
		p.OneWayS = site.DetourS / 2
	}
	return p
}

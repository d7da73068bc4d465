package open

import (
	"fmt"

	"ampleway/stations"
)

// grouping joins rows into sites, wherever in the file they stand.
type grouping struct {
	c      *collector
	index  map[string]int
	named  map[stallKey]int // number of a stall within its site
	sites  []stations.Site
	places []at
	count  int // stalls of all sites
}

// stallKey is a stall that has a name.
type stallKey struct{ site, stall string }

func newGrouping(c *collector) *grouping {
	return &grouping{c: c, index: map[string]int{}, named: map[stallKey]int{}}
}

// site returns the site of a key, which the first row describes. Later rows
// that stand elsewhere are suspects.
func (g *grouping) site(key string, first stations.Site, where at) (*stations.Site, error) {
	if i, ok := g.index[key]; ok {
		s := &g.sites[i]
		if s.Lon != first.Lon || s.Lat != first.Lat {
			g.c.suspect(where, "position", fmt.Sprintf("%g, %g", first.Lon, first.Lat), fmt.Sprintf("the site %s is at %g, %g at %s: that is used", s.ID, s.Lon, s.Lat, g.places[i]))
		}
		return s, nil
	}
	if len(g.sites) >= g.c.limits.Records {
		return nil, g.c.tooMany("sites")
	}
	g.index[key] = len(g.sites)
	g.sites = append(g.sites, first)
	g.places = append(g.places, where)
	return &g.sites[len(g.sites)-1], nil
}

// stalls adds n like stalls to a site; they share their list of connectors. A
// stall that was there under the same name gets the connectors instead.
func (g *grouping) stalls(key string, s *stations.Site, stall stations.Stall, plugs []stations.Connector, n int) error {
	if stall.ID != "" {
		name := stallKey{key, stall.ID}
		if i, ok := g.named[name]; ok {
			s.Stalls[i].Connectors = append(s.Stalls[i].Connectors, plugs...)
			return g.counted(1)
		}
		g.named[name] = len(s.Stalls)
	}
	stall.Connectors = plugs
	for range n {
		s.Stalls = append(s.Stalls, stall)
	}
	return g.counted(n)
}

func (g *grouping) counted(n int) error {
	if g.count += n; g.count > g.c.limits.Records {
		return g.c.tooMany("stalls")
	}
	return nil
}

// flush hands the sites on in the order in which they began.
func (g *grouping) flush() error {
	for i := range g.sites {
		if err := g.c.add(g.sites[i], g.places[i]); err != nil {
			return err
		}
	}
	return nil
}

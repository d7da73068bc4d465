package open

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampleway/stations"
)

// grouping joins rows into sites, wherever in the file they stand.
type grouping struct {
	c     *collector
	index map[string]*foundSite
	named map[stallKey]int // number of a stall within its site
}

// stallKey is a stall that has a name.
type stallKey struct {
	site  *stations.Site
	stall string
}

func newGrouping(c *collector) *grouping {
	return &grouping{c: c, index: map[string]*foundSite{}, named: map[stallKey]int{}}
}

func (g *grouping) known(key string) bool { return g.index[key] != nil }

// site returns the site of a key, which the first row describes. Later rows
// that stand elsewhere are suspects. An empty key is the site's ID.
func (g *grouping) site(key string, first *stations.Site, where at) (*stations.Site, error) {
	key = cmp.Or(key, first.ID)
	if f, ok := g.index[key]; ok {
		s := &f.site
		if s.Lon != first.Lon || s.Lat != first.Lat {
			g.c.suspect(where, "position", fmt.Sprintf("%g, %g", first.Lon, first.Lat), fmt.Sprintf("the site %s is at %g, %g at %s: that is used", s.ID, s.Lon, s.Lat, f.where))
		}
		return s, nil
	}
	sameKey := key == first.ID
	g.c.keep(first)
	if err := g.c.add(*first, where); err != nil {
		return nil, err
	}
	if sameKey {
		key = first.ID
	} else {
		key = strings.Clone(key)
	}
	f := g.c.found.last()
	g.index[key] = f
	return &f.site, nil
}

// stalls adds n like stalls to a site; they share their list of connectors. A
// stall that was there under the same name gets the connectors instead.
func (g *grouping) stalls(s *stations.Site, stall stations.Stall, plugs []stations.Connector, n int) error {
	if stall.ID != "" {
		name := stallKey{s, stall.ID}
		if i, ok := g.named[name]; ok {
			s.Stalls[i].Connectors = append(s.Stalls[i].Connectors, plugs...)
			return g.c.counted(1)
		}
		stall.ID = strings.Clone(stall.ID)
		g.named[stallKey{s, stall.ID}] = len(s.Stalls)
	}
	stall.Connectors = plugs
	if err := g.c.counted(n); err != nil {
		return err
	}
	s.Stalls = slices.Grow(s.Stalls, n)
	for range n {
		s.Stalls = append(s.Stalls, stall)
	}
	return nil
}

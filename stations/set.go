package stations

// Set is a collection of sites by number, 0..Len()−1. A set may keep its sites
// in any form: Site builds one record and may cost more than Position.
// Position is where a route finds the site: Site.RoadPosition.
type Set interface {
	Len() int
	Position(i int) (lon, lat float64)
	Site(i int) Site
}

// Sites is the plain Set.
type Sites []Site

// Len returns the number of sites.
func (s Sites) Len() int { return len(s) }

// Position returns where a route finds a site.
func (s Sites) Position(i int) (lon, lat float64) { return s[i].RoadPosition() }

// Site returns a copy of a site.
func (s Sites) Site(i int) Site { return s[i] }

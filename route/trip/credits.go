package trip

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampleway/stations"
)

// mostCredited is how many sources under one licence are named; a file may have
// one for each record.
const mostCredited = 30

// osmCredit is the notice that the Open Database License 1.0, section 4.3, asks
// for, in the words and with the link of the OpenStreetMap Foundation's
// attribution guidelines.
const osmCredit = "© OpenStreetMap contributors, ODbL 1.0 (https://www.openstreetmap.org/copyright)."

// Credits says whose data plans are made from and under which licence, one
// sentence a licence. It belongs wherever the plans are shown. All stations along
// the road are meant, as the choice is made among them; those of the stops are
// named first.
func Credits(plans ...*Plan) []string {
	var c credits
	corridors := make([]*Corridor, len(plans))
	for k, p := range plans {
		corridors[k] = p.Drive.Corridor
		for i := range p.Stops {
			c.add(p.Stops[i].Charger.Site)
		}
	}
	return c.of(corridors)
}

// Credits says the same of a road and of all stations along it.
func (c *Corridor) Credits() []string {
	var own credits
	return own.of([]*Corridor{c})
}

// StationCredits says the same of all stations of a set, what being said of
// them before their source.
func StationCredits(what string, set stations.Set) []string {
	var c credits
	for i := range set.Len() {
		site := set.Site(i)
		c.add(&site)
	}
	return c.sentences(what)
}

// of are the sentences of corridors, their roads first.
func (c *credits) of(corridors []*Corridor) []string {
	for _, corridor := range corridors {
		for _, passes := range [][]Pass{corridor.Passes, corridor.Barred} {
			for i := range passes {
				c.add(passes[i].Site)
			}
		}
	}
	return append(roadCredits(corridors), c.sentences("Stations along the road")...)
}

// roadCredits are of the roads whose file or router says whose they are.
func roadCredits(corridors []*Corridor) []string {
	out := []string{}
	for _, c := range corridors {
		text := "Road: " + c.Route.Credit + "."
		if isOSM(text) {
			text = "Road: " + osmCredit
		}
		if c.Route.Credit != "" && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

func isOSM(text string) bool {
	return strings.Contains(strings.ToLower(text), strings.ToLower(stations.OSM))
}

type credits struct {
	seen  map[[2]string]bool
	osm   bool
	terms []*terms
}

// terms are the sources under one licence; empty: not stated.
type terms struct {
	licence string
	sources []string
}

func (c *credits) add(s *stations.Site) {
	for i := range s.Parts {
		c.add(&s.Parts[i])
	}
	key := [2]string{s.Source, s.Licence}
	if len(s.Parts) > 0 || c.seen[key] {
		return
	}
	if c.seen == nil {
		c.seen = map[[2]string]bool{}
	}
	c.seen[key] = true
	if isOSM(s.Source) {
		c.osm = true
		return
	}
	n := slices.IndexFunc(c.terms, func(t *terms) bool { return t.licence == s.Licence })
	if n < 0 {
		n = len(c.terms)
		c.terms = append(c.terms, &terms{licence: s.Licence})
	}
	c.terms[n].sources = append(c.terms[n].sources, s.Source)
}

func (c *credits) sentences(what string) []string {
	var out []string
	if c.osm {
		out = append(out, what+": "+osmCredit)
	}
	for _, t := range c.terms {
		out = append(out, what+": "+t.text())
	}
	return out
}

func (t *terms) text() string {
	names := slices.Clone(t.sources)
	if n := slices.Index(names, ""); n >= 0 {
		names = append(slices.Delete(names, n, n+1), "a source that the data do not name")
	}
	if more := len(names) - mostCredited; more > 0 {
		names = append(names[:mostCredited], fmt.Sprintf("%d more that the data name", more))
	}
	return fmt.Sprintf("%s. Licence: %s.", strings.Join(names, "; "), cmp.Or(t.licence, "not stated"))
}

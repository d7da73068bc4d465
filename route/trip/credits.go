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
	c := credits{seen: map[[2]string]bool{}}
	for _, p := range plans {
		for i := range p.Stops {
			c.add(p.Stops[i].Charger.Site)
		}
	}
	for _, p := range plans {
		for i := range p.Drive.Corridor.Passes {
			c.add(p.Drive.Corridor.Passes[i].Site)
		}
	}
	return append(roadCredits(plans), c.sentences()...)
}

// roadCredits are of the roads whose file or router says whose they are.
func roadCredits(plans []*Plan) []string {
	out := []string{}
	for _, p := range plans {
		text := "Road: " + p.Drive.Corridor.Route.Credit + "."
		if isOSM(text) {
			text = "Road: " + osmCredit
		}
		if p.Drive.Corridor.Route.Credit != "" && !slices.Contains(out, text) {
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

func (c *credits) sentences() []string {
	const about = "Stations along the road: "
	var out []string
	if c.osm {
		out = append(out, about+osmCredit)
	}
	for _, t := range c.terms {
		out = append(out, about+t.text())
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

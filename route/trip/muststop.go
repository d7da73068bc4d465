package trip

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampleway/data/fault"
	"ampleway/route/question"
	"ampleway/stations"
)

// UnmadeStop is a stop that was asked for and cannot be made, and why.
type UnmadeStop struct {
	Site       *stations.Site
	Why        stations.Verdict // empty: it is too far off the road
	Plugs      []stations.ConnectorType
	OffM       float64 // great-circle distance from the road; +Inf: beyond farthestM
	HalfWidthM float64 // of the corridor
}

const (
	mayBeClosed stations.Verdict = "it may be closed when you come by"

	// farthestM is how far off the road a station that was asked for is looked
	// for.
	farthestM = 200e3
)

// mustStand returns a *fault.Input for a stop asked for at a station that the
// files do not have, and a *NoPlan for one at a station that this drive cannot
// use or that closed holds.
func (d *Drive) mustStand(g Goal, closed shut) error {
	for _, id := range g.Must {
		i := slices.IndexFunc(d.Chargers, func(c Charger) bool { return c.Site.ID == id })
		switch {
		case i < 0:
			stop, err := d.unmadeStop(id)
			if err != nil {
				return err
			}
			return d.whyUnmade(g, stop)
		case closed[d.Chargers[i].Site]:
			return d.whyUnmade(g, &UnmadeStop{Site: d.Chargers[i].Site, Why: mayBeClosed})
		}
	}
	return nil
}

// missesMust reports whether a stop was asked for at a station that the drive
// does not use, or that closed holds.
func (d *Drive) missesMust(g Goal, closed shut) bool {
	return slices.ContainsFunc(g.Must, func(id string) bool {
		return !slices.ContainsFunc(d.Chargers, func(c Charger) bool { return c.Site.ID == id && !closed[c.Site] })
	})
}

// withoutMust is the remedy of giving up the stops that were asked for.
func (d *Drive) withoutMust(g Goal) []Remedy {
	asked := len(g.Must) > 0
	if g.Must = nil; asked && d.holds(g) {
		return []Remedy{{Wish: &noMust}}
	}
	return nil
}

// unmadeStop finds the station of an ID that the drive does not use.
func (d *Drive) unmadeStop(id string) (*UnmadeStop, error) {
	for i := range d.Refused {
		if r := &d.Refused[i]; r.Site.ID == id {
			stop := &UnmadeStop{Site: r.Site, Why: r.Why}
			if r.Why == stations.NoConnector {
				stop.Plugs = d.Options.Filter.Misfits(r.Site)
			}
			return stop, nil
		}
	}
	set := d.Corridor.index.Set()
	expected := "the ID of a station: the station files have none with this ID (ampleway stations near --format csv lists them)"
	for i := range set.Len() {
		site := set.Site(i)
		if site.ID == id {
			return &UnmadeStop{Site: &site, OffM: d.Corridor.offM(site), HalfWidthM: d.Corridor.Options.HalfWidthM}, nil
		}
		if slices.ContainsFunc(site.Parts, func(part stations.Site) bool { return part.ID == id }) {
			expected = fmt.Sprintf("the ID that the station goes by: this record is merged into %s, %s", site.ID, SiteName(&site))
		}
	}
	return nil, &fault.Input{Field: "must", Found: id, Expected: expected}
}

// offM is how far a site lies off the road, +Inf beyond farthestM.
func (c *Corridor) offM(site stations.Site) float64 {
	off := math.Inf(1)
	for _, hit := range stations.NewIndex(stations.Sites{site}).Corridor(c.Route.Line(), c.Route.Chainages(), farthestM) {
		off = min(off, hit.OffsetM)
	}
	return off
}

// whyUnmade says what would make a trip possible whose stop cannot be made.
func (d *Drive) whyUnmade(g Goal, stop *UnmadeStop) *NoPlan {
	n := &NoPlan{Stop: stop, Confidence: g.Confidence, From: d.placeName(nil, true), To: d.placeName(nil, false), ToM: d.Profile.LengthM()}
	if g.terse {
		return n
	}
	reason := LeftOut{Why: stop.Why}
	reason.add(stop.Site, d.Options.Filter)
	n.LeftOut = []LeftOut{reason}
	n.Remedies = append(d.otherInlets(g, n), d.lessWished(g)...)
	if stop.Why == stations.Taken {
		if r, ok := d.farther(g); ok {
			n.Remedies = append(n.Remedies, r)
		}
	}
	n.Remedies = append(n.Remedies, d.withoutMust(g)...)
	n.Plugs, n.LeftOut = d.plugsFirst(n), nil
	return n
}

var noMust = wish{text: "plan without that stop (without --must)", change: func(r *question.Question) { r.Must = nil }}

// text says why a stop cannot be made, as the rest of a sentence.
func (s *UnmadeStop) text(u question.Units) string {
	name := SiteName(s.Site)
	if name != s.Site.ID {
		name += " (" + s.Site.ID + ")"
	}
	return "the stop asked for at " + name + " cannot be made: " + s.why(u)
}

func (s *UnmadeStop) why(u question.Units) string {
	switch {
	case math.IsInf(s.OffM, 1):
		return fmt.Sprintf("it is more than %s off the road", u.Distance(farthestM))
	case s.Why == stations.Taken:
		return fmt.Sprintf("it is %s off the road, and only stations within %s of it are used", u.Distance(s.OffM), u.Distance(s.HalfWidthM))
	case s.Why == mayBeClosed:
		return fmt.Sprintf("%s (open %s)", s.Why, s.Site.Hours)
	case len(s.Plugs) == 0:
		return string(s.Why)
	}
	var plugs []string
	for _, p := range s.Plugs {
		plugs = append(plugs, p.Sanitized())
	}
	return string(s.Why) + " (it has " + strings.Join(plugs, ", ") + ")"
}

// unmatched are sentences on words of a request that fit no station along the
// road, so that they leave out nothing, or let in nothing.
func (d *Drive) unmatched() []string {
	var out []string
	for _, w := range d.Options.Filter.Avoid {
		if !d.anyPass(func(s *stations.Site) bool { return s.Goes(w) || strings.EqualFold(w, s.ID) }) {
			out = append(out, fmt.Sprintf("No station along this road has the operator, network or ID %q: --avoid leaves out nothing by it.", w))
		}
	}
	for _, w := range d.Options.Filter.Only {
		if !d.anyPass(func(s *stations.Site) bool { return s.Goes(w) }) {
			out = append(out, fmt.Sprintf("No station along this road has the operator or network %q that --only asks for.", w))
		}
	}
	if d.Options.asked == nil {
		return out
	}
	for _, w := range d.Options.asked.Connector {
		connector, _ := stations.ConnectorFor(w)
		if !d.anyPass(func(s *stations.Site) bool { return s.Plugs(connector) > 0 }) {
			out = append(out, fmt.Sprintf("No station along this road has the connector %q that --connector asks for.", w))
		}
	}
	return out
}

func (d *Drive) anyPass(fits func(*stations.Site) bool) bool {
	for _, passes := range [][]Pass{d.Corridor.Passes, d.Corridor.Barred} {
		if slices.ContainsFunc(passes, func(p Pass) bool { return fits(p.Site) }) {
			return true
		}
	}
	return false
}

package read

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"encoding/xml"

	"ampleway/data/fault"
)

// readGPX reads tracks and routes. Element names are taken without their
// namespace, so that versions 1.0, 1.1 and files without one read alike; what
// stands in extensions is passed over. A file with both tracks and routes
// gives its tracks, which follow the road more closely.
func (f *file) readGPX(text []byte) *fault.Input {
	g := &gpx{file: f, xml: newXMLReader(text)}
	if err := g.document(); err != nil {
		return g.xml.located(err)
	}
	f.parts = g.tracks
	if len(g.tracks) == 0 {
		f.parts = g.routes
	} else if len(g.routes) > 0 {
		f.note("Routes left out, as the file has tracks too: %d.", g.nRoutes)
	}
	if len(f.parts) == 0 {
		return &fault.Input{Found: fmt.Sprintf("%d waypoints and no line", g.nWaypoints), Expected: "GPX with a track or a route"}
	}
	return nil
}

type gpx struct {
	file                         *file
	xml                          *xmlReader
	tracks, routes               []part // those with at least one point
	nTracks, nRoutes, nWaypoints int
}

func (g *gpx) document() *fault.Input {
	root, err := g.xml.root()
	if err != nil {
		return err
	}
	if root.Name.Local != "gpx" {
		return &fault.Input{Field: "root element", Found: "<" + root.Name.Local + ">", Expected: "GPX, with the root element <gpx>"}
	}
	err = g.xml.children(func(e xml.StartElement) *fault.Input {
		switch e.Name.Local {
		case "name":
			return g.xml.text(&g.file.name)
		case "metadata":
			return g.metadata()
		case "trk":
			return g.track()
		case "rte":
			return g.route()
		case "wpt":
			g.nWaypoints++
		}
		return g.xml.skip()
	})
	if err != nil {
		return err
	}
	return g.xml.end()
}

func (g *gpx) metadata() *fault.Input {
	return g.xml.children(func(e xml.StartElement) *fault.Input {
		switch e.Name.Local {
		case "name":
			return g.xml.text(&g.file.name)
		case "copyright":
			return g.copyright(e)
		}
		return g.xml.skip()
	})
}

// copyright reads who holds the rights in the file, and the licence (GPX 1.1,
// copyrightType).
func (g *gpx) copyright(e xml.StartElement) *fault.Input {
	const most = 1000
	author, licence := "", ""
	for _, a := range e.Attr {
		if a.Name.Local == "author" && len(a.Value) <= most {
			author = strings.TrimSpace(a.Value)
		}
	}
	err := g.xml.children(func(e xml.StartElement) *fault.Input {
		if e.Name.Local == "license" {
			return g.xml.text(&licence)
		}
		return g.xml.skip()
	})
	if licence != "" {
		licence = "licence " + licence
	}
	g.file.credit = strings.Join(slices.DeleteFunc([]string{author, licence}, func(s string) bool { return s == "" }), ", ")
	return err
}

func (g *gpx) track() *fault.Input {
	g.nTracks++
	var name string
	first, segments := len(g.tracks), 0
	err := g.xml.children(func(e xml.StartElement) *fault.Input {
		switch e.Name.Local {
		case "name":
			return g.xml.text(&name)
		case "trkseg":
			segments++
			p := part{place: fmt.Sprintf("track %d segment %d", g.nTracks, segments)}
			if err := g.points("trkpt", &p, nil); err != nil {
				return err
			}
			if len(p.samples) > 0 {
				g.tracks = append(g.tracks, p)
			}
			return nil
		}
		return g.xml.skip()
	})
	for i := first; i < len(g.tracks); i++ {
		g.tracks[i].name = name
	}
	return err
}

func (g *gpx) route() *fault.Input {
	g.nRoutes++
	p := part{place: fmt.Sprintf("route %d", g.nRoutes)}
	if err := g.points("rtept", &p, &p.name); err != nil {
		return err
	}
	if len(p.samples) > 0 {
		g.routes = append(g.routes, p)
	}
	return nil
}

// points reads the point elements among the children into p, and a name into
// name where that is wanted.
func (g *gpx) points(element string, p *part, name *string) *fault.Input {
	return g.xml.children(func(e xml.StartElement) *fault.Input {
		switch {
		case e.Name.Local == element:
			s, err := g.point(e)
			if err != nil {
				return err
			}
			p.samples = append(p.samples, s)
			return g.file.count(1)
		case e.Name.Local == "name" && name != nil:
			return g.xml.text(name)
		}
		return g.xml.skip()
	})
}

func (g *gpx) point(e xml.StartElement) (sample, *fault.Input) {
	lat, err := coordinate(e, "lat")
	if err != nil {
		return sample{}, err
	}
	lon, err := coordinate(e, "lon")
	if err != nil {
		return sample{}, err
	}
	s, err := position(lon, lat)
	if err != nil {
		return s, err
	}
	err = g.xml.children(func(e xml.StartElement) *fault.Input {
		switch e.Name.Local {
		case "ele":
			return g.number(&s.elevationM, "ele", "metres")
		case "speed":
			return g.number(&s.speedMS, "speed", "m/s")
		case "time":
			return g.time(&s.timeS)
		}
		return g.xml.skip()
	})
	s.elevationM = g.file.elevation(s.elevationM)
	if !(s.speedMS > 0 && s.speedMS < fastestMS) {
		s.speedMS = 0
	}
	return s, err
}

func coordinate(e xml.StartElement, name string) (float64, *fault.Input) {
	const expected = "decimal degrees with a decimal point"
	for _, a := range e.Attr {
		if a.Name.Local != name {
			continue
		}
		x, err := strconv.ParseFloat(strings.TrimSpace(a.Value), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return 0, &fault.Input{Field: name, Found: quoted(a.Value), Expected: expected}
		}
		return x, nil
	}
	return 0, &fault.Input{Field: name, Found: "no such attribute in <" + e.Name.Local + ">", Expected: expected}
}

// number reads the text of an element as a finite number; an empty element
// leaves x as it is.
func (g *gpx) number(x *float64, field, unit string) *fault.Input {
	var text string
	if err := g.xml.text(&text); err != nil || text == "" {
		return err
	}
	v, parseErr := strconv.ParseFloat(text, 64)
	if parseErr != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return &fault.Input{Field: field, Found: quoted(text), Expected: "a number of " + unit}
	}
	*x = v
	return nil
}

// time reads an ISO 8601 time; one without a zone is UTC, as GPX says.
func (g *gpx) time(timeS *float64) *fault.Input {
	var text string
	if err := g.xml.text(&text); err != nil || text == "" {
		return err
	}
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04:05.999999999"} {
		if t, err := time.Parse(layout, text); err == nil {
			*timeS = float64(t.Unix()) + float64(t.Nanosecond())/1e9
			return nil
		}
	}
	return &fault.Input{Field: "time", Found: quoted(text), Expected: "an ISO 8601 time such as 2026-03-01T08:30:00Z"}
}

func quoted(s string) string {
	if s == "" {
		return "nothing"
	}
	return `"` + s + `"`
}

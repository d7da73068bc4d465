package main

import (
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

const (
	straightM   = 8.0 // vertices nearer than this to the line without them are left out
	offRoadKm   = 0.25
	sideRoadKmh = 50
)

// extract gathers nodes and ways with ids counted from 1.
type extract struct {
	nodes []orb.Point // lon, lat, rounded
	names []string
	ways  []way
	seen  map[orb.Point]int
}

type way struct {
	nodes []int
	tags  [][2]string
}

// roadExtract writes all roads and side roads in the OSM XML format 0.6: nodes
// at one position are one node, so that roads meet where they cross in a place.
func roadExtract(roads []road, all []placed) []byte {
	e := extract{seen: make(map[orb.Point]int)}
	for _, p := range places {
		e.names[e.node(p.at())-1] = p.name
	}
	for n := range roads {
		r := &roads[n]
		breaks := r.breaks(n, all)
		for i := 1; i < len(breaks); i++ {
			e.addStretch(r, breaks[i-1], breaks[i])
		}
	}
	for _, p := range all {
		if math.Abs(p.leftKm) >= offRoadKm {
			e.addSideRoad(p, roads[p.road].line[p.junction])
		}
	}
	return e.xml()
}

// breaks are the points where one way ends and the next begins: at places, at
// side roads and where the limit changes.
func (r *road) breaks(number int, all []placed) []int {
	at := map[int]bool{}
	for _, k := range r.knots {
		at[k] = true
	}
	for _, p := range all {
		if p.road == number && math.Abs(p.leftKm) >= offRoadKm {
			at[p.junction] = true
		}
	}
	var out []int
	for i := range r.line {
		if at[i] || i > 0 && i < len(r.line)-1 && r.limitKmh[i] != r.limitKmh[i-1] {
			out = append(out, i)
		}
	}
	return out
}

func (e *extract) addStretch(r *road, from, to int) {
	line := make(orb.LineString, 0, to-from+1)
	for _, p := range r.line[from : to+1] {
		line = append(line, orb.Point{p.x, p.y})
	}
	tags := [][2]string{
		{"highway", r.kind[from].highway}, {"name", r.plan.name}, {"ref", r.plan.ref},
		{"maxspeed", number(r.limitKmh[from])}, {"oneway", "no"},
	}
	e.addWay(simplify.DouglasPeucker(straightM).LineString(line), tags)
}

func (e *extract) addSideRoad(p placed, from xy) {
	var line orb.LineString
	for _, q := range p.sideRoad(from) {
		line = append(line, orb.Point{q.x, q.y})
	}
	e.addWay(line, [][2]string{{"highway", "tertiary"}, {"name", "Lane to " + p.name}, {"maxspeed", strconv.Itoa(sideRoadKmh)}})
}

func (e *extract) addWay(line orb.LineString, tags [][2]string) {
	w := way{tags: tags}
	for _, p := range line {
		w.nodes = append(w.nodes, e.node(xy{p[0], p[1]}))
	}
	e.ways = append(e.ways, w)
}

// node returns the id of the node at a position, new or known.
func (e *extract) node(p xy) int {
	lon, lat := p.lonLat()
	at := orb.Point{round(lon, 5), round(lat, 5)}
	if id, ok := e.seen[at]; ok {
		return id
	}
	e.nodes, e.names = append(e.nodes, at), append(e.names, "")
	e.seen[at] = len(e.nodes)
	return len(e.nodes)
}

func (e *extract) xml() []byte {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<osm version=\"0.6\" generator=\"ampleway demo\">\n")
	fmt.Fprintf(&b, "<!-- %s Nodes and ways are numbered from 1 and are not those of OpenStreetMap. -->\n", escape(invented))
	box := orb.MultiPoint(e.nodes).Bound()
	fmt.Fprintf(&b, "<bounds minlat=%q minlon=%q maxlat=%q maxlon=%q/>\n",
		number(box.Min.Lat()), number(box.Min.Lon()), number(box.Max.Lat()), number(box.Max.Lon()))
	for i, p := range e.nodes {
		fmt.Fprintf(&b, "<node id=\"%d\" version=\"1\" lat=%q lon=%q", i+1, number(p.Lat()), number(p.Lon()))
		if e.names[i] == "" {
			b.WriteString("/>\n")
			continue
		}
		fmt.Fprintf(&b, "><tag k=\"name\" v=\"%s\"/></node>\n", escape(e.names[i]))
	}
	for i, w := range e.ways {
		fmt.Fprintf(&b, "<way id=\"%d\" version=\"1\">", i+1)
		for _, n := range w.nodes {
			fmt.Fprintf(&b, "<nd ref=\"%d\"/>", n)
		}
		for _, t := range w.tags {
			fmt.Fprintf(&b, "<tag k=\"%s\" v=\"%s\"/>", t[0], escape(t[1]))
		}
		b.WriteString("</way>\n")
	}
	b.WriteString("</osm>\n")
	return []byte(b.String())
}

func escape(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		panic("make: " + err.Error())
	}
	return b.String()
}

package open

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// osmPlaces remembers where nodes are, so that stations drawn as ways or
// relations get a position: the middle of the box around them. Nodes may come
// before or after.
type osmPlaces struct {
	c       *collector
	nodes   places
	ways    places // the middle of each way whose nodes are known
	waiting []osmShape
	later   []osmShape // ways that came before the order of the nodes was known
	full    bool

	laterNodes int
}

// osmShape is a station that is a way or relation, waiting for its nodes.
type osmShape struct {
	kind    string
	id      int64
	nodes   []int64
	ways    []int64
	tags    osmTags
	updated time.Time
	where   at
}

// places is a table of positions by ID, 16 bytes each, in 1e-7 degrees.
type places struct {
	list   []place
	sorted bool
}

type place struct {
	id       int64
	lon, lat int32
}

const placeUnit = 1e-7

func (p *places) add(id int64, lon, lat float64) {
	p.sorted = p.sorted && (len(p.list) == 0 || p.list[len(p.list)-1].id < id) || len(p.list) == 0
	p.list = append(p.list, place{id, int32(lon / placeUnit), int32(lat / placeUnit)})
}

func (p *places) get(id int64) (lon, lat float64, ok bool) {
	if !p.sorted {
		slices.SortFunc(p.list, func(a, b place) int { return cmp.Compare(a.id, b.id) })
		p.sorted = true
	}
	i, ok := slices.BinarySearchFunc(p.list, id, func(e place, id int64) int { return cmp.Compare(e.id, id) })
	if !ok {
		return 0, 0, false
	}
	return float64(p.list[i].lon) * placeUnit, float64(p.list[i].lat) * placeUnit, true
}

// onGlobe reports whether a position can be stored and used.
func onGlobe(lon, lat float64) bool {
	return lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90
}

func newShape(kind string, id int64, tags osmTags, updated time.Time) osmShape {
	return osmShape{kind: kind, id: id, tags: tags, updated: updated, where: at{unit: kind, n: id}}
}

// member takes a member of a relation; only nodes and ways tell where it is.
func (s *osmShape) member(kind string, ref int64) {
	switch kind {
	case "node":
		s.nodes = append(s.nodes, ref)
	case "way":
		s.ways = append(s.ways, ref)
	}
}

// point takes a node: a station or not.
func (o *osmPlaces) point(id int64, lon, lat float64, tags osmTags, updated time.Time) error {
	o.node(id, lon, lat)
	return o.c.addOSM(fmt.Sprintf("node/%d", id), lon, lat, tags, updated, at{unit: "node", n: id})
}

func (o *osmPlaces) node(id int64, lon, lat float64) {
	if o.room() && onGlobe(lon, lat) {
		o.nodes.add(id, lon, lat)
	}
}

// shape takes a way or relation: stations wait for their nodes, and of other
// ways the middle is kept for relations.
func (o *osmPlaces) shape(s osmShape) error {
	if _, ok := osmStation(s.tags.get); ok {
		if len(o.waiting) >= o.c.limits.Records {
			return o.c.tooMany("ways and relations")
		}
		o.waiting = append(o.waiting, s)
		return nil
	}
	o.c.report.Ignored++
	switch {
	case s.kind != "way" || !o.room():
	case o.nodes.sorted:
		o.way(s.id, s.nodes)
	default:
		s.tags = nil
		o.later = append(o.later, s)
		o.laterNodes += len(s.nodes)
	}
	return nil
}

func (o *osmPlaces) way(id int64, nodes []int64) {
	if lon, lat, ok := o.middle(nodes, nil); ok {
		o.ways.add(id, lon, lat)
	}
}

func (o *osmPlaces) room() bool {
	if len(o.nodes.list)+len(o.ways.list)+len(o.later)+o.laterNodes < o.c.limits.Positions {
		return true
	}
	o.full = true
	return false
}

func (o *osmPlaces) middle(nodes, ways []int64) (lon, lat float64, ok bool) {
	b := emptyBox()
	for _, id := range nodes {
		if lon, lat, ok := o.nodes.get(id); ok {
			b.add(lon, lat)
		}
	}
	for _, id := range ways {
		if lon, lat, ok := o.ways.get(id); ok {
			b.add(lon, lat)
		}
	}
	return (b.west + b.east) / 2, (b.south + b.north) / 2, b.west <= b.east
}

// flush adds the shapes that waited.
func (o *osmPlaces) flush() error {
	for _, w := range o.later {
		o.way(w.id, w.nodes)
	}
	for _, s := range o.waiting {
		lon, lat, ok := o.middle(s.nodes, s.ways)
		if !ok {
			reason := "a position: its nodes in the same file, or an export with centres"
			if o.full {
				reason = fmt.Sprintf("a position: more than %d nodes in the file; filter it by amenity=charging_station first, with referenced nodes", o.c.limits.Positions)
			}
			o.c.reject(s.where, "position", "none", reason)
			continue
		}
		if err := o.c.addOSM(fmt.Sprintf("%s/%d", s.kind, s.id), lon, lat, s.tags, s.updated, s.where); err != nil {
			return err
		}
	}
	return nil
}

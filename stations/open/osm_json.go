package open

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// element is an element of Overpass JSON.
type element struct {
	Type   string   `json:"type"`
	ID     int64    `json:"id"`
	Lon    *float64 `json:"lon"`
	Lat    *float64 `json:"lat"`
	Center *lonLat  `json:"center"`
	Bounds *struct {
		MinLon float64 `json:"minlon"`
		MinLat float64 `json:"minlat"`
		MaxLon float64 `json:"maxlon"`
		MaxLat float64 `json:"maxlat"`
	} `json:"bounds"`
	Geometry []*lonLat `json:"geometry"`
	Nodes    []int64   `json:"nodes"`
	Members  []struct {
		Type string   `json:"type"`
		Ref  int64    `json:"ref"`
		Lon  *float64 `json:"lon"`
		Lat  *float64 `json:"lat"`
	} `json:"members"`
	Tags      map[string]string `json:"tags"`
	Timestamp time.Time         `json:"timestamp"`
}

type lonLat struct {
	Lon float64 `json:"lon"`
	Lat float64 `json:"lat"`
}

func (c *collector) readElement(raw []byte, where at) error {
	var e element
	if err := decode(raw, &e); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	if e.Type != "node" && e.Type != "way" && e.Type != "relation" {
		c.reject(where, "type", e.Type, "node, way or relation")
		return nil
	}
	c.format(OSMJSON)
	if c.osm == nil {
		c.osm = &osmPlaces{c: c}
	}
	if e.Type == "node" && e.Lon != nil && e.Lat != nil {
		c.osm.node(e.ID, *e.Lon, *e.Lat)
	}
	tags := tagsOf(e.Tags)
	if lon, lat, ok := e.position(); ok {
		if e.Type == "way" && onGlobe(lon, lat) && c.osm.room() {
			c.osm.ways.add(e.ID, lon, lat)
		}
		return c.addOSM(fmt.Sprintf("%s/%d", e.Type, e.ID), lon, lat, tags, e.Timestamp, where)
	}
	s := osmShape{kind: e.Type, id: e.ID, nodes: e.Nodes, tags: tags, updated: e.Timestamp, where: where}
	for _, m := range e.Members {
		s.member(m.Type, m.Ref)
	}
	return c.osm.shape(s)
}

// position is what the element says of itself: its own, its centre, or the
// middle of its bounds or geometry.
func (e *element) position() (lon, lat float64, ok bool) {
	switch {
	case e.Lon != nil && e.Lat != nil:
		return *e.Lon, *e.Lat, true
	case e.Center != nil:
		return e.Center.Lon, e.Center.Lat, true
	case e.Bounds != nil:
		return (e.Bounds.MinLon + e.Bounds.MaxLon) / 2, (e.Bounds.MinLat + e.Bounds.MaxLat) / 2, true
	}
	b := emptyBox()
	for _, p := range e.Geometry {
		if p != nil {
			b.add(p.Lon, p.Lat)
		}
	}
	return (b.west + b.east) / 2, (b.south + b.north) / 2, b.west <= b.east
}

// readOSMFeature reads a feature of GeoJSON that an Overpass tool exported:
// tags as properties, the element in "@id" or the feature's id.
func (c *collector) readOSMFeature(f feature, lon, lat float64, where at) error {
	var properties map[string]json.RawMessage
	if err := json.Unmarshal(f.Properties, &properties); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	tags := map[string]string{}
	for k, raw := range properties {
		tags[k] = plainText(raw)
	}
	if raw, ok := properties["tags"]; ok { // one level down in some exports
		var inner map[string]string
		if json.Unmarshal(raw, &inner) == nil {
			for k, v := range inner {
				tags[k] = v
			}
		}
	}
	id := tags["@id"]
	if id == "" {
		id = strings.Trim(string(f.ID), `"`)
	}
	if id == "" {
		id = positionID(lon, lat)
	}
	var updated time.Time
	if t, err := time.Parse(time.RFC3339, tags["@timestamp"]); err == nil {
		updated = t
	}
	return c.addOSM(id, lon, lat, tagsOf(tags), updated, where)
}

// plainText is a JSON string's content, and any other value as it stands.
func plainText(raw json.RawMessage) string {
	var s string
	if json.Unmarshal(raw, &s) == nil {
		return s
	}
	return string(raw)
}

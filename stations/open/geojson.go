package open

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
	"ampleway/stations"
)

// feature is a GeoJSON Feature (RFC 7946).
type feature struct {
	ID         json.RawMessage `json:"id"`
	Geometry   *geometry       `json:"geometry"`
	Properties json.RawMessage `json:"properties"`
}

type geometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

// readFeature reads a Feature of any of the sources that publish GeoJSON.
func (c *collector) readFeature(raw []byte, where at) error {
	us := bytes.Contains(raw, []byte(`"fuel_type_code"`))
	osm := !us && (c.report.Format == OSMGeoJSON || osmProperties(raw))
	if !us && !osm {
		c.format(OwnGeoJSON)
		return c.readOwnFeature(raw, where)
	}
	var f feature
	if err := decode(raw, &f); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	lon, lat, ok := c.point(f.Geometry, where)
	if !ok {
		return nil
	}
	if us {
		c.format(USGeoJSON)
		return c.readUSFeature(f.Properties, lon, lat, where)
	}
	c.format(OSMGeoJSON)
	return c.readOSMFeature(f, lon, lat, where)
}

func osmProperties(raw []byte) bool {
	keys := []string{`"amenity"`, `"@id"`, `"socket:`, `"@type"`}
	return slices.ContainsFunc(keys, func(key string) bool { return bytes.Contains(raw, []byte(key)) })
}

// point gives a feature's position: a point, or the middle of the box around
// a line or polygon.
func (c *collector) point(g *geometry, where at) (lon, lat float64, ok bool) {
	if g == nil {
		c.reject(where, "geometry", "none", "a Point")
		return 0, 0, false
	}
	if g.Type != "Point" && g.Type != "Polygon" && g.Type != "MultiPolygon" && g.Type != "LineString" {
		c.reject(where, "geometry", g.Type, "a Point")
		return 0, 0, false
	}
	b := emptyBox()
	if err := b.grow(g.Coordinates, 0); err != nil || b.west > b.east {
		c.reject(where, "coordinates", string(g.Coordinates), "[longitude, latitude]")
		return 0, 0, false
	}
	lon, lat = (b.west+b.east)/2, (b.south+b.north)/2
	if !(lon >= -180 && lon <= 180) || !(lat >= -90 && lat <= 90) {
		c.reject(where, "coordinates", fmt.Sprintf("%g, %g", lon, lat), "longitude in -180..180, latitude in -90..90")
		return 0, 0, false
	}
	return lon, lat, true
}

func emptyBox() box { return box{west: 1e9, south: 1e9, east: -1e9, north: -1e9} }

func (b *box) add(lon, lat float64) {
	b.west, b.east = min(b.west, lon), max(b.east, lon)
	b.south, b.north = min(b.south, lat), max(b.north, lat)
}

// position reads [longitude, latitude] with or without further numbers.
func position(raw []byte) (lon, lat float64, ok bool) {
	raw = bytes.TrimSpace(raw)
	if len(raw) < 5 || raw[0] != '[' || raw[1] == '[' {
		return 0, 0, false
	}
	first, rest, _ := bytes.Cut(raw[1:len(raw)-1], []byte(","))
	second, _, _ := bytes.Cut(rest, []byte(","))
	lon, err1 := strconv.ParseFloat(string(bytes.TrimSpace(first)), 64)
	lat, err2 := strconv.ParseFloat(string(bytes.TrimSpace(second)), 64)
	return lon, lat, err1 == nil && err2 == nil
}

// grow takes in a position or lists of positions.
func (b *box) grow(raw json.RawMessage, depth int) error {
	if lon, lat, ok := position(raw); ok {
		b.add(lon, lat)
		return nil
	}
	var parts []json.RawMessage
	if err := json.Unmarshal(raw, &parts); err != nil || depth > 3 {
		return ErrSyntax
	}
	for _, p := range parts {
		if err := b.grow(p, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// ownFeature is a Feature of the own GeoJSON.
type ownFeature struct {
	ID         json.RawMessage `json:"id"`
	Geometry   *geometry       `json:"geometry"`
	Properties *ownProperties  `json:"properties"`
}

// ownProperties are the properties of the own GeoJSON.
type ownProperties struct {
	stations.Site
	Stalls    ownStalls `json:"stalls"`
	Connector string    `json:"connector"`
	Current   string    `json:"current"`
	PowerKW   float64   `json:"power_kw"`
}

// ownStalls is a list of stalls, or the number of the simple form.
type ownStalls struct {
	list   []ownStall
	number *int
}

type ownStall struct {
	stations.Stall
	Count *int `json:"count"`
}

// UnmarshalJSON reads a list or a number.
func (s *ownStalls) UnmarshalJSON(raw []byte) error {
	if len(raw) > 0 && raw[0] == '[' {
		return decode(raw, &s.list)
	}
	if err := json.Unmarshal(raw, &s.number); err != nil {
		return &fault.Input{Field: "stalls", Found: string(raw), Expected: "a list of bays or a number"}
	}
	return nil
}

func (c *collector) readOwnFeature(raw []byte, where at) error {
	var f ownFeature
	if err := decode(raw, &f); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	if f.Geometry != nil && strings.HasSuffix(f.Geometry.Type, "LineString") {
		c.reject(where, "geometry", f.Geometry.Type, "a Point; a line is a route, not a station")
		return nil
	}
	lon, lat, ok := c.point(f.Geometry, where)
	if !ok {
		return nil
	}
	if f.Properties == nil {
		c.reject(where, "properties", "none", "an object")
		return nil
	}
	s := f.Properties.Site
	s.Lon, s.Lat = lon, lat
	if s.ID == "" {
		s.ID = strings.Trim(string(f.ID), `"`)
	}
	if s.ID == "" || s.ID == "null" {
		s.ID = positionID(lon, lat)
	}
	if s.Stalls, ok = c.ownStalls(f.Properties, where); !ok {
		return nil
	}
	for _, t := range []*string{&s.Operator, &s.Network, &s.Hours, &s.Zone, &s.Country, &s.Source, &s.Licence} {
		*t = c.word(*t)
	}
	return c.add(s, where)
}

// ownStalls reads the list of stalls, or the simple form.
func (c *collector) ownStalls(p *ownProperties, where at) ([]stations.Stall, bool) {
	if p.Stalls.list == nil {
		return c.simpleStalls(p, where)
	}
	var out []stations.Stall
	for _, st := range p.Stalls.list {
		n := 1
		if st.Count != nil {
			n = *st.Count
		}
		if n < 1 || n > maxStalls || len(out)+n > maxStalls {
			c.reject(where, "count", fmt.Sprint(n), fmt.Sprintf("1 to %d bays at a site", maxStalls))
			return nil, false
		}
		for i, con := range st.Connectors {
			if bad := badPower(con.PowerKW); bad != "" {
				c.reject(where, "power_kw", bad, "zero or a positive number")
				return nil, false
			}
			flows := ""
			if con.DC {
				flows = "dc"
			}
			plug := c.ownPlug(string(con.Type), flows, con.PowerKW, where)
			con.Type, con.DC, con.PowerKW = plug.Type, plug.DC, plug.PowerKW
			st.Connectors[i] = con
		}
		out = slices.Grow(out, n)
		for range n {
			out = append(out, st.Stall)
		}
	}
	return out, true
}

func badPower(kw float64) string {
	if kw >= 0 {
		return ""
	}
	return fmt.Sprint(kw)
}

func (c *collector) simpleStalls(p *ownProperties, where at) ([]stations.Stall, bool) {
	n := 1
	if p.Stalls.number != nil {
		n = *p.Stalls.number
	}
	if n < 1 || n > maxStalls {
		c.reject(where, "stalls", fmt.Sprint(n), fmt.Sprintf("a list of bays or a number from 1 to %d", maxStalls))
		return nil, false
	}
	if p.Connector == "" {
		return nil, true
	}
	if bad := badPower(p.PowerKW); bad != "" {
		c.reject(where, "power_kw", bad, "zero or a positive number")
		return nil, false
	}
	if p.Current != "" {
		if err := current(p.Current); err != nil {
			c.rejectColumn(where, "current", err)
			return nil, false
		}
	}
	plug := c.ownPlug(p.Connector, strings.ToLower(p.Current), p.PowerKW, where)
	list := c.single(plug)
	out := make([]stations.Stall, n)
	for i := range out {
		out[i].Connectors = list
	}
	return out, true
}

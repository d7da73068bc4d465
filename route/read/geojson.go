package read

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"ampleway/data/fault"
)

// maxCollections bounds geometry collections inside each other.
const maxCollections = 16

const speedProperty = "speed_kmh"

// geoObject is any GeoJSON object; only members that a route needs.
type geoObject struct {
	Type        string            `json:"type"`
	Coordinates json.RawMessage   `json:"coordinates"`
	Geometry    json.RawMessage   `json:"geometry"`
	Geometries  []json.RawMessage `json:"geometries"`
	Features    []json.RawMessage `json:"features"`
	Properties  json.RawMessage   `json:"properties"`
}

type geoReader struct {
	file    *file
	leftOut map[string]int // geometries that are no lines, by type
}

// readGeoJSON reads the lines of a geometry, a feature, or a collection of
// either, in their order.
func (f *file) readGeoJSON(text []byte) *fault.Input {
	g := &geoReader{file: f, leftOut: map[string]int{}}
	if err := g.object(text, ""); err != nil {
		return err
	}
	for _, kind := range []string{"Point", "MultiPoint", "Polygon", "MultiPolygon", "no geometry"} {
		if n := g.leftOut[kind]; n > 0 {
			f.note("Left out, as they are no lines: %d × %s.", n, kind)
		}
	}
	if len(f.parts) == 0 {
		return &fault.Input{Found: "no line", Expected: "GeoJSON with a LineString or a MultiLineString"}
	}
	return nil
}

func (g *geoReader) object(text json.RawMessage, where string) *fault.Input {
	o, err := parseObject(text, where)
	if err != nil {
		return err
	}
	switch o.Type {
	case "FeatureCollection":
		for i, raw := range o.Features {
			place := fmt.Sprintf("feature %d", i+1)
			feature, err := parseObject(raw, place)
			if err != nil {
				return err
			}
			if feature.Type != "Feature" {
				return typeFault(feature.Type, place, "Feature")
			}
			if err := g.feature(feature, place); err != nil {
				return err
			}
		}
		return nil
	case "Feature":
		return g.feature(o, "feature 1")
	}
	return g.geometry(o, where, nil, "", 0)
}

func (g *geoReader) feature(o geoObject, where string) *fault.Input {
	var properties map[string]json.RawMessage
	if len(o.Properties) > 0 {
		if err := json.Unmarshal(o.Properties, &properties); err != nil {
			return &fault.Input{Where: where, Field: "properties", Found: string(o.Properties), Expected: "an object or null"}
		}
	}
	var name string
	if json.Unmarshal(properties["name"], &name) != nil {
		name = ""
	}
	if len(o.Geometry) == 0 || string(o.Geometry) == "null" {
		g.leftOut["no geometry"]++
		return nil
	}
	geometry, err := parseObject(o.Geometry, where)
	if err != nil {
		return err
	}
	speeds := properties[speedProperty]
	if string(speeds) == "null" {
		speeds = nil
	}
	return g.geometry(geometry, where, speeds, name, 0)
}

func (g *geoReader) geometry(o geoObject, where string, speeds json.RawMessage, name string, depth int) *fault.Input {
	switch o.Type {
	case "LineString":
		return g.line(o.Coordinates, where, speeds, name)
	case "MultiLineString":
		return g.lines(o.Coordinates, where, speeds, name)
	case "GeometryCollection":
		if depth == maxCollections {
			return &fault.Input{Found: "geometry collections inside each other", Expected: fmt.Sprintf("at most %d levels", maxCollections)}
		}
		for i, raw := range o.Geometries {
			place := joinPlace(where, fmt.Sprintf("geometry %d", i+1))
			member, err := parseObject(raw, place)
			if err != nil {
				return err
			}
			if err := g.geometry(member, place, speeds, name, depth+1); err != nil {
				return err
			}
		}
		return nil
	case "Point", "MultiPoint", "Polygon", "MultiPolygon":
		g.leftOut[o.Type]++
		return nil
	}
	return typeFault(o.Type, where, "a GeoJSON type such as LineString, Feature or FeatureCollection")
}

func (g *geoReader) lines(coordinates json.RawMessage, where string, speeds json.RawMessage, name string) *fault.Input {
	var members, memberSpeeds []json.RawMessage
	if json.Unmarshal(coordinates, &members) != nil || members == nil {
		return coordinatesFault(coordinates, where, "a list of lines")
	}
	if len(speeds) > 0 && speeds[0] == '[' {
		if json.Unmarshal(speeds, &memberSpeeds) != nil || len(memberSpeeds) != len(members) {
			return speedFault(speeds, where, fmt.Sprintf("a number, or a list of %d lists, one a line", len(members)))
		}
	}
	for i, member := range members {
		mine := speeds
		if memberSpeeds != nil {
			mine = memberSpeeds[i]
		}
		if err := g.line(member, joinPlace(where, fmt.Sprintf("line %d", i+1)), mine, name); err != nil {
			return err
		}
	}
	return nil
}

func (g *geoReader) line(coordinates json.RawMessage, where string, speeds json.RawMessage, name string) *fault.Input {
	positions, err := parsePositions(coordinates, where)
	if err != nil {
		return err
	}
	if err := g.file.count(len(positions)); err != nil {
		err.Where = where
		return err
	}
	place := where
	place = cmp.Or(place, "the line")
	p := part{place: place, name: name, samples: make([]sample, len(positions))}
	for i, at := range positions {
		s, err := position(at[0], at[1])
		if err != nil {
			err.Where = positionPlace(where, i)
			return err
		}
		if len(at) > 2 {
			s.elevationM = g.file.elevation(at[2])
		}
		p.samples[i] = s
	}
	if err := setSpeeds(p.samples, speeds, where); err != nil {
		return err
	}
	g.file.parts = append(g.file.parts, p)
	return nil
}

// parsePositions reads a list of positions of at least two numbers each; a
// third is the elevation, more are passed over (RFC 7946 section 3.1.1).
func parsePositions(raw json.RawMessage, where string) ([][]float64, *fault.Input) {
	var positions [][]float64
	if !bytes.Contains(raw, []byte("null")) && json.Unmarshal(raw, &positions) == nil {
		short := slices.ContainsFunc(positions, func(at []float64) bool { return len(at) < 2 })
		if !short {
			return positions, nil
		}
	}
	return parseEachPosition(raw, where)
}

// parseEachPosition does the same one position at a time, to say which one
// is wrong and to take null as an unknown elevation.
func parseEachPosition(raw json.RawMessage, where string) ([][]float64, *fault.Input) {
	var members []json.RawMessage
	if json.Unmarshal(raw, &members) != nil || members == nil {
		return nil, coordinatesFault(raw, where, "a list of positions")
	}
	positions := make([][]float64, len(members))
	for i, member := range members {
		var numbers []*float64
		if json.Unmarshal(member, &numbers) != nil || len(numbers) < 2 || numbers[0] == nil || numbers[1] == nil {
			return nil, positionFault(where, i, string(member))
		}
		for _, x := range numbers {
			if x == nil {
				positions[i] = append(positions[i], math.NaN())
			} else {
				positions[i] = append(positions[i], *x)
			}
		}
	}
	return positions, nil
}

// setSpeeds gives the pieces of a line the speeds of a property: a number, or
// a list.
func setSpeeds(samples []sample, raw json.RawMessage, where string) *fault.Input {
	if len(raw) == 0 || len(samples) == 0 {
		return nil
	}
	var list []*float64
	var one float64
	if raw[0] == '[' {
		if json.Unmarshal(raw, &list) != nil || len(list) != len(samples) && len(list) != len(samples)-1 {
			return speedFault(raw, where, fmt.Sprintf("a list of %d numbers, one a piece", len(samples)-1))
		}
	} else {
		if json.Unmarshal(raw, &one) != nil {
			return speedFault(raw, where, "a number, or a list of numbers")
		}
		for range samples {
			list = append(list, &one)
		}
	}
	for i, kmh := range list {
		if kmh == nil {
			continue
		}
		ms := *kmh / 3.6
		if !(ms >= 0 && ms <= fastestMS) {
			return speedFault(json.RawMessage(number(*kmh)), where, fmt.Sprintf("0 to %.0f km/h", fastestMS*3.6))
		}
		samples[i].speedMS = ms
	}
	return nil
}

func parseObject(text json.RawMessage, where string) (geoObject, *fault.Input) {
	var o geoObject
	err := json.Unmarshal(text, &o)
	if err == nil {
		if o.Type == "" {
			return o, typeFault("", where, "a GeoJSON type such as LineString, Feature or FeatureCollection")
		}
		return o, nil
	}
	var syntax *json.SyntaxError
	var wrong *json.UnmarshalTypeError
	in := &fault.Input{Where: where, Expected: "a GeoJSON object", Err: err}
	switch {
	case errors.As(err, &syntax):
		line := 1 + bytes.Count(text[:min(int(syntax.Offset), len(text))], []byte("\n"))
		in.Where = joinPlace(where, "line "+strconv.Itoa(line))
		in.Expected = "well-formed JSON"
		if int(syntax.Offset) >= len(text) {
			in.Expected, in.Err = "a complete file", errors.New("it ends in the middle of a value")
		}
	case errors.As(err, &wrong):
		in.Field, in.Found, in.Err = wrong.Field, "a JSON "+wrong.Value, nil
	}
	return o, in
}

func joinPlace(where, place string) string {
	if where == "" {
		return place
	}
	return where + ", " + place
}

func positionPlace(where string, i int) string {
	return joinPlace(where, fmt.Sprintf("position %d", i+1))
}

func positionFault(where string, i int, found string) *fault.Input {
	return &fault.Input{Where: positionPlace(where, i), Field: "coordinates", Found: found, Expected: "longitude, latitude and perhaps elevation, all finite numbers"}
}

func coordinatesFault(raw json.RawMessage, where, expected string) *fault.Input {
	found := string(raw)
	found = cmp.Or(found, "nothing")
	return &fault.Input{Where: where, Field: "coordinates", Found: found, Expected: expected}
}

func speedFault(raw json.RawMessage, where, expected string) *fault.Input {
	return &fault.Input{Where: where, Field: speedProperty, Found: string(raw), Expected: expected}
}

func typeFault(found, where, expected string) *fault.Input {
	return &fault.Input{Where: where, Field: "type", Found: quoted(found), Expected: expected}
}

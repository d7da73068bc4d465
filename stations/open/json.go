package open

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"strings"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

// readJSON reads a JSON text: a list of records, an object with such a list
// under one of the known names, one record, or several of these in a row.
func (c *collector) readJSON(in *bufio.Reader) error {
	s := newSplitter(in, c.limits)
	for {
		b, err := s.peek()
		if err != nil {
			return err
		}
		switch b {
		case 0:
			return c.flushOSM()
		case '[':
			err = s.list(func(raw []byte, line int) error { return c.jsonRecord("", raw, line) })
		case '{':
			err = c.readObject(s)
		default:
			return s.broken(b, "an object or a list")
		}
		if err != nil {
			return err
		}
	}
}

func (c *collector) flushOSM() error {
	if c.osm == nil {
		return nil
	}
	return c.osm.flush()
}

// recordLists are the names under which each format keeps its records.
var recordLists = map[string]bool{"features": true, "elements": true, "data": true, "fuel_stations": true}

func (c *collector) readObject(s *splitter) error {
	found, line := false, s.line
	members, err := s.object(func(name string) (bool, error) {
		if !recordLists[name] {
			return false, nil
		}
		if b, err := s.peek(); err != nil || b != '[' {
			return false, err
		}
		found = true
		return true, s.list(func(raw []byte, line int) error { return c.jsonRecord(name, raw, line) })
	})
	if err != nil || found {
		return err
	}
	return c.singleRecord(members, line)
}

// singleRecord reads an object that is a record itself, or whose "data" is.
func (c *collector) singleRecord(members map[string]member, line int) error {
	if data, ok := members["data"]; ok && members["coordinates"].value == nil && bytes.HasPrefix(data.value, []byte("{")) {
		return c.jsonRecord("", data.value, data.line)
	}
	whole := make(map[string]json.RawMessage, len(members))
	for name, m := range members {
		whole[name] = m.value
	}
	raw, err := json.Marshal(whole)
	if err != nil {
		return &fault.Input{Found: err.Error(), Expected: "a JSON object", Err: ErrSyntax}
	}
	return c.jsonRecord("", raw, line)
}

// jsonRecord reads one record, which stands in the list of that name.
func (c *collector) jsonRecord(list string, raw []byte, line int) error {
	if err := c.record(); err != nil {
		return err
	}
	where := at{unit: "record", n: int64(c.report.Records), line: line}
	switch list {
	case "features":
		where.unit = "feature"
		return c.readFeature(raw, where)
	case "elements":
		where.unit = "element"
		return c.readElement(raw, where)
	case "fuel_stations":
		return c.readUSObject(raw, where)
	}
	if bytes.Contains(raw, []byte(`"evses"`)) && !bytes.Contains(raw, []byte(`"Feature"`)) {
		where.unit = "location"
		return c.readLocation(raw, where)
	}
	var looks struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
		EVSEs       json.RawMessage `json:"evses"`
	}
	if err := json.Unmarshal(raw, &looks); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	switch {
	case looks.Type == "Feature":
		where.unit = "feature"
		return c.readFeature(raw, where)
	case looks.Type == "LineString" || looks.Type == "MultiLineString":
		c.reject(where, "type", looks.Type, "a Feature with a Point; a line is a route, not a station")
		return nil
	case looks.Coordinates != nil || looks.EVSEs != nil:
		where.unit = "location"
		return c.readLocation(raw, where)
	}
	c.reject(where, "", string(raw), "a GeoJSON Feature, an OCPI Location or an OpenStreetMap element")
	return nil
}

// rejectJSON rejects a record that is not JSON or has a value of another kind.
func (c *collector) rejectJSON(where at, err error) {
	switch bad := err.(type) {
	case *json.UnmarshalTypeError:
		c.reject(where, strings.TrimPrefix(bad.Field, "properties."), "a JSON "+bad.Value, settings.InWords(bad.Type))
	case *json.SyntaxError:
		c.report.reject(Problem{Where: where.String(), Reason: "not JSON: " + fault.Reason(bad)})
	default:
		if err == io.ErrUnexpectedEOF {
			err = ErrSyntax
		}
		c.rejectError(where, err)
	}
}

// format notes the format of the file by its first record.
func (c *collector) format(f Format) {
	if c.report.Format == Detect {
		c.report.Format = f
	}
}

package open

import (
	"bufio"
	"context"
	"encoding/xml"
	"errors"
	"fmt"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmxml"

	"ampleway/data/fault"
)

// readXML reads an .osm file.
func (c *collector) readXML(in *bufio.Reader) error {
	c.report.Format = OSMXML
	guard := &recordGuard{r: in, limit: c.limits.RecordBytes, fail: func() error {
		return &fault.Input{Where: fmt.Sprintf("after element %d", c.report.Records), Expected: fmt.Sprintf("an element of at most %d bytes", c.limits.RecordBytes), Err: ErrRecordTooLong}
	}}
	c.osm = &osmPlaces{c: c}
	scanner := osmxml.New(context.Background(), guard)
	defer scanner.Close()
	for scanner.Scan() {
		guard.next()
		c.report.Records++
		if err := c.osmObject(scanner.Object()); err != nil {
			return err
		}
	}
	if err := scanner.Err(); err != nil {
		return xmlFault(err)
	}
	if c.report.Records == 0 {
		return &fault.Input{Found: "XML of another kind, or without stations", Expected: "an OpenStreetMap file with nodes, ways or relations", Err: ErrUnknownFormat}
	}
	return c.osm.flush()
}

func xmlFault(err error) error {
	var bad *fault.Input
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &bad):
		return bad
	case errors.As(err, &syntax) && syntax.Msg == "unexpected EOF":
		return &fault.Input{Where: fmt.Sprintf("line %d", syntax.Line), Found: "the end of the file", Expected: "the rest of an element", Err: ErrSyntax}
	case errors.As(err, &syntax):
		return &fault.Input{Where: fmt.Sprintf("line %d", syntax.Line), Found: syntax.Msg, Expected: "well-formed XML", Err: ErrSyntax}
	}
	return &fault.Input{Found: err.Error(), Expected: "OpenStreetMap XML", Err: ErrSyntax}
}

func (c *collector) osmObject(o osm.Object) error {
	switch o := o.(type) {
	case *osm.Node:
		return c.osm.point(int64(o.ID), o.Lon, o.Lat, osmTagsOf(o.Tags), o.Timestamp)
	case *osm.Way:
		s := newShape("way", int64(o.ID), osmTagsOf(o.Tags), o.Timestamp)
		for _, n := range o.Nodes {
			s.nodes = append(s.nodes, int64(n.ID))
		}
		return c.osm.shape(s)
	case *osm.Relation:
		s := newShape("relation", int64(o.ID), osmTagsOf(o.Tags), o.Timestamp)
		for _, m := range o.Members {
			s.member(string(m.Type), m.Ref)
		}
		return c.osm.shape(s)
	}
	return nil
}

func osmTagsOf(tags osm.Tags) osmTags {
	out := make(osmTags, len(tags))
	for i, t := range tags {
		out[i] = osmTag{t.Key, t.Value}
	}
	return out.ordered()
}

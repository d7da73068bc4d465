package answer

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"ampleway/route/question"
)

// Options says how an answer is written. The zero value is plain metric text.
type Options struct {
	Units   question.Units
	Color   bool   // text only: emphasis for a terminal
	Note    string // a sentence about the input, such as that it is invented
	Rows    bool   // text only: also the legs
	TileURL string // pictures under maps on a screen, with {z}, {x} and {y}; empty: none
	Credit  string // who made them
}

// Subject is what an answer is about.
type Subject interface {
	Tree(o Options) *Answer
	JSON(o Options) any // a document
}

// Listed is a subject that is also rows of a table; the first are the columns.
type Listed interface{ List(o Options) [][]string }

// Mapped is a subject that is also journeys along roads.
type Mapped interface{ Journeys() []Journey }

// Drawn is a subject that is also a picture of its own.
type Drawn interface{ SVG(o Options) string }

// form is a form of writing. Its name is the ending of its files, txt for text,
// label what people call it, and media the type that it is served as; write is
// nil where a subject has no such form.
type form struct {
	name  string
	label string
	media string
	write func(Subject) func(io.Writer, Options) error
}

var forms = []form{
	{"text", "text", "text/plain; charset=utf-8", func(s Subject) func(io.Writer, Options) error {
		return func(w io.Writer, o Options) error { return WriteText(w, s.Tree(o), o.Color) }
	}},
	{"json", "JSON", "application/json", func(s Subject) func(io.Writer, Options) error {
		return func(w io.Writer, o Options) error { return writeJSON(w, s.JSON(o)) }
	}},
	{"geojson", "GeoJSON", "application/geo+json", func(s Subject) func(io.Writer, Options) error {
		if m, ok := s.(Mapped); ok {
			return func(w io.Writer, o Options) error { return writeGeoJSON(w, s.JSON(o), m.Journeys()) }
		}
		return nil
	}},
	{"gpx", "GPX", "application/gpx+xml", func(s Subject) func(io.Writer, Options) error {
		if m, ok := s.(Mapped); ok {
			return func(w io.Writer, o Options) error { return writeGPX(w, s.Tree(o), m.Journeys()) }
		}
		return nil
	}},
	{"csv", "CSV", "text/csv; charset=utf-8", func(s Subject) func(io.Writer, Options) error {
		if l, ok := s.(Listed); ok {
			return func(w io.Writer, o Options) error { return writeCSV(w, l.List(o)) }
		}
		return nil
	}},
	{"svg", "SVG", "image/svg+xml", func(s Subject) func(io.Writer, Options) error {
		d, ok := s.(Drawn)
		if !ok {
			return nil
		}
		return func(w io.Writer, o Options) error {
			_, err := io.WriteString(w, d.SVG(o))
			return err
		}
	}},
	{"html", "HTML", "text/html; charset=utf-8", func(s Subject) func(io.Writer, Options) error {
		return func(w io.Writer, o Options) error { return WriteSheet(w, s.Tree(o)) }
	}},
}

// Formats lists the names that Write takes for a subject.
func Formats(s Subject) []string {
	var names []string
	for _, f := range forms {
		if f.write(s) != nil {
			names = append(names, f.name)
		}
	}
	return names
}

// Known is an error about a format that a subject does not have.
func Known(s Subject, format string) error {
	if names := Formats(s); !slices.Contains(names, format) {
		return fmt.Errorf("format %q: expected one of %s", format, strings.Join(names, ", "))
	}
	return nil
}

// Write writes a subject in a format.
func Write(w io.Writer, format string, s Subject, o Options) error {
	if err := Known(s, format); err != nil {
		return err
	}
	return named(format).write(s)(w, o)
}

// Label is what people call a known format.
func Label(format string) string { return named(format).label }

// MediaType is the media type of a known format.
func MediaType(format string) string { return named(format).media }

func named(format string) form {
	return forms[slices.IndexFunc(forms, func(f form) bool { return f.name == format })]
}

func writeJSON(w io.Writer, document any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(document)
}

//go:embed journey.schema.json
var schema []byte

// Schema returns the JSON Schema (draft 2020-12) of Document.
func Schema() []byte { return schema }

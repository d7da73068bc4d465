package report

import (
	"fmt"
	"io"
	"strings"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// Options says how a trip is written. The zero value is plain metric text.
type Options struct {
	Units question.Units
	Color bool   // text only: emphasis for a terminal
	Note  string // text and files: a sentence about the input, such as that it is invented
	Rows  bool   // text only: also the legs
}

// Writer writes one trip.
type Writer func(io.Writer, *trip.Plan, Options) error

// VisitWriter writes several drives with stays between them.
type VisitWriter func(io.Writer, *trip.VisitPlan, Options) error

// writersOf are those of one format.
type writersOf struct {
	name  string
	write Writer
	visit VisitWriter
}

var writers = []writersOf{
	{"text", Text, VisitText},
	{"json", JSON, VisitJSON},
	{"geojson", GeoJSON, VisitGeoJSON},
	{"gpx", GPX, VisitGPX},
	{"csv", CSV, VisitCSV},
	{"html", HTML, VisitHTML},
}

// Formats lists the names that For and ForVisit take.
func Formats() []string {
	names := make([]string, len(writers))
	for i, w := range writers {
		names[i] = w.name
	}
	return names
}

// For returns the writer of a format.
func For(format string) (Writer, error) {
	f, err := form(format)
	return f.write, err
}

// ForVisit returns the writer of a visit in a format.
func ForVisit(format string) (VisitWriter, error) {
	f, err := form(format)
	return f.visit, err
}

func form(format string) (writersOf, error) {
	for _, f := range writers {
		if f.name == format {
			return f, nil
		}
	}
	return writersOf{}, fmt.Errorf("format %q: expected one of %s", format, strings.Join(Formats(), ", "))
}

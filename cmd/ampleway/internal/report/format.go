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

// Writer writes a journey.
type Writer func(io.Writer, *trip.JourneyPlan, Options) error

// writersOf are those of one format: of one drive, and of several.
type writersOf struct {
	name  string
	drive func(io.Writer, *trip.Plan, Options) error
	visit Writer
}

func (f writersOf) write(w io.Writer, p *trip.JourneyPlan, o Options) error {
	if len(p.Plans) == 1 {
		return f.drive(w, p.Plans[0], o)
	}
	return f.visit(w, p, o)
}

var writers = []writersOf{
	{"text", Text, VisitText},
	{"json", JSON, VisitJSON},
	{"geojson", GeoJSON, VisitGeoJSON},
	{"gpx", GPX, VisitGPX},
	{"csv", CSV, VisitCSV},
	{"html", HTML, VisitHTML},
}

// Formats lists the names that For takes.
func Formats() []string {
	names := make([]string, len(writers))
	for i, w := range writers {
		names[i] = w.name
	}
	return names
}

// For returns the writer of a format.
func For(format string) (Writer, error) {
	for _, f := range writers {
		if f.name == format {
			return f.write, nil
		}
	}
	return nil, fmt.Errorf("format %q: expected one of %s", format, strings.Join(Formats(), ", "))
}

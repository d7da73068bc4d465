package report

import (
	"fmt"
	"io"
	"strings"

	"ampleway/route/trip"
)

// Options says how a trip is written. The zero value is plain metric text.
type Options struct {
	Units trip.Units
	Color bool   // text only: emphasis for a terminal
	Note  string // text and files: a sentence about the input, such as that it is invented
	Rows  bool   // text only: also the legs
}

// Writer writes one trip.
type Writer func(io.Writer, *trip.Plan, Options) error

var writers = []struct {
	name  string
	write Writer
}{
	{"text", Text},
	{"json", JSON},
	{"geojson", GeoJSON},
	{"gpx", GPX},
	{"csv", CSV},
	{"html", HTML},
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
	for _, w := range writers {
		if w.name == format {
			return w.write, nil
		}
	}
	return nil, fmt.Errorf("format %q: expected one of %s", format, strings.Join(Formats(), ", "))
}

// Package carsheet writes the sheet of a car: as text with a chart, as JSON,
// and as a plot. It computes nothing.
package carsheet

import (
	"fmt"
	"io"
	"strings"

	"ampleway/energy"
	"ampleway/route/trip"
)

// Writer writes a sheet in one form.
type Writer func(w io.Writer, s *energy.Sheet, units trip.Units) error

// Formats lists the forms in a fixed order.
func Formats() []string { return []string{"text", "json", "svg", "png"} }

// For returns the writer of a format.
func For(format string) (Writer, error) {
	switch format {
	case "text":
		return Text, nil
	case "json":
		return JSON, nil
	case "svg", "png":
		return func(w io.Writer, s *energy.Sheet, units trip.Units) error { return plotTo(w, s, units, format) }, nil
	}
	return nil, fmt.Errorf("--format %q: expected one of %s", format, strings.Join(Formats(), ", "))
}

// Package carsheet writes the sheet of a car: as text with a chart, as JSON,
// and as a picture. It computes nothing.
package carsheet

import (
	"fmt"
	"io"
	"strings"

	"ampleway/energy"
	"ampleway/route/question"
)

// Writer writes a sheet in one form.
type Writer func(w io.Writer, s *energy.Sheet, units question.Units) error

// Formats lists the forms in a fixed order.
func Formats() []string { return []string{"text", "json", "svg"} }

// For returns the writer of a format.
func For(format string) (Writer, error) {
	switch format {
	case "text":
		return Text, nil
	case "json":
		return JSON, nil
	case "svg":
		return SVG, nil
	}
	return nil, fmt.Errorf("--format %q: expected one of %s", format, strings.Join(Formats(), ", "))
}

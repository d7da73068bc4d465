package report

import (
	"encoding/json"
	"io"

	"ampleway/route/trip"
)

// JSON writes a Document, indented.
func JSON(w io.Writer, p *trip.Plan, o Options) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(NewDocument(p, o))
}

package report

import (
	"encoding/json"
	"io"

	"ampleway/route/trip"
)

// JSON writes a Document, indented.
func JSON(w io.Writer, p *trip.Plan, o Options) error { return writeJSON(w, NewDocument(p, o)) }

// VisitJSON writes a VisitDocument, indented.
func VisitJSON(w io.Writer, v *trip.JourneyPlan, o Options) error {
	return writeJSON(w, NewVisitDocument(v, o))
}

func writeJSON(w io.Writer, document any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(document)
}

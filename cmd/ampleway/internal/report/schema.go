package report

import (
	_ "embed"
)

//go:embed trip.schema.json
var schema []byte

//go:embed visit.schema.json
var visitSchema []byte

//go:embed comparison.schema.json
var comparisonSchema []byte

// Schema returns the JSON Schema (draft 2020-12) of Document.
func Schema() []byte { return schema }

// VisitSchema returns the JSON Schema (draft 2020-12) of VisitDocument.
func VisitSchema() []byte { return visitSchema }

// ComparisonSchema returns the JSON Schema (draft 2020-12) of
// ComparisonDocument.
func ComparisonSchema() []byte { return comparisonSchema }

package report

import (
	_ "embed"
)

//go:embed trip.schema.json
var schema []byte

// Schema returns the JSON Schema (draft 2020-12) of Document.
func Schema() []byte { return schema }

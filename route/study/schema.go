package study

import _ "embed"

//go:embed study.schema.json
var schema []byte

// Schema is the JSON Schema (2020-12) of study files.
func Schema() []byte { return schema }

package web

import (
	"encoding/json"
	"reflect"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"

	"github.com/danielgtaylor/huma/v2"
)

const schemaPath = "#/components/schemas/"

// describe writes the OpenAPI document. The project's own schema of a journey and
// our form of a problem take the places of those that the library makes.
func describe(o *huma.OpenAPI) ([]byte, error) {
	problem := huma.SchemaFromType(o.Components.Schemas, reflect.TypeFor[Problem]())
	var all, journey map[string]any
	if err := reread(o, &all); err != nil {
		return nil, err
	}
	if err := json.Unmarshal(answer.Schema(), &journey); err != nil {
		return nil, err
	}
	delete(journey, "$schema")
	schemas := all["components"].(map[string]any)["schemas"].(map[string]any)
	schemas["Journey"], schemas["Problem"] = journey, problem
	delete(schemas, "Document")
	delete(schemas, "ErrorModel")
	all = rename(all).(map[string]any)
	used := map[string]bool{}
	reach(all["paths"], schemas, used)
	for name := range schemas {
		if !used[name] {
			delete(schemas, name)
		}
	}
	return json.MarshalIndent(all, "", "  ")
}

// reread turns a value into plain JSON objects.
func reread(v any, to *map[string]any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, to)
}

var schemaNames = strings.NewReplacer(schemaPath+"Document", schemaPath+"Journey", schemaPath+"ErrorModel", schemaPath+"Problem")

// rename sends every reference to the library's schemas to ours.
func rename(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for key, inner := range v {
			if text, ok := inner.(string); ok && key == "$ref" {
				v[key] = schemaNames.Replace(text)
				continue
			}
			v[key] = rename(inner)
		}
	case []any:
		for i := range v {
			v[i] = rename(v[i])
		}
	}
	return v
}

// reach notes the schemas that a part of the document leads to.
func reach(v any, schemas map[string]any, used map[string]bool) {
	switch v := v.(type) {
	case *huma.Schema:
		var plain map[string]any
		if reread(v, &plain) == nil {
			reach(plain, schemas, used)
		}
	case map[string]any:
		for key, inner := range v {
			name, isName := inner.(string)
			name = strings.TrimPrefix(name, schemaPath)
			if isName && key == "$ref" && !used[name] {
				used[name] = true
				reach(schemas[name], schemas, used)
			}
			reach(inner, schemas, used)
		}
	case []any:
		for _, inner := range v {
			reach(inner, schemas, used)
		}
	}
}

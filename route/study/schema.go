package study

import (
	_ "embed"
	"encoding/json"
	"maps"

	"ampleway/route/question"
)

//go:embed study.schema.json
var frame []byte

type object = map[string]any

// Schema is the JSON Schema (2020-12) of study files: the frame that follows
// from Study, with the rows of the question as they can be asked and varied.
func Schema() []byte {
	var s object
	if err := json.Unmarshal(frame, &s); err != nil {
		panic("study: " + err.Error())
	}
	defs := s["$defs"].(object)
	request := object{}
	for _, r := range question.Rows() {
		request[r.Key] = r.Schema()
	}
	defs["Question"] = object{"type": "object", "properties": request, "additionalProperties": false}
	axes := defs["Axes"].(object)["properties"].(object)
	for _, r := range AxisRows() {
		axes[r.Key] = axisSchema(r)
	}
	maps.Copy(defs["Study"].(object)["properties"].(object), axes)
	return indented(s)
}

// axisSchema is a value, a list of values, or a range of figures.
func axisSchema(r question.Row) object {
	one := r.Schema()
	value := one
	if r.Optional() {
		value = object{"anyOf": []any{one, object{"type": "null"}}}
	}
	forms := []any{value, object{"type": "array", "items": value}}
	if _, figure := one["minimum"]; figure {
		number := object{"type": "number"}
		forms = append(forms, object{
			"type": "object", "properties": object{"from": number, "to": number, "step": number},
			"required": []string{"from", "to", "step"}, "additionalProperties": false,
		})
	}
	return object{"description": r.Help, "anyOf": forms}
}

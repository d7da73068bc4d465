package question

import "reflect"

// Schema is the JSON Schema of a row's value.
func (r Row) Schema() map[string]any {
	s := map[string]any{"type": "string", "description": r.Help}
	if r.Usual != "" {
		s["description"] = r.Help + "; left out: " + r.Usual
	}
	usual := New()
	if v := r.Value(&usual); v != nil {
		s["default"] = v
	}
	if len(r.Choices) > 0 {
		var values []string
		for _, c := range r.Choices {
			values = append(values, c.Value)
		}
		s["enum"] = values
	}
	switch r.Kind() {
	case reflect.Bool:
		s["type"] = "boolean"
	case reflect.Float64:
		s["type"], s["minimum"], s["maximum"] = "number", r.Min, r.Max
	case reflect.Int:
		s["type"], s["minimum"], s["maximum"] = "integer", r.Min, r.Max
	case reflect.Slice:
		s["type"], s["items"] = "array", map[string]any{"type": "string"}
	}
	return s
}

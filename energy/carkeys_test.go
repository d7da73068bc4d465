package energy

import (
	"os"
	"reflect"
	"strings"
	"testing"
)

// Every key of a car file is in its documentation, and has the same name in
// YAML and JSON.
func TestCarFileKeysAreDocumented(t *testing.T) {
	text, err := os.ReadFile("../data/cars/README.md")
	if err != nil {
		t.Fatal(err)
	}
	keys := 0
	var walk func(reflect.Type)
	walk = func(typ reflect.Type) {
		for typ.Kind() == reflect.Pointer || typ.Kind() == reflect.Slice {
			typ = typ.Elem()
		}
		if typ.Kind() != reflect.Struct {
			return
		}
		for i := range typ.NumField() {
			field := typ.Field(i)
			key, _, _ := strings.Cut(field.Tag.Get("yaml"), ",")
			if other, _, _ := strings.Cut(field.Tag.Get("json"), ","); key == "" || key != other {
				t.Errorf("%s.%s: YAML key %q, JSON key %q", typ.Name(), field.Name, key, other)
			}
			if !strings.Contains(string(text), "`"+key+"`") {
				t.Errorf("README.md does not name `%s`", key)
			}
			keys++
			walk(field.Type)
		}
	}
	walk(reflect.TypeFor[carFile]())
	if keys < 40 {
		t.Errorf("only %d keys seen", keys)
	}
}

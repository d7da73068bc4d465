package open

import (
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// FuzzDecode compares decode with the standard library: what one refuses the
// other refuses, and what they read is the same.
func FuzzDecode(f *testing.F) {
	for _, pattern := range []string{"testdata/samples/*json", "../../testdata/broken/stations/*json"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatal(pattern, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
			for _, record := range records(text) {
				f.Add([]byte(record))
			}
		}
	}
	for _, text := range []string{
		`{"id":01}`, "{\"id\":\"\x01\"}", "{\"name\":\"\xff\"}", `{"name":"\ud800"}`, `{"name":"a","name":null}`, `{"ID":"x","Name":"y"}`,
		`{"id":tru}`, `{"properties":{"power_kw":1e999}}`, `{"properties":{"stalls":[{"count":1.5}]}}`, `{"properties":{"stalls":2.0}}`,
		`{"id":1}x`, `{"id":1,}`, `{"evses":[{"connectors":null},null]}`, `{"name":"a\qb"}`, `{"properties":{"lon":-0,"x":-}}`, `{"x":.5}`,
		`{"x":1.}`, `{"x":1e}`, `{"x":"` + "\t" + `"}`, `{"x":[1,]}`, `{"geometry":{"coordinates":[1,2`, `null`, `[]`, ``, ` `, `{"last_updated":"2026"}`,
		`{"properties":{"updated":"2026-01-01T00:00:00Z","ŝtalls":1}}`, `{"ſtalls":1,"properties":{"ſtalls":3,"STALLS":4}}`,
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		same[ownFeature](t, raw)
		same[feature](t, raw)
		same[location](t, raw)
		same[element](t, raw)
	})
}

// records cuts out what stands in the lists of a text.
func records(text []byte) []json.RawMessage {
	var list []json.RawMessage
	if json.Unmarshal(text, &list) == nil {
		return list
	}
	var object map[string]json.RawMessage
	_ = json.Unmarshal(text, &object)
	for name := range recordLists {
		if json.Unmarshal(object[name], &list) == nil {
			return list
		}
	}
	return nil
}

func same[T any](t *testing.T, raw []byte) {
	var ours, theirs T
	errOurs, errTheirs := decode(raw, &ours), json.Unmarshal(raw, &theirs)
	if (errOurs == nil) != (errTheirs == nil) {
		t.Fatalf("%T: %v, the standard library %v", ours, errOurs, errTheirs)
	}
	if errOurs != nil && !strings.EqualFold(errOurs.Error(), errTheirs.Error()) {
		t.Fatalf("%T: %v, the standard library %v", ours, errOurs, errTheirs)
	}
	if errOurs == nil && !reflect.DeepEqual(ours, theirs) {
		t.Fatalf("%T: %+v, the standard library %+v", ours, ours, theirs)
	}
}

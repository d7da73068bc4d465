package study_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"ampleway/route/study"

	"github.com/goccy/go-yaml"
	generate "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// The committed frame of the schema is the one that follows from the form; make
// it again with AMPLEWAY_UPDATE=1.
func TestSchema(t *testing.T) {
	r := generate.Reflector{DoNotReference: false, RequiredFromJSONSchemaTags: false}
	s := r.Reflect(&study.Study{})
	s.ID = ""
	delete(s.Definitions, "Question") // from the rows, as the axes are
	s.Title = "ampleway margins study"
	text, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, '\n')
	if os.Getenv("AMPLEWAY_UPDATE") != "" {
		if err := os.WriteFile("study.schema.json", text, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	frame, err := os.ReadFile("study.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(text, frame) {
		t.Error("study.schema.json does not follow from the form; AMPLEWAY_UPDATE=1 makes it again")
	}
}

// The schema takes what the reader takes and refuses what it refuses.
func TestSchemaAgreesWithReader(t *testing.T) {
	compiler := jsonschema.NewCompiler()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(study.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	if err := compiler.AddResource("study.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("study.json")
	if err != nil {
		t.Fatal(err)
	}
	const head = "format: ampleway-study-2\nstations: [demo]\ncorridors: [demo:pass]\n"
	for _, c := range []struct {
		text string
		good bool
	}{
		{head, true},
		{head + "temp_c: [0, 20]\nwind_kmh: [0, 30]\nwind_from_deg: [null, 270]\noutages: {none: true, random: {down: 2, sets: 3}}\nbuild: {every_km: 20, power_kw: [150]}\nrequest: {payload_kg: 100}\n", true},
		{head + "cases: [{temp_c: [-20]}]\n", true},
		{head + "temps: [0]\n", false},
		{head + "temp_c: [cold]\n", false},
		{head + "build: {every_km: 0, power_kw: [150]}\n", false},
		{head + "draws: -1\n", false},
		{"format: other\nstations: [demo]\ncorridors: [demo:pass]\n", false},
	} {
		_, err := study.Parse([]byte(c.text), "test", "")
		if (err == nil) != c.good {
			t.Errorf("the reader says %v of:\n%s", err, c.text)
		}
		asJSON, err := yaml.YAMLToJSON([]byte(c.text))
		if err != nil {
			t.Fatal(err)
		}
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(asJSON))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(value); (err == nil) != c.good {
			t.Errorf("the schema says %v of:\n%s", err, c.text)
		}
	}
}

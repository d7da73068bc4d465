package main

import (
	"encoding/json"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/testdata"
)

// Every JSON that is written names its form and version, so that a reader can
// tell a later one.
func TestEveryDocumentNamesItsForm(t *testing.T) {
	testdata.Sequential(t)
	road := filepath.Join("..", "..", "data", "demo", "corridors", "pass.geojson")
	sites := filepath.Join("..", "..", "data", "demo", "stations.geojson")
	form := regexp.MustCompile(`^ampleway-[a-z-]+[-/][1-9][0-9]*$`)
	for _, c := range []struct {
		key     []string
		command []string
	}{
		{[]string{"format"}, []string{"trip", "--format", "json"}},
		{[]string{"format"}, []string{"trip", "--format", "json", "--back", "--stay", "5h"}},
		{[]string{"format"}, []string{"trip", "--format", "json", "--temp", "0,20"}},
		{[]string{"ampleway", "format"}, []string{"trip", "--format", "geojson"}},
		{[]string{"format"}, []string{"year", "--format", "json"}},
		{[]string{"format"}, []string{"car", "show", "van", "--format", "json"}},
		{[]string{"format"}, []string{"margins", "--quiet", "--format", "json"}},
		{[]string{"form"}, []string{"stations", "check", sites, "--format", "json"}},
		{[]string{"ampleway", "format"}, []string{"stations", "near", "--route", road, "--format", "geojson"}},
	} {
		code, out, errOut := ampleway(t, "", c.command...)
		if code != 0 {
			t.Errorf("%v: exit code %d, %s", c.command, code, errOut)
			continue
		}
		var doc any
		if err := json.Unmarshal([]byte(out), &doc); err != nil {
			t.Errorf("%v: %v", c.command, err)
			continue
		}
		for _, key := range c.key {
			object, _ := doc.(map[string]any)
			doc = object[key]
		}
		if name, _ := doc.(string); !form.MatchString(name) {
			t.Errorf("%v: %v is %v", c.command, c.key, doc)
		}
	}
}

// Who reads a plan reads the cautions, in every form but a bare table.
func TestEveryFormCarriesTheCautions(t *testing.T) {
	testdata.Sequential(t)
	for _, further := range [][]string{nil, {"--back", "--stay", "5h level2:40"}} {
		for _, form := range answer.Formats(answer.Journey{}) {
			if form == "csv" {
				continue
			}
			code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", form}, further...)...)
			text := strings.Join(strings.Fields(out), " ")
			if code != 0 || !strings.Contains(text, "This is an estimate.") || !strings.Contains(text, "Check that each station works and is open") || !strings.Contains(text, "Never drive on below your reserve hoping") {
				t.Errorf("%s %v: exit code %d, %s", form, further, code, errOut)
			}
			if further != nil && !strings.Contains(text, "licensed electrician") {
				t.Errorf("%s: no word of the electrician", form)
			}
		}
	}
}

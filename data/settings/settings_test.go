package settings_test

import (
	"errors"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

type file struct {
	Name   string    `yaml:"name"`
	Count  int       `yaml:"count"`
	KWh    float64   `yaml:"kwh"`
	Heated bool      `yaml:"heated"`
	Taper  []float64 `yaml:"taper"`
	Inner  struct {
		KW float64 `yaml:"kw"`
	} `yaml:"inner"`
	Small int8 `yaml:"small"`
}

func TestDecode(t *testing.T) {
	for _, text := range []string{
		"name: house\ncount: 3.0\nkwh: 1.5\nheated: true\ntaper: [1, 2]\ninner: {kw: 7}\n",
		`{"name": "house", "count": 3, "kwh": 1.5, "heated": true, "taper": [1, 2], "inner": {"kw": 7}}`,
	} {
		var f file
		if err := settings.Read(strings.NewReader(text), "f.yaml", "a house", &f); err != nil {
			t.Fatal(err)
		}
		if f.Name != "house" || f.Count != 3 || f.KWh != 1.5 || !f.Heated || len(f.Taper) != 2 || f.Inner.KW != 7 {
			t.Errorf("read %+v", f)
		}
	}
}

// What is wrong is told with line, key, what was found and what was expected.
func TestWhatDoesNotFit(t *testing.T) {
	for _, c := range []struct{ text, where, field, found, expected string }{
		{"name: x\nkwh: sixty\n", "line 2", "kwh", "sixty", "a number"},
		{"name: x\ncount: few\n", "line 2", "count", "few", "a whole number"},
		{"count: 1.5\n", "line 1", "count", "1.5", "a whole number"},
		{"name: x\ncount: 15e-1\n", "line 2", "count", "15e-1", "a whole number"},
		{"name: x\ncount: \"1.5\"\n", "line 2", "count", "1.5", "a whole number"},
		{`{"name": "x", "count": 1.5}`, "line 1", "count", "1.5", "a whole number"},
		{"heated: warm\n", "line 1", "heated", "warm", "true or false"},
		{"name: x\n\ntaper: 7\n", "line 3", "taper", "7", "a list"},
		{"inner: [1]\n", "line 1", "inner", "a list", "keys with values"},
		{"inner:\n  kw: none\n", "line 2", "kw", "none", "a number"},
		{"taper: [1, two]\n", "line 1", "", "two", "a number"},
		{"kwhs: 60\n", "line 1", "kwhs", "", "a known key of a house"},
		{"small: 300\n", "line 1", "small", "300", "a smaller number"},
		{"name: x\nname: y\n", "line 2", "", "", "a house"},
		{"taper: [1\n", "line 1", "", "", "a house"},
		{"", "", "", "", "a house"},
	} {
		err := settings.Decode([]byte(c.text), "f.yaml", "a house", &file{})
		var in *fault.Input
		if !errors.As(err, &in) {
			t.Errorf("%q: %v is no input fault", c.text, err)
			continue
		}
		if in.File != "f.yaml" || in.Where != c.where || in.Field != c.field || in.Found != c.found || in.Expected != c.expected {
			t.Errorf("%q: got %+v", c.text, in)
		}
		if strings.Contains(err.Error(), "Go struct") || strings.Contains(err.Error(), "unmarshal") {
			t.Errorf("%q: told in the words of the program: %v", c.text, err)
		}
	}
}

func TestTooLarge(t *testing.T) {
	text := "name: " + strings.Repeat("x", settings.MostBytes)
	err := settings.Read(strings.NewReader(text), "f.yaml", "a house", &file{})
	if err == nil || !strings.Contains(err.Error(), "at most 1 MiB") {
		t.Errorf("got %v", err)
	}
}

// Whatever the text, there is a value or a located fault, and no panic.
func FuzzDecode(f *testing.F) {
	for _, text := range []string{"name: x\n", "taper: !!seq 3\n", "a: &a [*a]\n", "{", "- 1\n", "inner: {kw: .nan}\n", "<<: *x\n"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		err := settings.Decode(text, "f.yaml", "a house", &file{})
		var in *fault.Input
		if err != nil && !errors.As(err, &in) {
			t.Errorf("%v is no input fault", err)
		}
	})
}

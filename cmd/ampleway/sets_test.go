package main

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/paulmach/orb/geojson"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/cars"
	"ampleway/testdata"
)

// optionSets are 288 trips: goal × confidence × reserves × weather × car.
func optionSets() [][]string {
	sets := [][]string{nil}
	for _, choice := range [][][]string{
		{{"--best", "time"}, {"--best", "cost"}, {"--best", "balance", "--hour-worth", "12"}, {"--best", "fewest-stops"}},
		{{"--confidence", "0"}, {"--confidence", "95"}},
		{{"--reserve", "0", "--arrive-with", "0"}, {"--reserve", "10"}, {"--reserve", "20", "--arrive-with", "30"}},
		{{"--temp", "20", "--wind", "0"}, {"--temp", "-18", "--wind", "50", "--wind-from", "S", "--surface", "snow"}},
	} {
		var next [][]string
		for _, set := range sets {
			for _, options := range choice {
				next = append(next, append(append([]string(nil), set...), options...))
			}
		}
		sets = next
	}
	var out [][]string
	for _, set := range sets {
		for _, name := range cars.Names() {
			plugs := []string{"--car", name}
			if name == "light-truck-with-trailer" {
				plugs = append(plugs, "--connector", "CCS2")
			}
			out = append(out, append(append([]string(nil), set...), plugs...))
		}
	}
	return out
}

// Each option set is written as a document that fits the published schema, or
// refused as a trip that cannot be made; a sample of them in all six forms. On an
// ordinary day a fifth of the sets is run, all in every form with AMPLEWAY_SLOW=1.
// Not one figure is infinite or no number: JSON has no word for either.
func TestEveryOptionSetIsWritten(t *testing.T) {
	testdata.Sequential(t)
	parsed, err := jsonschema.UnmarshalJSON(bytes.NewReader(answer.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("trip.json", parsed); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("trip.json")
	if err != nil {
		t.Fatal(err)
	}
	forms := map[string]func(string) error{
		"json": func(out string) error {
			doc, err := jsonschema.UnmarshalJSON(strings.NewReader(out))
			if err != nil {
				return err
			}
			return schema.Validate(doc)
		},
		"geojson": func(out string) error { _, err := geojson.UnmarshalFeatureCollection([]byte(out)); return err },
		"gpx":     wellFormed,
		"csv":     func(out string) error { _, err := csv.NewReader(strings.NewReader(out)).ReadAll(); return err },
		"html":    func(out string) error { return ends(out, "</html>") },
		"text":    func(out string) error { return ends(out, ".") },
	}
	sets, step, sample := optionSets(), 5, 30
	if len(sets) < 200 {
		t.Fatalf("%d option sets", len(sets))
	}
	if testing.Short() {
		step, sample = 37, 1
	}
	if testdata.Slow() {
		step, sample = 1, 1
	}
	written, refused := 0, 0
	for i := 0; i < len(sets); i += step {
		for form, check := range forms {
			if form != "json" && i%sample != 0 {
				continue
			}
			code, out, errOut := ampleway(t, "", append([]string{"trip", "--format", form}, sets[i]...)...)
			if code == exitNoPlan {
				refused++
				continue
			}
			if code != exitOK {
				t.Errorf("%v as %s: exit %d, %s", sets[i], form, code, errOut)
				continue
			}
			written++
			if err := check(out); err != nil {
				t.Errorf("%v as %s: %v", sets[i], form, err)
			}
			for _, wrong := range []string{"NaN", "Inf ", "+Inf", "-Inf"} {
				if strings.Contains(out, wrong) {
					t.Errorf("%v as %s: %s", sets[i], form, wrong)
				}
			}
		}
	}
	t.Logf("%d documents written, %d trips refused", written, refused)
	if written < 3*refused {
		t.Errorf("%d documents written, %d trips refused: the table shows little", written, refused)
	}
}

// wellFormed reads XML to its end.
func wellFormed(out string) error {
	d := xml.NewDecoder(strings.NewReader(out))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

func ends(out, with string) error {
	if !strings.HasSuffix(strings.TrimSpace(out), with) {
		return errors.New("it does not end with " + with)
	}
	return nil
}

// What no battery can hold is absent from the document, with a word.
func TestBeyondAFullBatteryIsAbsent(t *testing.T) {
	code, out, errOut := ampleway(t, "", "trip", "--best", "cost", "--confidence", "0", "--format", "json")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	var d struct {
		Days []struct {
			Arrival *float64 `json:"reach_pct"`
			Least   *float64 `json:"least_pct"`
			Beyond  bool     `json:"beyond_a_full_battery"`
			Holds   bool     `json:"reserve_holds"`
			Leg     int      `json:"breaks_leg"`
		} `json:"harder_days"`
	}
	if err := readDrive(out, &d); err != nil {
		t.Fatal(err)
	}
	beyond := 0
	for _, h := range d.Days {
		if h.Beyond {
			beyond++
		}
		if h.Beyond != (h.Arrival == nil) || h.Beyond != (h.Least == nil) || h.Beyond && (h.Holds || h.Leg == 0) {
			t.Errorf("%+v", h)
		}
	}
	if beyond == 0 {
		t.Errorf("no harder day is beyond a full battery: %+v", d.Days)
	}
}

package study

import (
	_ "embed"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"ampleway/data/fault"
	"ampleway/route/input"
	"ampleway/route/question"
)

// Format names the form of the study files that this package reads.
const Format = "ampleway-study-2"

// Study is a study file. The package comment explains the keys.
type Study struct {
	Format    string    `yaml:"format" json:"format" jsonschema:"enum=ampleway-study-2"`
	Name      string    `yaml:"name" json:"name,omitempty"`
	Note      string    `yaml:"note" json:"note,omitempty"`
	Corridors []string  `yaml:"corridors" json:"corridors,omitempty"`
	Between   []Between `yaml:"between" json:"between,omitempty"`
	Stations  []string  `yaml:"stations" json:"stations"`
	Aliases   []string  `yaml:"aliases" json:"aliases,omitempty"`

	Axes  Axes   `yaml:"-" json:"-"` // their keys stand beside the others
	Cases []Axes `yaml:"cases" json:"cases,omitempty"`

	Draws           int               `yaml:"draws" json:"draws,omitempty" jsonschema:"minimum=0,maximum=100000"`
	Seed            uint64            `yaml:"seed" json:"seed,omitempty"`
	SkipWorstOutage bool              `yaml:"skip_worst_outage" json:"skip_worst_outage,omitempty"`
	Build           *BuildAsk         `yaml:"build" json:"build,omitempty"`
	Request         question.Question `yaml:"request" json:"request,omitzero"`

	folder input.Folder
	sets   []set
	text   []byte
}

// Between is a corridor made from two points: a great circle on level ground.
type Between struct {
	Name     string     `yaml:"name" json:"name"`
	From     [2]float64 `yaml:"from" json:"from"` // longitude, latitude
	To       [2]float64 `yaml:"to" json:"to"`
	SpeedKMH float64    `yaml:"speed_kmh" json:"speed_kmh,omitempty"` // 0: unknown
}

// Outages says which stations are out of order.
type Outages struct {
	None   bool        `yaml:"none" json:"none,omitempty"`     // one case with all of them working
	Each   bool        `yaml:"each" json:"each,omitempty"`     // one case for each site that the car could use
	Random *RandomDown `yaml:"random" json:"random,omitempty"` // sets of sites drawn by the seed
}

// RandomDown is a number of random sets of sites that are out at once.
type RandomDown struct {
	Down int `yaml:"down" json:"down" jsonschema:"minimum=1"`
	Sets int `yaml:"sets" json:"sets" jsonschema:"minimum=1"`
}

// BuildAsk asks where one more station would help most.
type BuildAsk struct {
	EveryKM float64   `yaml:"every_km" json:"every_km" jsonschema:"minimum=0.1"`
	PowerKW []float64 `yaml:"power_kw" json:"power_kw"`
}

//go:embed demo.yaml
var demo []byte

// Demo is the study that is run when no other is named.
func Demo() (*Study, error) { return Parse(demo, "the demo's study", "") }

// ReadFile reads a study file. Errors are *fault.Input.
func ReadFile(path string) (*Study, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, &fault.Input{File: path, Expected: "a study file that can be read", Err: err}
	}
	return Parse(text, path, filepath.Dir(path))
}

// Parse reads the text of a study. Paths in it are relative to folder.
func Parse(text []byte, name, folder string) (*Study, error) {
	s := &Study{Request: question.New(), Seed: 1, folder: input.Folder(folder), text: text}
	s.Request.ArriveWithPct = 0
	if err := decodeStudy(text, name, s); err != nil {
		return nil, err
	}
	if err := s.check(); err != nil {
		err.File = name
		return nil, err
	}
	return s, nil
}

func (s *Study) check() *fault.Input {
	switch {
	case s.Format != Format:
		return &fault.Input{Field: "format", Found: s.Format, Expected: Format}
	case len(s.Corridors)+len(s.Between) == 0:
		return &fault.Input{Field: "corridors", Found: "none", Expected: "route files, demo:NAME, or between"}
	case len(s.Stations) == 0:
		return &fault.Input{Field: "stations", Found: "none", Expected: "station files, or demo"}
	case s.Request.Fallback != "" && s.Request.Fallback != "shown":
		return &fault.Input{Field: "request.fallback", Found: s.Request.Fallback, Expected: "nothing: a study has outages instead"}
	case s.Draws < 0 || s.Draws > 100_000:
		return &fault.Input{Field: "draws", Found: fmt.Sprint(s.Draws), Expected: "0 to 100000"}
	}
	for i := range s.Between {
		if err := s.Between[i].check(); err != nil {
			err.Where = fmt.Sprintf("between, entry %d", i+1)
			return err
		}
	}
	if err := s.checkBuild(); err != nil {
		return err
	}
	var err *fault.Input
	s.sets, err = s.crossed()
	return err
}

func (b *Between) check() *fault.Input {
	for _, p := range [][2]float64{b.From, b.To} {
		if !(math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90) {
			return &fault.Input{Found: fmt.Sprint(p), Expected: "[longitude, latitude] in degrees"}
		}
	}
	if b.SpeedKMH != 0 && !(b.SpeedKMH >= 5 && b.SpeedKMH <= 200) {
		return &fault.Input{Field: "speed_kmh", Found: fmt.Sprint(b.SpeedKMH), Expected: "5 to 200 km/h, or 0: unknown"}
	}
	if b.Name == "" || b.From == b.To {
		return &fault.Input{Expected: "a name and two different points"}
	}
	return nil
}

func (s *Study) checkBuild() *fault.Input {
	b := s.Build
	if b == nil {
		return nil
	}
	if !(b.EveryKM >= 0.1 && b.EveryKM <= 10_000) {
		return &fault.Input{Field: "build.every_km", Found: fmt.Sprint(b.EveryKM), Expected: "0.1 to 10000 km"}
	}
	if len(b.PowerKW) == 0 {
		return &fault.Input{Field: "build.power_kw", Found: "none", Expected: "one power or more, kW"}
	}
	for _, kw := range b.PowerKW {
		if !(kw > 0 && kw <= 4000) {
			return &fault.Input{Field: "build.power_kw", Found: fmt.Sprint(kw), Expected: "above 0, to 4000 kW"}
		}
	}
	return nil
}

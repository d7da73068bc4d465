package study

import (
	_ "embed"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ampleway/data/fault"
	"ampleway/data/settings"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Format names the form of the study files that this package reads.
const Format = "ampleway-study-1"

// Study is a study file. The package comment explains the keys.
type Study struct {
	Format    string    `yaml:"format" json:"format" jsonschema:"enum=ampleway-study-1"`
	Name      string    `yaml:"name" json:"name,omitempty"`
	Note      string    `yaml:"note" json:"note,omitempty"`
	Corridors []string  `yaml:"corridors" json:"corridors,omitempty"`
	Between   []Between `yaml:"between" json:"between,omitempty"`
	Stations  []string  `yaml:"stations" json:"stations"`
	Aliases   []string  `yaml:"aliases" json:"aliases,omitempty"`

	Axes  `yaml:",inline"`
	Cases []Axes `yaml:"cases" json:"cases,omitempty"`

	Draws           int               `yaml:"draws" json:"draws,omitempty" jsonschema:"minimum=0,maximum=100000"`
	Seed            uint64            `yaml:"seed" json:"seed,omitempty"`
	SkipWorstOutage bool              `yaml:"skip_worst_outage" json:"skip_worst_outage,omitempty"`
	Build           *BuildAsk         `yaml:"build" json:"build,omitempty"`
	Request         question.Question `yaml:"request" json:"request,omitzero"`

	folder input.Folder
	text   []byte
}

// Between is a corridor made from two points: a great circle on level ground.
type Between struct {
	Name     string     `yaml:"name" json:"name"`
	From     [2]float64 `yaml:"from" json:"from"` // longitude, latitude
	To       [2]float64 `yaml:"to" json:"to"`
	SpeedKMH float64    `yaml:"speed_kmh" json:"speed_kmh,omitempty"` // 0: unknown
}

// Axes are what a study varies within a corridor. One that is empty takes the
// value of the study's, then of its request.
type Axes struct {
	Cars           []string  `yaml:"cars" json:"cars,omitempty"`
	TempsC         []float64 `yaml:"temps_c" json:"temps_c,omitempty"`
	Winds          []Wind    `yaml:"winds" json:"winds,omitempty"`
	Surfaces       []string  `yaml:"surfaces" json:"surfaces,omitempty"`
	SpeedCapsKMH   []float64 `yaml:"speed_caps_kmh" json:"speed_caps_kmh,omitempty"`
	ConfidencesPct []float64 `yaml:"confidences_pct" json:"confidences_pct,omitempty"`
	DepartsSoCPct  []float64 `yaml:"departs_soc_pct" json:"departs_soc_pct,omitempty"`
	ReservesPct    []float64 `yaml:"reserves_pct" json:"reserves_pct,omitempty"`
	ReserveRange   *Range    `yaml:"reserve_range_pct" json:"reserve_range_pct,omitempty"`
	Outages        *Outages  `yaml:"outages" json:"outages,omitempty"`
}

// Wind is its speed and where it comes from.
type Wind struct {
	KMH     float64  `yaml:"kmh" json:"kmh"`
	FromDeg *float64 `yaml:"from_deg" json:"from_deg,omitempty"` // absent: head wind along the whole road
}

// Range is a list of values from From to To, both included where Step leads
// there.
type Range struct {
	From float64 `yaml:"from" json:"from"`
	To   float64 `yaml:"to" json:"to"`
	Step float64 `yaml:"step" json:"step"`
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
	if err := settings.Decode(text, name, "a study", s); err != nil {
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
	if err := s.Axes.checkRange(); err != nil {
		return err
	}
	for i := range s.Cases {
		if err := s.Cases[i].checkRange(); err != nil {
			err.Where = fmt.Sprintf("cases, entry %d", i+1)
			return err
		}
	}
	for i, set := range s.sets() {
		err := set.check()
		if err == nil {
			err = set.checkSize(set.Outages.about())
		}
		if err != nil {
			if len(s.Cases) > 0 {
				err.Where = fmt.Sprintf("cases, entry %d", i+1)
			}
			return err
		}
	}
	return nil
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

// What a study may ask for at most, because it is held in memory at once.
const (
	MostDrives = 100_000 // of a corridor: cars × temperatures × winds × surfaces × speed caps
	MostCases  = 500_000 // of a drive: confidences × reserves × departures × outages
)

// ErrTooMany is wrapped by the faults of a study that asks for more than
// MostDrives or MostCases.
var ErrTooMany = errors.New("too many cases at once")

// checkSize takes the number of outages, which only a corridor's drive tells
// exactly.
func (a *Axes) checkSize(outages int) *fault.Input {
	drives := product(len(a.Cars), len(a.TempsC), len(a.Winds), len(a.Surfaces), len(a.SpeedCapsKMH))
	if drives > MostDrives {
		return &fault.Input{Field: "cars × temps_c × winds × surfaces × speed_caps_kmh", Found: fmt.Sprintf("%.0f drives", drives),
			Expected: fmt.Sprintf("at most %d of a corridor", MostDrives), Err: ErrTooMany}
	}
	cases := product(len(a.ConfidencesPct), len(a.ReservesPct), len(a.DepartsSoCPct), outages)
	if cases > MostCases {
		return &fault.Input{Field: "confidences_pct × reserves_pct × departs_soc_pct × outages", Found: fmt.Sprintf("%.0f cases", cases),
			Expected: fmt.Sprintf("at most %d of one drive", MostCases), Err: ErrTooMany}
	}
	return nil
}

func product(factors ...int) float64 {
	out := 1.0
	for _, f := range factors {
		out *= float64(f)
	}
	return out
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

// sets are the cross products of a study, every axis filled.
func (s *Study) sets() []Axes {
	if len(s.Cases) == 0 {
		return []Axes{s.filled(s.Axes)}
	}
	out := make([]Axes, len(s.Cases))
	for i, c := range s.Cases {
		out[i] = s.filled(c)
	}
	return out
}

// filled takes what an entry leaves out from the study, then the request.
func (s *Study) filled(a Axes) Axes {
	r := &s.Request
	if len(a.ReservesPct) == 0 && a.ReserveRange == nil {
		a.ReservesPct, a.ReserveRange = s.ReservesPct, s.ReserveRange
	}
	if a.ReserveRange != nil {
		a.ReservesPct = append(a.ReservesPct[:len(a.ReservesPct):len(a.ReservesPct)], a.ReserveRange.values()...)
	}
	speedCap := 0.0
	if r.SpeedCapKMH != nil {
		speedCap = *r.SpeedCapKMH
	}
	out := Axes{
		Cars:           values(a.Cars, s.Cars, []string{"mid-size-sedan"}),
		TempsC:         values(a.TempsC, s.TempsC, []float64{r.TempC}),
		Winds:          values(a.Winds, s.Winds, []Wind{{r.WindKMH, r.WindFromDeg}}),
		Surfaces:       values(a.Surfaces, s.Surfaces, []string{r.Surface}),
		SpeedCapsKMH:   values(a.SpeedCapsKMH, s.SpeedCapsKMH, []float64{speedCap}),
		ConfidencesPct: values(a.ConfidencesPct, s.ConfidencesPct, []float64{r.ConfidencePct}),
		DepartsSoCPct:  values(a.DepartsSoCPct, s.DepartsSoCPct, []float64{r.LeaveWithPct}),
		ReservesPct:    values(a.ReservesPct, []float64{r.ReservePct}),
		Outages:        a.Outages,
	}
	if out.Outages == nil {
		out.Outages = s.Outages
	}
	if out.Outages == nil {
		out.Outages = &Outages{None: true}
	}
	return out
}

// values are those of the first list that has any, each once: a case is counted
// once however often it is asked for.
func values[T comparable](lists ...[]T) []T {
	for _, l := range lists {
		if len(l) == 0 {
			continue
		}
		var out []T
		known := map[T]bool{}
		for _, v := range l {
			if !known[v] {
				known[v] = true
				out = append(out, v)
			}
		}
		return out
	}
	return nil
}

// MostValues is how many values a range may have.
const MostValues = 100_000

func (a *Axes) checkRange() *fault.Input {
	r := a.ReserveRange
	if r == nil {
		return nil
	}
	bad := &fault.Input{Field: "reserve_range_pct", Found: fmt.Sprintf("from %g to %g in steps of %g", r.From, r.To, r.Step)}
	steps := (r.To - r.From) / r.Step
	switch {
	case !(r.From >= 0 && r.To <= 100):
		bad.Expected = "from and to within 0 to 100"
	case r.To < r.From:
		bad.Expected = "to no less than from"
	case !(r.Step > 0):
		bad.Expected = "a step above 0"
	case steps >= MostValues:
		bad.Found += fmt.Sprintf(", %.3g values", steps+1)
		bad.Expected, bad.Err = fmt.Sprintf("at most %d values", MostValues), ErrTooMany
	case math.IsInf(r.Step, 1):
		bad.Expected = "a step that is a number"
	default:
		return nil
	}
	return bad
}

// values counts in whole steps, so that no rounding adds up.
func (r *Range) values() []float64 {
	var out []float64
	for i := 0; ; i++ {
		v := r.From + float64(i)*r.Step
		if v > r.To+r.Step*1e-9 {
			return out
		}
		out = append(out, math.Round(v*1e9)/1e9)
	}
}

// percentAxis refuses percentages that are all below 1: fractions, most likely.
func percentAxis(field string, values []float64) *fault.Input {
	if !strings.HasSuffix(field, "_pct") || len(values) == 0 {
		return nil
	}
	var bad *fault.Input
	errors.As(question.NotAFraction(field, slices.Max(values)), &bad)
	return bad
}

func (a *Axes) check() *fault.Input {
	for _, axis := range []struct {
		field  string
		values []float64
		lo, hi float64
	}{
		{"temps_c", a.TempsC, -60, 60},
		{"confidences_pct", a.ConfidencesPct, 0, 100 * trip.MostConfidence},
		{"departs_soc_pct", a.DepartsSoCPct, 0, 100},
		{"reserves_pct", a.ReservesPct, 0, 100},
	} {
		if err := percentAxis(axis.field, axis.values); err != nil {
			return err
		}
		for _, v := range axis.values {
			if !(v >= axis.lo && v <= axis.hi) {
				return &fault.Input{Field: axis.field, Found: fmt.Sprint(v), Expected: fmt.Sprintf("%g to %g", axis.lo, axis.hi)}
			}
		}
	}
	for _, v := range a.SpeedCapsKMH {
		if v != 0 && !(v >= 20 && v <= 300) {
			return &fault.Input{Field: "speed_caps_kmh", Found: fmt.Sprint(v), Expected: "20 to 300, or 0: no cap"}
		}
	}
	for _, w := range a.Winds {
		from := 0.0
		if w.FromDeg != nil {
			from = *w.FromDeg
		}
		if !(w.KMH >= 0 && w.KMH <= 200 && math.Abs(from) <= 360) {
			return &fault.Input{Field: "winds", Found: fmt.Sprintf("%g km/h from %g degrees", w.KMH, from), Expected: "0 to 200 km/h, from -360 to 360 degrees"}
		}
	}
	o := a.Outages
	if !o.None && !o.Each && o.Random == nil {
		return &fault.Input{Field: "outages", Found: "none of them", Expected: "none, each or random"}
	}
	if r := o.Random; r != nil && (r.Down < 1 || r.Sets < 1 || r.Sets > 1e6) {
		return &fault.Input{Field: "outages.random", Found: fmt.Sprintf("%d down, %d sets", r.Down, r.Sets), Expected: "one or more down, 1 to 1000000 sets"}
	}
	return nil
}

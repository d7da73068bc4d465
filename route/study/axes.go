package study

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
	"ampleway/data/settings"
	"ampleway/route/question"
)

// Axes are what a study varies within a corridor: cars, outages, and rows of
// the question (see AxisRows), each under its own key. An axis that is empty
// takes the values of the study's, then that of its request.
type Axes struct {
	Cars    []string `json:"cars,omitempty"`
	Outages *Outages `json:"outages,omitempty"`
	rows    map[string]axis
}

// AxisRows are the rows of the question that can be an axis: figures, choices,
// and what is so or not. The rest is one for the whole study, in its request.
func AxisRows() []question.Row {
	return slices.DeleteFunc(slices.Clone(question.Rows()), func(r question.Row) bool { return WhyNoAxis(r) != "" })
}

// WhyNoAxis says why a row cannot be an axis; empty where it can.
func WhyNoAxis(r question.Row) string {
	switch {
	case r.Kind() == reflect.Slice || r.Kind() == reflect.String && len(r.Choices) == 0:
		return "a text or a list of texts"
	case r.Group == question.Return || r.Group == question.Home:
		return "a study has single drives, which begin at departure"
	case strings.HasPrefix(r.Key, "fallback"):
		return "a study has outages instead"
	case slices.Contains([]string{"half_width_km", "detour_factor", "detour_speed_kmh"}, r.Key):
		return "the stations beside a corridor are found once for all its cases"
	}
	return ""
}

// axis is a value, a list of values or a range, as texts that a row reads; ""
// is null, nothing said.
type axis struct {
	values []string
	steps  *Range
}

// Range is a list of values from From to To, both included where Step leads
// there.
type Range struct {
	From float64 `yaml:"from" json:"from"`
	To   float64 `yaml:"to" json:"to"`
	Step float64 `yaml:"step" json:"step"`
}

// UnmarshalYAML takes the three forms.
func (a *axis) UnmarshalYAML(decode func(any) error) error {
	var v any
	if err := decode(&v); err != nil {
		return err
	}
	switch v := v.(type) {
	case map[string]any:
		a.steps = &Range{}
		return decode(a.steps)
	case []any:
		for _, one := range v {
			a.values = append(a.values, textOf(one))
		}
	default:
		a.values = []string{textOf(v)}
	}
	return nil
}

func textOf(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case float64:
		return number(v)
	}
	return fmt.Sprint(v)
}

// axesFile is the form of Axes in a file: a struct with a field for every row
// that can be an axis, under its key.
var axesFile = func() reflect.Type {
	fields := []reflect.StructField{
		{Name: "Cars", Type: reflect.TypeFor[[]string](), Tag: `yaml:"cars"`},
		{Name: "Outages", Type: reflect.TypeFor[*Outages](), Tag: `yaml:"outages"`},
	}
	for i, r := range AxisRows() {
		fields = append(fields, reflect.StructField{Name: "Row" + strconv.Itoa(i), Type: reflect.TypeFor[axis](), Tag: reflect.StructTag(`yaml:"` + r.Key + `"`)})
	}
	return reflect.StructOf(fields)
}()

// axesOf are the axes in a struct of that form.
func axesOf(file reflect.Value) Axes {
	a := Axes{Cars: file.Field(0).Interface().([]string), Outages: file.Field(1).Interface().(*Outages), rows: map[string]axis{}}
	for i, r := range AxisRows() {
		if one := file.Field(i + 2).Interface().(axis); len(one.values) > 0 || one.steps != nil {
			a.rows[r.Key] = one
		}
	}
	return a
}

// UnmarshalYAML reads an entry of cases.
func (a *Axes) UnmarshalYAML(decode func(any) error) error {
	file := reflect.New(axesFile)
	err := decode(file.Interface())
	*a = axesOf(file.Elem())
	return err
}

// decodeStudy reads a study's text: the keys of its axes stand beside the rest.
func decodeStudy(text []byte, name string, s *Study) error {
	file := reflect.New(reflect.StructOf([]reflect.StructField{
		{Name: "Study", Type: reflect.TypeFor[Study](), Tag: `yaml:",inline"`}, {Name: "Axes", Type: axesFile, Tag: `yaml:",inline"`},
	})).Elem()
	file.Field(0).Set(reflect.ValueOf(*s))
	if err := settings.Decode(text, name, "a study", file.Addr().Interface()); err != nil {
		return err
	}
	*s = file.Field(0).Interface().(Study)
	s.Axes = axesOf(file.Field(1))
	return nil
}

// MostValues is how many values a range may have.
const MostValues = 100_000

// list are the values of an axis.
func (a axis) list(r question.Row) ([]string, *fault.Input) {
	s := a.steps
	if s == nil {
		return a.values, nil
	}
	bad := &fault.Input{Field: r.Key, Found: fmt.Sprintf("from %g to %g in steps of %g", s.From, s.To, s.Step)}
	steps := (s.To - s.From) / s.Step
	switch {
	case r.Kind() != reflect.Float64 && r.Kind() != reflect.Int:
		bad.Expected = "a list of values"
	case !(s.From >= r.Min && s.To <= r.Max):
		bad.Expected = fmt.Sprintf("from and to within %g to %g", r.Min, r.Max)
	case s.To < s.From:
		bad.Expected = "to no less than from"
	case !(s.Step > 0):
		bad.Expected = "a step above 0"
	case steps >= MostValues:
		bad.Found += fmt.Sprintf(", %.3g values", steps+1)
		bad.Expected, bad.Err = fmt.Sprintf("at most %d values", MostValues), ErrTooMany
	case math.IsInf(s.Step, 1):
		bad.Expected = "a step that is a number"
	default:
		return s.values(), nil
	}
	return nil, bad
}

// values counts in whole steps, so that no rounding adds up.
func (s *Range) values() []string {
	var out []string
	for i := 0; ; i++ {
		v := s.From + float64(i)*s.Step
		if v > s.To+s.Step*1e-9 {
			return out
		}
		out = append(out, number(math.Round(v*1e9)/1e9))
	}
}

// set is one cross product with every axis filled: first the cars, then the
// rows in the order of the table, and within a drive the confidences, the
// reserves, the outages and the departures.
type set struct {
	cars        []string
	rows        []rowAxis // those that a drive depends on
	confidences []float64 // in percent, as reserves and departs
	reserves    []float64
	departs     []float64
	outages     *Outages
}

// rowAxis is a row with its values.
type rowAxis struct {
	question.Row
	values []string
}

// crossed are the cross products of a study.
func (s *Study) crossed() ([]set, *fault.Input) {
	if len(s.Cases) == 0 {
		one, err := s.filled(Axes{})
		return []set{one}, err
	}
	out := make([]set, len(s.Cases))
	for i, c := range s.Cases {
		var err *fault.Input
		if out[i], err = s.filled(c); err != nil {
			err.Where = fmt.Sprintf("cases, entry %d", i+1)
			return nil, err
		}
	}
	return out, nil
}

// filled takes what an entry leaves out from the study, then the request.
func (s *Study) filled(a Axes) (set, *fault.Input) {
	out := set{cars: values(a.Cars, s.Axes.Cars, []string{"mid-size-sedan"}), outages: a.Outages}
	for _, o := range []*Outages{s.Axes.Outages, {None: true}} {
		if out.outages == nil {
			out.outages = o
		}
	}
	for _, r := range AxisRows() {
		given, ok := a.rows[r.Key]
		if !ok {
			given, ok = s.Axes.rows[r.Key]
		}
		texts, err := given.list(r)
		if err != nil {
			return out, err
		}
		if err := out.add(s, r, values(texts), ok); err != nil {
			return out, err
		}
	}
	if err := out.outages.check(); err != nil {
		return out, err
	}
	return out, out.checkSize(out.outages.about())
}

// add puts an axis in its place. One that is not given is left to the request,
// but for those that vary within a drive.
func (s *set) add(of *Study, r question.Row, texts []string, given bool) *fault.Input {
	within := map[string]*[]float64{"confidence_pct": &s.confidences, "reserve_pct": &s.reserves, "leave_with_pct": &s.departs}[r.Key]
	var err error
	switch {
	case within != nil && given:
		*within, err = r.Figures(texts)
	case within != nil:
		*within, err = r.Figures(r.Get(&of.Request))
	case given:
		s.rows = append(s.rows, rowAxis{r, texts})
		err = r.CheckAll(of.Request, texts)
	}
	var bad *fault.Input
	errors.As(err, &bad)
	return bad
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

// What a study may ask for at most, because it is held in memory at once.
const (
	MostDrives = 100_000 // of a corridor: the product of cars and of the axes that a drive depends on
	MostCases  = 500_000 // of a drive: confidences × reserves × departures × outages
)

// ErrTooMany is wrapped by the faults of a study that asks for more than
// MostDrives or MostCases.
var ErrTooMany = errors.New("too many cases at once")

// drives is how many there are on a corridor, as a float: the product may be
// far too large.
func (s *set) drives() float64 {
	n := float64(len(s.cars))
	for _, a := range s.rows {
		n *= float64(len(a.values))
	}
	return n
}

// checkSize takes the number of outages, which only a corridor's drive tells
// exactly.
func (s *set) checkSize(outages int) *fault.Input {
	if n := s.drives(); n > MostDrives {
		field := "cars"
		for _, a := range s.rows {
			field += " × " + a.Key
		}
		return &fault.Input{Field: field, Found: fmt.Sprintf("%.0f drives", n), Expected: fmt.Sprintf("at most %d of a corridor", MostDrives), Err: ErrTooMany}
	}
	if n := s.casesOf(outages); n > MostCases {
		return &fault.Input{Field: "confidence_pct × reserve_pct × leave_with_pct × outages", Found: fmt.Sprintf("%.0f cases", n),
			Expected: fmt.Sprintf("at most %d of one drive", MostCases), Err: ErrTooMany}
	}
	return nil
}

// casesOf is the number of cases of a drive, a float for the same reason.
func (s *set) casesOf(outages int) float64 {
	return float64(len(s.confidences)) * float64(len(s.reserves)) * float64(len(s.departs)) * float64(outages)
}

func (o *Outages) check() *fault.Input {
	if !o.None && !o.Each && o.Random == nil {
		return &fault.Input{Field: "outages", Found: "none of them", Expected: "none, each or random"}
	}
	if r := o.Random; r != nil && (r.Down < 1 || r.Sets < 1 || r.Sets > 1e6) {
		return &fault.Input{Field: "outages.random", Found: fmt.Sprintf("%d down, %d sets", r.Down, r.Sets), Expected: "one or more down, 1 to 1000000 sets"}
	}
	return nil
}

package question

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Row is one thing that can be asked. Its key is the only name it has: the
// option is the key without its unit, the field of Question the key in
// capitals.
type Row struct {
	Key      string // in JSON, YAML and addresses; ends in the unit
	Unit     Unit
	Min, Max float64 // of a figure, both included
	Group    Group
	Label    string                                      // at a control, and in what a plan rests on
	Help     string                                      // what it is, for the help and the schema; begins small, without a full stop
	Usual    string                                      // what holds where nothing is given, for a row without a default
	Example  string                                      // of a text
	Choices  []Choice                                    // the only values a text may have
	Suggest  []Choice                                    // values that a control offers among others
	FromUS   func(text string) string                    // turns a text with figures in US units into the metric one
	Comma    bool                                        // texts of a list may stand in one, with commas between
	Slide    *Slide                                      // the part of the range that a slider covers
	Names    func(text string) (figure float64, ok bool) // figures that have names, such as SSW
	Field    func(*Question) any                         // the address of the field: *float64, **float64, *int, *bool, *string or *[]string
}

// Choice is one of the values that a text may have.
type Choice struct{ Value, Label string }

// Slide is a slider's range and step.
type Slide struct{ Min, Max, Step float64 }

// Group is a heading under which rows stand.
type Group string

// Offered are the values that a control offers: the choices, or what is
// suggested, after nothing where nothing is a value of the row.
func (r Row) Offered() []Choice {
	if len(r.Choices) > 0 {
		return r.Choices
	}
	if r.Usual == "" || r.Suggest[0].Value == "" {
		return r.Suggest
	}
	return append([]Choice{{"", r.Usual}}, r.Suggest...)
}

// Rows are all rows in their order.
func Rows() []Row { return rows }

// Find returns the row of a key, in whatever units the key is.
func Find(key string) (Row, Units, bool) {
	for _, r := range rows {
		switch key {
		case r.Key:
			return r, Metric, true
		case r.USKey():
			return r, US, true
		}
	}
	return Row{}, Metric, false
}

// Option is the name of the row on a command line: "speed-cap" of
// "speed_cap_kmh".
func (r Row) Option() string {
	return strings.ReplaceAll(r.stem(), "_", "-")
}

func (r Row) stem() string {
	if r.Unit.suffix == "" {
		return r.Key
	}
	return strings.TrimSuffix(r.Key, "_"+r.Unit.suffix)
}

// USKey is the key of the row in US units: "temp_f" of "temp_c"; the key
// itself where the unit is the same.
func (r Row) USKey() string {
	if r.Unit.us == nil {
		return r.Key
	}
	return r.stem() + "_" + r.Unit.us.suffix
}

// KeyIn is the key in a system of units.
func (r Row) KeyIn(s Units) string {
	if s == US {
		return r.USKey()
	}
	return r.Key
}

// value is the field itself; one that may be absent is given whole.
func (r Row) value(q *Question) reflect.Value { return reflect.ValueOf(r.Field(q)).Elem() }

// Kind is what the row holds: reflect.Float64, Int, Bool, String or Slice.
func (r Row) Kind() reflect.Kind {
	t := reflect.TypeOf(r.Field(&Question{})).Elem()
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t.Kind()
}

// Optional reports whether the row may be absent, for which no figure stands.
func (r Row) Optional() bool {
	return reflect.TypeOf(r.Field(&Question{})).Elem().Kind() == reflect.Pointer
}

// Get returns the row's value as texts, in metric units: none where it is
// absent, several of a list.
func (r Row) Get(q *Question) []string { return texts(r.value(q)) }

func texts(v reflect.Value) []string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return texts(v.Elem())
	case reflect.Slice:
		return slices.Clone(v.Interface().([]string))
	case reflect.Float64:
		return []string{strconv.FormatFloat(v.Float(), 'g', -1, 64)}
	case reflect.Bool:
		if !v.Bool() {
			return nil
		}
		return []string{"1"}
	case reflect.String:
		if v.Len() == 0 {
			return nil
		}
	}
	return []string{fmt.Sprint(v.Interface())}
}

// Number returns the row's figure, and false where it is absent or no figure.
func (r Row) Number(q *Question) (float64, bool) {
	v := r.value(q)
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return 0, false
		}
		v = v.Elem()
	}
	switch v.Kind() {
	case reflect.Float64:
		return v.Float(), true
	case reflect.Int:
		return float64(v.Int()), true
	}
	return 0, false
}

// Value returns the row's value, nil where it is absent or empty.
func (r Row) Value(q *Question) any {
	v := r.value(q)
	if v.Kind() == reflect.Pointer && !v.IsNil() {
		v = v.Elem()
	}
	if v.Kind() != reflect.Float64 && v.Kind() != reflect.Bool && v.IsZero() {
		return nil
	}
	return v.Interface()
}

// Set reads texts, given in a system of units, into the row. No text, or an
// empty one, makes an optional row absent and leaves another figure as it is.
// The error is a *fault.Input that names the key.
func (r Row) Set(q *Question, given []string, s Units) error {
	v := r.value(q)
	if v.Kind() == reflect.Slice {
		v.Set(reflect.ValueOf(r.list(given)))
		return r.check(q, s)
	}
	text := ""
	if len(given) > 0 {
		text = strings.TrimSpace(given[len(given)-1])
	}
	if text == "" {
		if k := v.Kind(); k == reflect.Pointer || k == reflect.String || k == reflect.Bool {
			v.SetZero()
		}
		return nil
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		v = v.Elem()
	}
	if err := r.read(v, text, s); err != nil {
		return err
	}
	return r.check(q, s)
}

// list are the texts that say something.
func (r Row) list(given []string) []string {
	var out []string
	for _, text := range given {
		parts := []string{text}
		if r.Comma {
			parts = strings.Split(text, ",")
		}
		for _, part := range parts {
			if part = strings.TrimSpace(part); part != "" {
				out = append(out, part)
			}
		}
	}
	return out
}

// read turns one text into a figure, a yes or no, or the text itself.
func (r Row) read(v reflect.Value, text string, s Units) error {
	bad := func(expected string) error {
		return &fault.Input{Field: r.KeyIn(s), Found: text, Expected: expected}
	}
	switch v.Kind() {
	case reflect.String:
		if s == US && r.FromUS != nil {
			text = r.FromUS(text)
		}
		v.SetString(text)
	case reflect.Bool:
		yes, known := YesOrNo(text)
		if !known {
			return bad("1 or 0")
		}
		v.SetBool(yes)
	case reflect.Int:
		n, err := strconv.Atoi(text)
		if err != nil {
			return bad("a whole number")
		}
		v.SetInt(int64(n))
	case reflect.Float64:
		x, err := r.figure(text, s)
		if err != nil && r.Names != nil {
			return bad("degrees clockwise from north, or a point of the compass such as SSW")
		}
		if err != nil {
			return bad("a number")
		}
		v.SetFloat(x)
	}
	return nil
}

func (r Row) figure(text string, s Units) (float64, error) {
	if r.Names != nil {
		if x, ok := r.Names(text); ok {
			return x, nil
		}
	}
	x, err := strconv.ParseFloat(text, 64)
	if err == nil && math.IsNaN(x) {
		err = strconv.ErrRange
	}
	return r.Unit.Metric(x, s), err
}

// celsiusByHour turns the temperatures of "06:00=25,14:30=40" from °F into °C.
// What is no temperature stays: whoever reads the text refuses it.
func celsiusByHour(text string) string {
	parts := strings.Split(text, ",")
	for i, part := range parts {
		at, figure, timed := strings.Cut(part, "=")
		if !timed {
			at, figure = "", part
		}
		if v, err := strconv.ParseFloat(strings.TrimSpace(figure), 64); err == nil {
			parts[i] = strconv.FormatFloat(Celsius.Metric(v, US), 'g', -1, 64)
			if timed {
				parts[i] = at + "=" + parts[i]
			}
		}
	}
	return strings.Join(parts, ",")
}

// YesOrNo reads 1 or 0, in any of the usual words; nothing is no.
func YesOrNo(text string) (yes, known bool) {
	switch text {
	case "1", "true", "on", "yes":
		return true, true
	case "", "0", "false", "off", "no":
		return false, true
	}
	return false, false
}

// check holds the row's value against its range, its choices and its own
// check; the message is in the units that the value was given in.
func (r Row) check(q *Question, s Units) error {
	if x, ok := r.Number(q); ok {
		return r.inRange(x, s)
	}
	for _, text := range r.Get(q) {
		if len(r.Choices) > 0 && !slices.ContainsFunc(r.Choices, func(c Choice) bool { return c.Value == text }) {
			return &fault.Input{Field: r.Key, Found: text, Expected: r.ChoiceText()}
		}
	}
	return nil
}

// CheckAll holds several values, each in place of the one in q, against the
// row. "" is nothing said, which only an optional row takes.
func (r Row) CheckAll(q Question, given []string) error {
	for _, text := range given {
		if text == "" && !r.Optional() {
			return &fault.Input{Field: r.Key, Found: "nothing", Expected: "a value"}
		}
		if err := r.Set(&q, []string{text}, Metric); err != nil {
			return err
		}
	}
	return nil
}

// Figures reads several metric figures of the row, each within its range.
// Percentages are refused as fractions only where all of them are below 1.
func (r Row) Figures(given []string) ([]float64, error) {
	out := make([]float64, len(given))
	for i, text := range given {
		x, err := r.figure(text, Metric)
		if err != nil {
			return nil, &fault.Input{Field: r.Key, Found: text, Expected: "a number"}
		}
		if err := r.within(x, Metric); err != nil {
			return nil, err
		}
		out[i] = x
	}
	if r.Unit == Percent && len(out) > 0 {
		return out, NotAFraction(r.Key, slices.Max(out))
	}
	return out, nil
}

func (r Row) inRange(x float64, s Units) error {
	if r.Unit == Percent {
		if err := NotAFraction(r.Key, x); err != nil {
			return err
		}
	}
	return r.within(x, s)
}

func (r Row) within(x float64, s Units) error {
	const slack = 1e-9 // of a figure turned from other units
	if x >= r.Min-slack && x <= r.Max+slack {
		return nil
	}
	shown := func(v float64) string {
		return strconv.FormatFloat(math.Round(1e6*r.Unit.Figure(v, s))/1e6, 'g', -1, 64)
	}
	expected := fmt.Sprintf("%s to %s %s", shown(r.Min), shown(r.Max), r.Unit.In(s))
	return &fault.Input{Field: r.KeyIn(s), Found: shown(x), Expected: strings.TrimSpace(expected)}
}

// NotAFraction returns a *fault.Input for a figure between 0 and 1 where a
// percentage is wanted: whoever writes 0.95 most likely means 95 %.
func NotAFraction(field string, v float64) error {
	if v <= 0 || v >= 1 {
		return nil
	}
	meant := strconv.FormatFloat(100*v, 'g', 6, 64)
	return &fault.Input{Field: field, Found: fmt.Sprintf("%g", v), Expected: fmt.Sprintf("percent. %g %%? Write %s for %s %%", v, meant, meant)}
}

// ChoiceText lists the choices: "time, cost or balance".
func (r Row) ChoiceText() string {
	var names []string
	for _, c := range r.Choices {
		if c.Value != "" {
			names = append(names, c.Value)
		}
	}
	if n := len(names) - 1; n > 0 {
		return strings.Join(names[:n], ", ") + " or " + names[n]
	}
	return strings.Join(names, "")
}

// Told says what is asked in this row, for people: "rain 4 mm/h"; empty where
// nothing is asked that is not so for everyone.
func (r Row) Told(q *Question, s Units) string {
	usual := New()
	if slices.Equal(r.Get(q), r.Get(&usual)) {
		return ""
	}
	return r.Say(q, s)
}

// Say says the row's value, for people: "rain 4 mm/h".
func (r Row) Say(q *Question, s Units) string {
	label := strings.ToLower(r.Label[:1]) + r.Label[1:]
	if x, ok := r.Number(q); ok {
		return label + " " + r.Unit.Text(x, s)
	}
	told := r.Get(q)
	switch {
	case r.Kind() == reflect.Bool && len(told) == 0:
		return "not " + label
	case r.Kind() == reflect.Bool:
		return label
	case len(told) == 0:
		return label + " " + cmp.Or(r.Usual, "none")
	}
	return label + " " + strings.Join(told, ", ")
}

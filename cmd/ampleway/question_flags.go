package main

import (
	"errors"
	"fmt"
	"reflect"
	"strings"

	"ampleway/data/fault"
	"ampleway/route/question"

	"github.com/spf13/pflag"
)

// questionFlags are the options of a command line that a question's rows make,
// for every command that plans. What was given is kept as it stands until the
// units and the question it changes are known.
type questionFlags struct {
	given map[string][]string // texts by the row's key
}

// add makes an option of every row, with its heading, unit and default.
func (q *questionFlags) add(f *pflag.FlagSet, rows []question.Row) {
	q.given = map[string][]string{}
	usual := question.New()
	for _, r := range rows {
		flag := f.VarPF(&rowValue{q, r}, r.Option(), "", optionHelp(r, &usual))
		if r.Kind() == reflect.Bool {
			flag.NoOptDefVal = "true"
		}
		under(f, string(r.Group), r.Option())
	}
}

// optionHelp says what an option is, what it may be and what holds without it.
func optionHelp(r question.Row, usual *question.Question) string {
	text := r.Help
	if len(r.Choices) > 0 {
		text += ": " + r.ChoiceText()
	}
	if r.Example != "" {
		text += fmt.Sprintf(", such as %q", r.Example)
	}
	if r.Kind() == reflect.Slice {
		text += " (repeatable)"
	}
	if standard := strings.Join(r.Get(usual), ","); standard != "" {
		return text + " (default " + standard + ")"
	}
	if r.Usual != "" {
		text += " (default: " + r.Usual + ")"
	}
	return text
}

// set fills a question from the options that were given, in their units. The
// error names the option.
func (q *questionFlags) set(to *question.Question, units question.Units) error {
	for _, r := range question.Rows() {
		texts, given := q.given[r.Key]
		if !given {
			continue
		}
		if figure(r) {
			texts = texts[:1]
		}
		if err := r.Set(to, texts, units); err != nil {
			return optionError(r, err)
		}
	}
	for _, key := range []string{"back_temp_c", "back_wind_kmh", "back_wind_from_deg"} {
		if r, _, _ := question.Find(key); q.given[key] != nil && !to.Back {
			return &usageError{fmt.Errorf("--%s: expected --back with it", r.Option())}
		}
	}
	if _, own := q.given["arrive_with_pct"]; !own && q.given["reserve_pct"] != nil {
		to.ArriveWithPct = to.ReservePct
	}
	return nil
}

// optionError names the option in the place of the key.
func optionError(r question.Row, err error) error {
	var input *fault.Input
	if errors.As(err, &input) {
		named := *input
		named.Field = "--" + r.Option()
		err = &named
	}
	return &usageError{err}
}

// named is an error about a question, by its option.
func named(err error) error {
	var input *fault.Input
	if !errors.As(err, &input) || input.File != "" {
		return err
	}
	if r, _, ok := question.Find(input.Field); ok {
		return optionError(r, err)
	}
	return err
}

// several reports whether a figure was given more than one value.
func (q *questionFlags) several() bool {
	for _, r := range question.Rows() {
		if figure(r) && len(q.given[r.Key]) > 1 {
			return true
		}
	}
	return false
}

// mostCases bounds how many questions one command line compares.
const mostCases = 100

// cases are base with every value of each figure that was given several.
func (q *questionFlags) cases(base question.Question, units question.Units) ([]question.Question, error) {
	out := []question.Question{base}
	for _, r := range question.Rows() {
		texts := q.given[r.Key]
		if !figure(r) || len(texts) < 2 {
			continue
		}
		var more []question.Question
		for _, one := range out {
			for _, text := range texts {
				if err := r.Set(&one, []string{text}, units); err != nil {
					return nil, optionError(r, err)
				}
				more = append(more, one)
			}
		}
		if out = more; len(out) > mostCases {
			return nil, &usageError{fmt.Errorf("%d cases to compare: expected at most %d", len(out), mostCases)}
		}
	}
	return out, nil
}

// figure reports whether a row is a number, of which several are compared.
func figure(r question.Row) bool {
	return r.Kind() == reflect.Float64 || r.Kind() == reflect.Int
}

// rowValue is one option of questionFlags.
type rowValue struct {
	of  *questionFlags
	row question.Row
}

// String is what was given.
func (v *rowValue) String() string {
	if v.of == nil {
		return ""
	}
	return strings.Join(v.of.given[v.row.Key], ",")
}

// Type is the unit, for the help.
func (v *rowValue) Type() string {
	if v.row.Unit.Sign != "" {
		return v.row.Unit.Sign
	}
	switch v.row.Kind() {
	case reflect.Bool:
		return "bool"
	case reflect.Float64, reflect.Int:
		return "N"
	}
	return "TEXT"
}

// Set keeps a text: of a list one more, of a figure all that stand between
// commas, which are compared.
func (v *rowValue) Set(text string) error {
	key := v.row.Key
	if had, twice := v.of.given[key]; twice && v.row.Kind() != reflect.Slice && key != "temp_c" {
		return fmt.Errorf("given twice, first as %q", had[0])
	}
	return v.Append(text)
}

// Append adds a text.
func (v *rowValue) Append(text string) error {
	texts := []string{text}
	if figure(v.row) {
		texts = strings.Split(text, ",")
	}
	v.of.given[v.row.Key] = append(v.of.given[v.row.Key], texts...)
	return nil
}

// Replace puts texts in the place of all.
func (v *rowValue) Replace(texts []string) error {
	v.of.given[v.row.Key] = texts
	return nil
}

// GetSlice lists what was given.
func (v *rowValue) GetSlice() []string { return v.of.given[v.row.Key] }

// heading is the annotation of an option that says under which heading of the
// help it stands.
const heading = "ampleway_heading"

func under(f *pflag.FlagSet, text string, options ...string) {
	for _, option := range options {
		if err := f.SetAnnotation(option, heading, []string{text}); err != nil {
			panic("ampleway: " + err.Error())
		}
	}
}

// headed lists the options of a command under their headings, in the order in
// which those first come; the help is last.
func headed(f *pflag.FlagSet) string {
	var names []string
	groups := map[string]*pflag.FlagSet{}
	f.VisitAll(func(flag *pflag.Flag) {
		name := strings.Join(flag.Annotations[heading], "")
		if groups[name] == nil {
			groups[name] = pflag.NewFlagSet(name, pflag.ContinueOnError)
			groups[name].SortFlags = false
			names = append(names, name)
		}
		shown := *flag
		shown.Value = plainType{flag.Value}
		shown.DefValue = strings.Trim(shown.DefValue, "[]")
		groups[name].AddFlag(&shown)
	})
	var out strings.Builder
	for _, name := range names {
		title := name
		if name == "" {
			title = "Options"
		}
		fmt.Fprintf(&out, "%s:\n%s\n", title, degreesAligned.Replace(groups[name].FlagUsages()))
	}
	return strings.TrimRight(out.String(), "\n")
}

// degreesAligned makes up for the library's counting the degree sign as two
// columns.
var degreesAligned = strings.NewReplacer(" °C ", " °C  ", " ° ", " °  ")

// plainType is a value whose type the help says in a word.
type plainType struct{ pflag.Value }

// Type is what stands behind the option.
func (v plainType) Type() string {
	switch t := v.Value.Type(); t {
	case "string", "stringArray", "stringSlice", "stringToString":
		return "TEXT"
	case "int", "int64", "float64", "float", "uint64":
		return "N"
	case "float64Slice":
		return "N,N"
	default:
		return t
	}
}

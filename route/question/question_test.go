package question_test

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/route/question"

	"pgregory.net/rapid"
)

// Every row can be shown, asked, checked and found under one name, and every
// field of a question has a row.
func TestEveryRowIsWhole(t *testing.T) {
	fields := map[string]bool{}
	typ := reflect.TypeFor[question.Question]()
	for i := range typ.NumField() {
		fields[typ.Field(i).Name] = true
	}
	options := map[string]string{}
	for _, r := range question.Rows() {
		if r.Label == "" || r.Help == "" {
			t.Errorf("%s: no label or no help", r.Key)
		}
		if !slices.Contains(question.Groups, r.Group) {
			t.Errorf("%s: no heading", r.Key)
		}
		if k := r.Kind(); (k == reflect.Float64 || k == reflect.Int) && !(r.Max > r.Min) {
			t.Errorf("%s: no range", r.Key)
		}
		if r.Kind() == reflect.Slice && r.Example == "" {
			t.Errorf("%s: no example", r.Key)
		}
		if r.Optional() && r.Usual == "" && r.Kind() != reflect.String {
			if q := question.New(); len(r.Get(&q)) == 0 && r.Key != "rate" {
				t.Errorf("%s: what holds without it is not said", r.Key)
			}
		}
		if other, taken := options[r.Option()]; taken {
			t.Errorf("%s and %s are both --%s", r.Key, other, r.Option())
		}
		options[r.Option()] = r.Key
		name := goName(r.Key)
		if !fields[name] {
			t.Errorf("%s: no field %s", r.Key, name)
		}
		delete(fields, name)
	}
	for name := range fields {
		t.Errorf("the field %s has no row", name)
	}
}

var spelled = map[string]string{"soc": "SoC", "kmh": "KMH", "kw": "KW", "kwh": "KWh", "km": "KM", "ac": "AC", "c": "C", "mm": "MM"}

func goName(key string) string {
	var out strings.Builder
	for _, part := range strings.Split(key, "_") {
		if s, ok := spelled[part]; ok {
			out.WriteString(s)
			continue
		}
		out.WriteString(strings.ToUpper(part[:1]) + part[1:])
	}
	return out.String()
}

// What is written is read back as the same question.
func TestWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := question.New()
		for _, r := range question.Rows() {
			if !rapid.Bool().Draw(t, r.Key+" given") {
				continue
			}
			if err := r.Set(&q, []string{draw(t, r)}, question.Metric); err != nil {
				t.Fatal(err)
			}
		}
		again := question.New()
		if err := again.Read(q.Write()); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(q, again) {
			t.Fatalf("%+v became %+v", q, again)
		}
	})
}

func draw(t *rapid.T, r question.Row) string {
	switch {
	case len(r.Choices) > 0:
		return rapid.SampledFrom(r.Choices).Draw(t, r.Key).Value
	case r.Kind() == reflect.Bool:
		return rapid.SampledFrom([]string{"1", "0"}).Draw(t, r.Key)
	case r.Kind() == reflect.Float64 || r.Kind() == reflect.Int:
		return rapid.SampledFrom([]string{plain(math.Ceil(max(r.Min, 1))), plain(math.Floor(r.Max))}).Draw(t, r.Key)
	}
	return "something"
}

// A figure given in US units is the metric one by the definitions of the
// international mile and pound and of the Fahrenheit scale.
func TestUSUnits(t *testing.T) {
	for _, c := range []struct {
		key, text string
		want      float64
	}{
		{"temp_f", "-40", -40}, {"temp_f", "212", 100}, // freezing and boiling would be the scale itself; this one is out of range
		{"wind_mph", "10", 16.09344}, {"payload_lb", "100", 45.359237}, {"half_width_mi", "1", 1.609344},
	} {
		q := question.New()
		err := q.Read(map[string][]string{c.key: {c.text}})
		r, _, found := question.Find(c.key)
		if !found {
			t.Fatalf("%s is not known", c.key)
		}
		if c.want > r.Max {
			var input *fault.Input
			if !errors.As(err, &input) || input.Field != c.key || input.Found != c.text || !strings.Contains(input.Expected, "°F") {
				t.Errorf("%s=%s: %v", c.key, c.text, err)
			}
			continue
		}
		if got, _ := r.Number(&q); err != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s=%s: %v, %v, want %v", c.key, c.text, got, err, c.want)
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct{ key, text, says string }{
		{"reserve_pct", "0.1", "Write 10"},
		{"reserve_pct", "101", "0 to 100 %"},
		{"reserve_pct", "much", "a number"},
		{"reserve_pct", "NaN", "a number"},
		{"most_stops", "1.5", "a whole number"},
		{"ac", "perhaps", "1 or 0"},
		{"best", "beauty", "time, cost, balance or fewest-stops"},
		{"wind_from_deg", "up", "compass"},
	} {
		q := question.New()
		err := q.Read(map[string][]string{c.key: {c.text}})
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), c.key) {
			t.Errorf("%s=%s: %v", c.key, c.text, err)
		}
	}
}

func TestTold(t *testing.T) {
	q := question.New()
	tell := func(u question.Units) (told []string) {
		for _, r := range question.Rows() {
			if text := r.Told(&q, u); text != "" {
				told = append(told, text)
			}
		}
		return told
	}
	if told := tell(question.Metric); len(told) > 0 {
		t.Errorf("a usual question tells %q", told)
	}
	if err := q.Read(map[string][]string{"temp_c": {"-5"}, "wind_from_deg": {"SW"}, "winter_tyres": {"1"}, "avoid": {"a", "b"}}); err != nil {
		t.Fatal(err)
	}
	want := []string{"outside temperature 23 °F", "wind from the 225°", "winter tyres", "avoid a, b"}
	if told := tell(question.US); !slices.Equal(told, want) {
		t.Errorf("told %q, want %q", told, want)
	}
}

// Water freezes at 32 °F and boils at 212; the two scales meet at -40.
func TestFahrenheit(t *testing.T) {
	for tempC, tempF := range map[float64]float64{-40: -40, 0: 32, 37: 98.6, 100: 212} {
		if got := question.Celsius.Figure(tempC, question.US); !(math.Abs(got-tempF) <= 1e-12) {
			t.Errorf("%g °C are %v °F, want %g", tempC, got, tempF)
		}
	}
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

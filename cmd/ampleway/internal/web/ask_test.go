package web_test

import (
	"errors"
	"math"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data/fault"
	"ampleway/route/question"

	"pgregory.net/rapid"
)

func TestAQuestionSurvivesItsAddress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[ -~]{0,12}[!-~]`)
		a := web.Ask{Route: "line-" + word.Draw(t, "line"), RouteName: word.Draw(t, "name"), Car: word.Draw(t, "car"), Reverse: rapid.Bool().Draw(t, "reverse"), Units: rapid.SampledFrom([]string{"metric", "us"}).Draw(t, "units")}
		a.Route = trimmed(a.Route)
		a.RouteName, a.Car = trimmed(a.RouteName), trimmed(a.Car)
		a.Question = question.New()
		for _, r := range question.Rows() {
			if rapid.Bool().Draw(t, r.Key+" given") {
				if err := r.Set(&a.Question, []string{drawn(t, r, word)}, question.Metric); err != nil {
					t.Fatal(err)
				}
			}
		}
		q, err := url.ParseQuery(a.Query().Encode())
		if err != nil {
			t.Fatal(err)
		}
		back, err := web.ParseAsk(q, web.Ask{Units: "metric", Question: question.New()})
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a, back) {
			t.Fatalf("sent %+v\n got %+v", a, back)
		}
	})
}

// drawn is a value that a row takes.
func drawn(t *rapid.T, r question.Row, word *rapid.Generator[string]) string {
	switch k := r.Kind(); {
	case len(r.Choices) > 0:
		return rapid.SampledFrom(r.Choices).Draw(t, r.Key).Value
	case k == reflect.Bool:
		return rapid.SampledFrom([]string{"1", "0"}).Draw(t, r.Key)
	case k == reflect.Int:
		return strconv.Itoa(rapid.IntRange(int(r.Min), int(r.Max)).Draw(t, r.Key))
	case k == reflect.Float64:
		return strconv.FormatFloat(rapid.Float64Range(max(r.Min, 1), r.Max).Draw(t, r.Key), 'g', -1, 64)
	case r.Comma:
		return strings.ReplaceAll(word.Draw(t, r.Key), ",", "")
	}
	return word.Draw(t, r.Key)
}

// trimmed is a text without spaces at its ends, as the form sends it.
func trimmed(s string) string {
	for len(s) > 0 && s[0] == ' ' {
		s = s[1:]
	}
	return s
}

func TestUnitsAreInTheKey(t *testing.T) {
	q, _ := url.ParseQuery("route=r&units=us&temp_f=50&wind_mph=10&payload_lb=100&speed_cap_mph=65&half_width_mi=3")
	a, err := web.ParseAsk(q, web.Ask{})
	must(t, err)
	// International mile 1.609344 km and pound 0.45359237 kg, exact by definition.
	for name, pair := range map[string][2]float64{
		"temp": {a.TempC, 10}, "wind": {a.WindKMH, 16.09344}, "payload": {a.PayloadKg, 45.359237},
		"cap": {*a.SpeedCapKMH, 104.60736}, "width": {a.HalfWidthKM, 4.828032},
	} {
		if math.Abs(pair[0]-pair[1]) > 1e-9 {
			t.Errorf("%s: %v, want %v", name, pair[0], pair[1])
		}
	}
}

func TestAnEmptyBoxIsNotAnAnswer(t *testing.T) {
	q, _ := url.ParseQuery("route=r&temp_c=&speed_cap_kmh=&setup_min=")
	a, err := web.ParseAsk(q, web.Ask{})
	must(t, err)
	if a.TempC != question.New().TempC || a.SpeedCapKMH != nil || a.SetupMin != question.New().SetupMin {
		t.Errorf("empty boxes changed the question: %+v", a.Question)
	}
}

func TestADepartureTakesTheOffsetBesideIt(t *testing.T) {
	for query, want := range map[string]string{
		"route=r&depart=2026-10-17T08:00&utc_offset=-10:00":       "2026-10-17T08:00-10:00",
		"route=r&depart=2026-10-17T08:00:00%2B01:00&utc_offset=x": "",
		"route=r&depart=2026-10-17T08:00Z&utc_offset=-10:00":      "2026-10-17T08:00Z",
		"route=r&utc_offset=-10:00":                               "",
	} {
		q, _ := url.ParseQuery(query)
		a, err := web.ParseAsk(q, web.Ask{})
		if (err != nil) != (q.Get("utc_offset") == "x") || (err == nil && a.Depart != want) {
			t.Errorf("%s: %q, %v", query, a.Depart, err)
		}
	}
}

// The form's one box for a time is a departure or an arrival, and takes the
// offset beside it.
func TestOneBoxForATime(t *testing.T) {
	for query, want := range map[string][2]string{
		"at=2026-10-17T08:00&utc_offset=-10:00":                             {"2026-10-17T08:00-10:00", ""},
		"when=leave&at=2026-10-17T08:00Z":                                   {"2026-10-17T08:00Z", ""},
		"when=arrive&at=2026-10-17T18:00&utc_offset=%2B01:00":               {"", "2026-10-17T18:00+01:00"},
		"when=arrive&at=&utc_offset=%2B01:00":                               {"", ""},
		"depart=2026-10-17T08:00Z&when=arrive&at=2026-10-17T18:00Z":         {"", "2026-10-17T18:00Z"},
		"arrive_by=2026-10-17T18:00&utc_offset=-10:00":                      {"", "2026-10-17T18:00-10:00"},
		"depart=2026-10-17T08:00Z&when=arrive":                              {"2026-10-17T08:00Z", ""},
		"route=r&depart=2026-10-17T08:00Z&utc_offset=-10:00&when=leave&at=": {"", ""},
	} {
		q, err := url.ParseQuery(query)
		must(t, err)
		a, err := web.ParseAsk(q, web.Ask{Units: "metric", Question: question.New()})
		must(t, err)
		if got := [2]string{a.Depart, a.ArriveBy}; got != want {
			t.Errorf("%s: %v, want %v", query, got, want)
		}
	}
}

func TestABadQueryNamesItsKey(t *testing.T) {
	for query, key := range map[string]string{
		"temp_c=warm": "temp_c", "temp_f=warm": "temp_f", "most_stops=1.5": "most_stops", "most_stops=1e99": "most_stops",
		"reverse=perhaps": "reverse", "winter_tyres=2": "winter_tyres", "units=furlongs": "units", "setup_min=x": "setup_min",
		"when=never&at=2026-10-17T08:00": "when", "back=perhaps": "back", "stay_h=long": "stay_h", "back_temp_c=cold": "back_temp_c", "back_wind_mph=x": "back_wind_mph",
	} {
		q, _ := url.ParseQuery(query)
		_, err := web.ParseAsk(q, web.Ask{Units: "metric"})
		var input *fault.Input
		if !errors.As(err, &input) || input.Field != key {
			t.Errorf("%s: %v", query, err)
		}
	}
}

func FuzzParseAsk(f *testing.F) {
	f.Add("route=line-abc&car=van&temp_c=1e400&carry=a&carry=b")
	f.Add("depart=2026-10-17T08:00&utc_offset=%2B99:99&battery_temp_f=NaN")
	f.Fuzz(func(t *testing.T, query string) {
		q, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		a, err := web.ParseAsk(q, web.Ask{Units: "metric", Question: question.New()})
		var input *fault.Input
		if err != nil && !errors.As(err, &input) {
			t.Errorf("%v is no named error", err)
		}
		_ = a.Query().Encode()
	})
}

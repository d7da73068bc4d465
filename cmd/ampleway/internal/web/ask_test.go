package web_test

import (
	"errors"
	"maps"
	"math"
	"net/url"
	"reflect"
	"slices"
	"testing"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data/fault"
	"ampleway/route/trip"

	"pgregory.net/rapid"
)

func TestAQuestionSurvivesItsAddress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1e6, 1e6)
		word := rapid.StringMatching(`[ -~]{0,12}[!-~]`)
		a := web.Ask{Route: "line-" + word.Draw(t, "line"), RouteName: word.Draw(t, "name"), Car: word.Draw(t, "car"), Reverse: rapid.Bool().Draw(t, "reverse"), Units: rapid.SampledFrom([]string{"metric", "us"}).Draw(t, "units")}
		a.Route = trimmed(a.Route)
		a.RouteName, a.Car = trimmed(a.RouteName), trimmed(a.Car)
		request, visit := reflect.ValueOf(&a.Request).Elem(), reflect.ValueOf(&a.ThereAndBack).Elem()
		all := map[string]reflect.Value{}
		for _, v := range []reflect.Value{request, visit} {
			for i := range v.NumField() {
				all[v.Type().Field(i).Name] = v.Field(i)
			}
		}
		for _, name := range slices.Sorted(maps.Keys(all)) {
			field := all[name]
			switch field.Kind() {
			case reflect.Float64:
				field.SetFloat(number.Draw(t, name))
			case reflect.Int:
				field.SetInt(int64(rapid.Int32().Draw(t, name)))
			case reflect.Bool:
				field.SetBool(rapid.Bool().Draw(t, name))
			case reflect.String:
				field.SetString(trimmed(word.Draw(t, name)))
			case reflect.Slice:
				if list := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string { return trimmed(word.Draw(t, "item")) }), 0, 3).Draw(t, name); len(list) > 0 {
					field.Set(reflect.ValueOf(list))
				}
			case reflect.Pointer:
				if field.Type().Elem().Kind() == reflect.Int {
					field.Set(reflect.ValueOf(new(int(rapid.Int32().Draw(t, name)))))
					continue
				}
				field.Set(reflect.ValueOf(new(number.Draw(t, name))))
			default:
				t.Fatalf("%s: a kind that this test does not know", name)
			}
		}
		q, err := url.ParseQuery(a.Query().Encode())
		if err != nil {
			t.Fatal(err)
		}
		back, err := web.ParseAsk(q, web.Ask{Units: "metric", Request: trip.NewRequest()})
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a, back) {
			t.Fatalf("sent %+v\n got %+v", a, back)
		}
	})
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
	q, _ := url.ParseQuery("route=r&temp_c=&speed_cap_kmh=&overhead_min=")
	a, err := web.ParseAsk(q, web.Ask{})
	must(t, err)
	if a.TempC != trip.NewRequest().TempC || a.SpeedCapKMH != nil || a.OverheadMin != trip.NewRequest().OverheadMin {
		t.Errorf("empty boxes changed the question: %+v", a.Request)
	}
}

func TestADepartureTakesTheOffsetBesideIt(t *testing.T) {
	for query, want := range map[string]string{
		"route=r&depart_at=2026-10-17T08:00&utc_offset=-10:00":       "2026-10-17T08:00-10:00",
		"route=r&depart_at=2026-10-17T08:00:00%2B01:00&utc_offset=x": "",
		"route=r&depart_at=2026-10-17T08:00Z&utc_offset=-10:00":      "2026-10-17T08:00Z",
		"route=r&utc_offset=-10:00":                                  "",
	} {
		q, _ := url.ParseQuery(query)
		a, err := web.ParseAsk(q, web.Ask{})
		if (err != nil) != (q.Get("utc_offset") == "x") || (err == nil && a.DepartAt != want) {
			t.Errorf("%s: %q, %v", query, a.DepartAt, err)
		}
	}
}

// The form's one box for a time is a departure or an arrival, and takes the
// offset beside it.
func TestOneBoxForATime(t *testing.T) {
	for query, want := range map[string][2]string{
		"at=2026-10-17T08:00&utc_offset=-10:00":                                {"2026-10-17T08:00-10:00", ""},
		"when=leave&at=2026-10-17T08:00Z":                                      {"2026-10-17T08:00Z", ""},
		"when=arrive&at=2026-10-17T18:00&utc_offset=%2B01:00":                  {"", "2026-10-17T18:00+01:00"},
		"when=arrive&at=&utc_offset=%2B01:00":                                  {"", ""},
		"depart_at=2026-10-17T08:00Z&when=arrive&at=2026-10-17T18:00Z":         {"", "2026-10-17T18:00Z"},
		"arrive_by=2026-10-17T18:00&utc_offset=-10:00":                         {"", "2026-10-17T18:00-10:00"},
		"depart_at=2026-10-17T08:00Z&when=arrive":                              {"2026-10-17T08:00Z", ""},
		"route=r&depart_at=2026-10-17T08:00Z&utc_offset=-10:00&when=leave&at=": {"", ""},
	} {
		q, err := url.ParseQuery(query)
		must(t, err)
		a, err := web.ParseAsk(q, web.Ask{Units: "metric", Request: trip.NewRequest()})
		must(t, err)
		if got := [2]string{a.DepartAt, a.ArriveBy}; got != want {
			t.Errorf("%s: %v, want %v", query, got, want)
		}
	}
}

func TestABadQueryNamesItsKey(t *testing.T) {
	for query, key := range map[string]string{
		"temp_c=warm": "temp_c", "temp_f=warm": "temp_f", "most_stops=1.5": "most_stops", "most_stops=1e99": "most_stops",
		"reverse=perhaps": "reverse", "winter_tyres=2": "winter_tyres", "units=furlongs": "units", "overhead_min=x": "overhead_min",
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
	f.Add("route=line-abc&car=van&temp_c=1e400&extras=a&extras=b")
	f.Add("depart_at=2026-10-17T08:00&utc_offset=%2B99:99&pack_temp_f=NaN")
	f.Fuzz(func(t *testing.T, query string) {
		q, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		a, err := web.ParseAsk(q, web.Ask{Units: "metric", Request: trip.NewRequest()})
		var input *fault.Input
		if err != nil && !errors.As(err, &input) {
			t.Errorf("%v is no named error", err)
		}
		_ = a.Query().Encode()
	})
}

package web

import (
	"fmt"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/route/trip"
)

// Ask is one question to the page: a route, a car, a trip.Request and the way
// back. In a query it has the keys of their JSON forms and those below; a key
// names its unit, and a few may be given in US units instead (temp_f for
// temp_c). The form has one box for a time, at, and says in when whether it is
// to leave or to arrive; an address says depart_at or arrive_by.
type Ask struct {
	Route     string // "demo-pass", "file-…" of a dropped file, "line-…" an encoded polyline; key route
	RouteName string // of an encoded polyline; key route_name
	Car       string // key car
	Reverse   bool   // key reverse
	Units     string // "metric" or "us"; key units
	Offset    string // "+01:00": the offset of a departure that has none; key utc_offset
	trip.Request
	ThereAndBack
}

// fields are those of the request and of the way back by their keys.
func (a *Ask) fields() map[string]reflect.Value { return fields(&a.Request, &a.ThereAndBack) }

// usKeys are the keys that may be given in US units.
var usKeys = map[string]struct {
	key     string
	metric  func(float64) float64
	display func(float64) float64
}{
	"temp_f":            {"temp_c", celsius, fahrenheit},
	"pack_temp_f":       {"pack_temp_c", celsius, fahrenheit},
	"wind_mph":          {"wind_kmh", perMile, toMile},
	"back_temp_f":       {"back_temp_c", celsius, fahrenheit},
	"back_wind_mph":     {"back_wind_kmh", perMile, toMile},
	"speed_cap_mph":     {"speed_cap_kmh", perMile, toMile},
	"unknown_speed_mph": {"unknown_speed_kmh", perMile, toMile},
	"detour_speed_mph":  {"detour_speed_kmh", perMile, toMile},
	"half_width_mi":     {"half_width_km", perMile, toMile},
	"payload_lb":        {"payload_kg", func(lb float64) float64 { return lb * kgPerLb }, func(kg float64) float64 { return kg / kgPerLb }},
}

const (
	kmPerMile = 1.609344   // international mile, exact
	kgPerLb   = 0.45359237 // international pound, exact
)

func perMile(v float64) float64 { return v * kmPerMile }
func toMile(v float64) float64  { return v / kmPerMile }

func celsius(f float64) float64    { return (f - 32) * 5 / 9 }
func fahrenheit(c float64) float64 { return c*9/5 + 32 }

// ParseAsk reads a query. Without a route the question starts from start, with
// one from trip.NewRequest. The error is a *fault.Input that names the key.
func ParseAsk(q url.Values, start Ask) (Ask, error) {
	a := start
	if q.Has("route") {
		a = Ask{Car: start.Car, Units: "metric", Request: trip.NewRequest()}
	}
	for _, own := range []struct {
		key string
		to  *string
	}{{"route", &a.Route}, {"route_name", &a.RouteName}, {"car", &a.Car}, {"units", &a.Units}, {"utc_offset", &a.Offset}} {
		if q.Has(own.key) {
			*own.to = q.Get(own.key)
		}
	}
	if q.Has("reverse") {
		if err := set(reflect.ValueOf(&a.Reverse).Elem(), "reverse", q["reverse"]); err != nil {
			return a, err
		}
	}
	if a.Units != "metric" && a.Units != "us" {
		return a, &fault.Input{Field: "units", Found: a.Units, Expected: "metric or us"}
	}
	if err := readFields(q, a.fields()); err != nil {
		return a, err
	}
	if err := a.readClock(q); err != nil {
		return a, err
	}
	return a, a.addOffset()
}

// What when can be.
const whenLeave, whenArrive = "leave", "arrive"

// readClock reads the form's one box for a time.
func (a *Ask) readClock(q url.Values) error {
	if !q.Has("at") {
		return nil
	}
	at := strings.TrimSpace(q.Get("at"))
	switch when := q.Get("when"); when {
	case "", whenLeave:
		a.DepartAt, a.ArriveBy = at, ""
	case whenArrive:
		a.DepartAt, a.ArriveBy = "", at
	default:
		return &fault.Input{Field: "when", Found: when, Expected: whenLeave + " or " + whenArrive}
	}
	return nil
}

// readFields fills the fields that a query has.
func readFields(q url.Values, all map[string]reflect.Value) error {
	for key, field := range all {
		if q.Has(key) {
			if err := set(field, key, q[key]); err != nil {
				return err
			}
		}
	}
	for key, us := range usKeys {
		if text := strings.TrimSpace(q.Get(key)); text != "" {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return &fault.Input{Field: key, Found: text, Expected: "a number"}
			}
			metric := strconv.FormatFloat(us.metric(v), 'g', -1, 64)
			if err := set(all[us.key], key, []string{metric}); err != nil {
				return err
			}
		}
	}
	return nil
}

// fields are the fields of structs, given by address, by their JSON names.
func fields(structs ...any) map[string]reflect.Value {
	out := map[string]reflect.Value{}
	for _, s := range structs {
		v := reflect.ValueOf(s).Elem()
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			out[name] = v.Field(i)
		}
	}
	return out
}

// set reads texts into a field. An empty text is "not given": it leaves a
// number as it is.
func set(field reflect.Value, key string, texts []string) error {
	text := strings.TrimSpace(texts[len(texts)-1])
	switch field.Kind() {
	case reflect.String:
		field.SetString(text)
	case reflect.Bool:
		switch text {
		case "1", "true", "on", "yes":
			field.SetBool(true)
		case "", "0", "false", "off", "no":
			field.SetBool(false)
		default:
			return &fault.Input{Field: key, Found: text, Expected: "1 or 0"}
		}
	case reflect.Slice:
		var list []string
		for _, t := range texts {
			if t = strings.TrimSpace(t); t != "" {
				list = append(list, t)
			}
		}
		field.Set(reflect.ValueOf(list))
	case reflect.Pointer:
		if text == "" {
			return nil
		}
		v := reflect.New(field.Type().Elem())
		if err := set(v.Elem(), key, texts); err != nil {
			return err
		}
		field.Set(v)
	case reflect.Int, reflect.Float64:
		return setNumber(field, key, text)
	default:
		panic("web: no query form for " + field.Type().String())
	}
	return nil
}

func setNumber(field reflect.Value, key, text string) error {
	if text == "" {
		return nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return &fault.Input{Field: key, Found: text, Expected: "a number"}
	}
	if field.Kind() == reflect.Float64 {
		field.SetFloat(v)
		return nil
	}
	if v != float64(int32(v)) {
		return &fault.Input{Field: key, Found: text, Expected: "a whole number"}
	}
	field.SetInt(int64(v))
	return nil
}

// addOffset gives a time without an offset the one that stands beside it.
func (a *Ask) addOffset() error {
	if (a.DepartAt == "" && a.ArriveBy == "") || a.Offset == "" {
		return nil
	}
	if _, err := time.Parse("-07:00", a.Offset); err != nil {
		return &fault.Input{Field: "utc_offset", Found: a.Offset, Expected: "hours and minutes ahead of UTC, such as +01:00 or -10:00"}
	}
	for _, clock := range []*string{&a.DepartAt, &a.ArriveBy} {
		for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05"} {
			if _, err := time.Parse(layout, *clock); err == nil {
				*clock += a.Offset
			}
		}
	}
	return nil
}

// Query writes a question so that ParseAsk reads the same one back: the route,
// the car, and whatever differs from trip.NewRequest.
func (a Ask) Query() url.Values {
	q := url.Values{"route": {a.Route}, "car": {a.Car}}
	for key, text := range map[string]string{"route_name": a.RouteName, "units": a.Units} {
		if text != "" && text != "metric" {
			q.Set(key, text)
		}
	}
	if a.Reverse {
		q.Set("reverse", "1")
	}
	fresh := Ask{Request: trip.NewRequest()}
	usual := fresh.fields()
	for key, field := range a.fields() {
		if texts := format(field); !reflect.DeepEqual(texts, format(usual[key])) {
			q[key] = texts
		}
	}
	return q
}

func format(field reflect.Value) []string {
	switch field.Kind() {
	case reflect.Slice:
		var out []string
		for i := range field.Len() {
			out = append(out, field.Index(i).String())
		}
		return out
	case reflect.Pointer:
		if field.IsNil() {
			return nil
		}
		return format(field.Elem())
	case reflect.Bool:
		if field.Bool() {
			return []string{"1"}
		}
		return []string{"0"}
	case reflect.Float64:
		return []string{strconv.FormatFloat(field.Float(), 'g', -1, 64)}
	}
	return []string{fmt.Sprint(field.Interface())}
}

// clock splits the time of departure or arrival into what a date-and-time
// control shows and the offset.
func (a *Ask) clock() (when, local, offset string) {
	when, text := whenLeave, a.DepartAt
	if a.ArriveBy != "" && a.DepartAt == "" {
		when, text = whenArrive, a.ArriveBy
	}
	if text == "" {
		return when, "", a.Offset
	}
	t, err := trip.ParseTime(text)
	if err != nil {
		return when, text, a.Offset
	}
	return when, t.Format("2006-01-02T15:04"), t.Format("-07:00")
}

func (a *Ask) units() trip.Units {
	if a.Units == "us" {
		return trip.US
	}
	return trip.Metric
}

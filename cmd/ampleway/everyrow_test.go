package main

import (
	"encoding/json"
	"html"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ampleway/route/question"
	"ampleway/route/study"
	"ampleway/route/trip"
	"ampleway/testdata"
)

// notOnThePage are the rows without a control of their key, and why.
var notOnThePage = map[string]string{
	"depart": "one box of time for both", "arrive_by": "one box of time for both", "stay": "in two controls, hours and plug",
	"start_name": "the page names no ends", "end_name": "the page names no ends",
}

// asked are values of rows that no rule finds, with what they need beside them.
var asked = map[string][]string{
	"leave_with_pct": {"80"}, "reserve_pct": {"12"}, "arrive_with_pct": {"20"}, "charge_to_pct": {"90"}, "confidence_pct": {"90"}, "fallback": {"required"},
	"fallback_floor_pct": {"8"}, "hour_worth": {"20", "--best", "balance", "--unknown-price", "0.5"}, "unknown_price_per_kwh": {"0.5"},
	"best": {"fewest-stops"}, "temp_c": {"-5"}, "temp_by_hour": {"06:00=-3,18:00=4", "--depart", "2026-12-24T08:30"}, "wind_kmh": {"20"}, "wind_from_deg": {"SW", "--wind", "20"},
	"surface": {"wet"}, "meal": {"12:00-13:30 45m", "--depart", "2026-12-24T10:30"}, "speed_cap_kmh": {"90"}, "unknown_speed_kmh": {"80"}, "battery_health_pct": {"90"},
	"consumption_factor": {"1.05"}, "battery_temp_c": {"10"}, "payload_kg": {"100"}, "half_width_km": {"4"}, "detour_factor": {"1.5"}, "detour_speed_kmh": {"50"}, "setup_min": {"6"},
	"least_power_kw": {"60"}, "only": {"North"}, "power_between": {"50-"}, "must": {"n"}, "start_name": {"Alder"}, "end_name": {"Birch"}, "most_stops": {"5"},
	"stay": {"5h", "--back"}, "back_temp_c": {"5", "--back", "--stay", "6h"}, "back_wind_kmh": {"20", "--back", "--stay", "6h"},
	"back_wind_from_deg": {"S", "--back", "--stay", "6h", "--wind", "20"}, "back": {"true", "--stay", "6h"},
	"home_plug": {"level2:40", "--depart", "2026-12-24T10:30"}, "home_soc_pct": {"40", "--home-plug", "level2:40", "--depart", "2026-12-24T10:30"}, "home_from": {"19:00", "--home-plug", "level2:40", "--depart", "2026-12-24T10:30"}, "cheap_hours": {"23:00-06:00", "--home-plug", "level2:40", "--depart", "2026-12-24T10:30"},
	"rate": {"JPY=0.0061EUR", "--best", "cost", "--unknown-price", "0.5"}, "fuel_car": {"6.8 l/100km 1.72"},
}

// without are the options to compare with where those beside the row are not
// enough for a plan.
var without = map[string][]string{"stay": {"--back", "--stay", "6h"}, "back": {}}

// silent are the rows whose own sentence a plan without their subject has not,
// and why.
var silent = map[string]string{
	"carry": "the built-in car has nothing to carry", "rate": "all prices are of one currency here", "fuel_car": "no price is known here to compare with",
	"cheap_hours": "it moves the hours of the night, not the sentence",
}

// ofNoDrive are the rows that change no drive, and what they are of.
var ofNoDrive = map[string]string{
	"back": "the journey", "stay": "the journey", "home_plug": "the night before", "home_soc_pct": "the night before",
	"home_from": "the night before", "cheap_hours": "the night before",
}

// Every row of the table is an option with its help, a key of the API and of a
// study, an axis or not with a reason, a control of the page, and stands in what
// a plan rests on, in text and on the sheet, and counts in what is planned: one
// that is forgotten fails here.
// That it survives an address is held where addresses are.
func TestEveryRowShowsEverywhere(t *testing.T) {
	testdata.Sequential(t)
	testdata.Sequential(t)
	base, stop := serving(t)
	defer stop()
	_, page := fetch(t, base+"/")
	_, api := fetch(t, base+"/openapi.json")
	_, help, _ := ampleway(t, "", "trip", "--help")
	_, printed, _ := ampleway(t, "", "margins", "schema")
	var schema struct {
		Defs map[string]struct{ Properties map[string]any } `json:"$defs"`
	}
	must(t, json.Unmarshal([]byte(printed), &schema))
	road := refusalRoad(t, [][2]float64{{10, 50}, {15, 50}}...)
	sites := tempFile(t, "s.csv", refusalColumns+"n,Near,11.9,50,North,CCS2,dc,150,4,,,\nm,Midway,12.8,50,North,CCS2,dc,150,4,,,\nf,Far,13.8,50,South,CCS2,dc,150,4,,,\n")
	plan := func(form string, further ...string) string {
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--route", road, "--stations", sites, "--car", "mid-size-sedan", "--format", form}, further...)...)
		if code != exitOK {
			t.Errorf("%v: exit code %d, %s", further, code, errOut)
		}
		return strings.Join(strings.Fields(html.UnescapeString(out)), " ")
	}
	for _, r := range question.Rows() {
		if r.Label == "" || r.Help == "" || !slices.Contains(question.Groups, r.Group) || !strings.Contains(help, string(r.Group)+":") {
			t.Errorf("%s has no label, help or heading", r.Key)
		}
		if !regexp.MustCompile(`(?m)^ +--` + r.Option() + `( .*|)$`).MatchString(help) {
			t.Errorf("%s: the help has no --%s", r.Key, r.Option())
		}
		if !strings.Contains(api, `"`+r.Key+`"`) {
			t.Errorf("%s: the API has no such key", r.Key)
		}
		if schema.Defs["Question"].Properties[r.Key] == nil {
			t.Errorf("%s: a study's request has no such key", r.Key)
		}
		if axis := schema.Defs["Study"].Properties[r.Key] != nil; axis != (study.WhyNoAxis(r) == "") {
			t.Errorf("%s: an axis of a study: %v, %q", r.Key, axis, study.WhyNoAxis(r))
		}
		if _, exempt := notOnThePage[r.Key]; strings.Contains(page, ` name="`+r.Key+`"`) == exempt {
			t.Errorf("%s: a control of the page: %v", r.Key, !exempt)
		}
		if _, exempt := silent[r.Key]; !exempt {
			toldOf(t, r, plan)
		}
		if _, exempt := ofNoDrive[r.Key]; used(t, r) == exempt {
			t.Errorf("%s: a drive is planned from the same with it: %v", r.Key, !exempt)
		}
	}
}

// toldOf checks that a plan says what was asked in a row: in the words of the
// row, or by sentences that are others than without it.
func toldOf(t *testing.T, r question.Row, plan func(form string, further ...string) string) {
	t.Helper()
	value := valueOf(r)
	q := question.New()
	must(t, r.Set(&q, value[:1], question.Metric))
	with, less := append([]string{"--" + r.Option() + "=" + value[0]}, value[1:]...), value[1:]
	if other, own := without[r.Key]; own {
		less = other
	}
	if slices.Contains(trip.ToldInWords, r.Key) {
		if plan("text", with...) == plan("text", less...) {
			t.Errorf("%s: a plan says the same with %v", r.Key, with)
		}
		return
	}
	for _, form := range []string{"text", "html"} {
		if out := plan(form, with...); !strings.Contains(out, r.Told(&q, question.Metric)) {
			t.Errorf("%s: %q is not in the %s", r.Key, r.Told(&q, question.Metric), form)
		}
	}
}

// used reports whether a row changes what a drive, or the way back, is planned
// from: a plan must not tell of what it does not count.
func used(t *testing.T, r question.Row) bool {
	t.Helper()
	q, usual := question.New(), question.New()
	must(t, r.Set(&q, valueOf(r)[:1], question.Metric))
	return !cmp.Equal(plannedFrom(&q), plannedFrom(&usual),
		cmp.Exporter(func(reflect.Type) bool { return true }),
		cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".asked" }, cmp.Ignore()))
}

// plannedFrom is all that a question comes to, for there and for back; what it
// lacks besides the row is no matter here.
func plannedFrom(q *question.Question) []any {
	var all []any
	for _, way := range []question.Question{*q, q.WayBack()} {
		conditions, options, goal, _ := trip.Parts(&way)
		all = append(all, trip.CorridorOptionsOf(&way), conditions, options, goal)
	}
	return all
}

// valueOf is a value of a row that is not the usual one, and what it needs
// beside it.
func valueOf(r question.Row) []string {
	if value := asked[r.Key]; len(value) > 0 {
		return value
	}
	return []string{example(r)}
}

// example is a value of a row that is not the usual one.
func example(r question.Row) string {
	switch k := r.Kind(); {
	case len(r.Choices) > 0:
		return r.Choices[len(r.Choices)-1].Value
	case k == reflect.Bool:
		return "true"
	case k == reflect.Float64 || k == reflect.Int:
		return strconv.FormatFloat(float64(int(r.Min+(r.Max-r.Min)/4)), 'f', -1, 64)
	}
	return r.Example
}

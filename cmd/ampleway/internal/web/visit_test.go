package web_test

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/cmd/ampleway/internal/web"
	"ampleway/route"
	"ampleway/route/trip"
	"ampleway/testdata"
)

const thereAndBack = "route=demo-pass&car=mid-size-sedan&temp_c=8&back=1&stay_h=6&stay_plug=level2:40"

func TestThePageShowsTheWayBack(t *testing.T) {
	testdata.Sequential(t)
	s := demo(t, nil)
	page := get(t, s, "/?"+thereAndBack+"&further=1")
	want(t, page, http.StatusOK, "<h1>Home again with ", ">Drive 1: Tharn Road", ", the way back</h2>", "The stay: 6 h 00 min", "level 2 circuit on a 40 A breaker",
		"a licensed electrician decides", "cannot charge you", "1000 simulated journeys", "Never drive on below your reserve",
		`name="back" value="1" checked`, `name="stay_h" value="6"`, `<option value="level2:40" selected>`)
	for text, times := range map[string]int{"What this rests on": 1, "Never drive on below your reserve": 1, "<h1>": 1} {
		if got := strings.Count(page.Body.String(), text); got != times {
			t.Errorf("%q stands there %d times, want %d", text, got, times)
		}
	}
	want(t, get(t, s, "/plan?"+thereAndBack), http.StatusOK, `<template data-into="summary"><b>Home again with `, `></div>`, `<div class="later" id="`)
	want(t, get(t, s, "/further?"+thereAndBack), http.StatusOK, `<template data-into="plan">`, "cannot charge you", "If it goes differently")
	want(t, get(t, s, "/?"+thereAndBack+"&units=us&back_temp_f=14"), http.StatusOK, `name="back_temp_f" value="14"`, "Drive 2: Weather: 14 °F")
}

// Every question about the way back has an answer that fits it.
func TestTheStayIsAsAsked(t *testing.T) {
	s := demo(t, nil)
	ask := "/plan?route=demo-upland&car=mid-size-sedan&back=1&"
	for query, text := range map[string]string{
		"stay_h=2":                       "With no plug: nothing is charged",
		"stay_h=2&stay_plug=level1":      "With a level 1 outlet on a 15 A breaker",
		"stay_h=2&stay_plug=level2:40":   "With a level 2 circuit on a 40 A breaker",
		"stay_h=2&stay_plug=level2:16x3": "With a three-phase level 2 circuit on a 16 A breaker",
		"stay_h=0.5&stay_plug=dc:50":     "With a fast charger of 50 kW",
		"stay_h=0.5&stay_plug=dc:9":      "With a fast charger of 9 kW",
		"":                               "The stay: 0 min",
	} {
		want(t, get(t, s, ask+query), http.StatusOK, text)
	}
	for query, text := range map[string]string{
		"stay_h=-1":                    "Hours there (stay_h): found -1; expected 0 to 1440 hours.",
		"stay_h=2&stay_plug=windmill":  "Plugged in there (stay_plug): found windmill;",
		"stay_h=2&stay_plug=level2:-5": "Plugged in there (stay_plug): found level2:-5;",
		"stay_h=2&stay_plug=dc:99999":  "Plugged in there (stay_plug): found dc:99999;",
		"back_temp_c=400":              "400",
	} {
		want(t, get(t, s, ask+query), http.StatusUnprocessableEntity, text)
	}
	for _, path := range []string{"/sheet?", "/journey/json?"} {
		want(t, get(t, s, path+"route=demo-upland&car=mid-size-sedan&back=1&stay_h=-1"), http.StatusUnprocessableEntity, "found -1")
	}
}

func TestEveryLinkKeepsTheWayBack(t *testing.T) {
	testdata.Sequential(t)
	s := demo(t, nil)
	page := get(t, s, "/?"+thereAndBack+"&back_wind_kmh=30&back_wind_from_deg=90").Body.String()
	links := regexp.MustCompile(`<a [^>]*href="(/[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 7 {
		t.Errorf("only %d links", len(links))
	}
	for _, link := range links {
		address, err := url.Parse(html.UnescapeString(link[1]))
		must(t, err)
		for key, value := range map[string]string{"back": "1", "stay": "6h level2:40", "back_wind_kmh": "30", "back_wind_from_deg": "90"} {
			if got := address.Query().Get(key); got != value {
				t.Errorf("%s has %s %q, want %q", link[1], key, got, value)
			}
		}
		want(t, get(t, s, html.UnescapeString(link[1])), http.StatusOK, "")
	}
}

func TestVisitIDsAreUniqueAndControlsLabelled(t *testing.T) {
	labelled(t, get(t, demo(t, nil), "/?"+thereAndBack+"&further=1").Body.String())
}

// The files of the page are what the command line writes.
func TestVisitFilesAreWhatTheCommandLineWrites(t *testing.T) {
	testdata.Sequential(t)
	d, r, index, car := demoInputs(t)
	ask := d.Question
	ask.Back, ask.Stay, ask.BackTempC = true, []string{"6h level2:40"}, new(-3.0)
	itinerary := trip.Itinerary{Routes: []*route.Route{r}, Stations: index}
	journey, err := itinerary.Journey(car, ask)
	must(t, err)
	plan, err := journey.PlanWith(t.Context(), nil, trip.PlanOptions{Assured: true})
	must(t, err)
	s := demo(t, nil)
	for _, format := range answer.Formats(answer.Journey{}) {
		var b bytes.Buffer
		must(t, answer.Write(&b, format, answer.Journey{JourneyPlan: plan}, answer.Options{Note: d.Note}))
		w := get(t, s, "/journey/"+format+"?back=1&stay_h=6&stay_plug=level2:40&back_temp_c=-3")
		want(t, w, http.StatusOK)
		if !bytes.Equal(w.Body.Bytes(), b.Bytes()) {
			t.Errorf("%s differs from what the command line writes", format)
		}
		if name := w.Header().Get("Content-Disposition"); format != "html" && !strings.Contains(name, `filename="journey.`) {
			t.Errorf("%s is called %s", format, name)
		}
	}
}

// A way back that cannot be made says so, and what is offered works.
func TestARefusedWayBackSaysWhichDrive(t *testing.T) {
	s := demo(t, nil)
	page := get(t, s, "/?route=demo-upland&car=mid-size-sedan&only=nobody&leave_with_pct=100&back=1&stay_h=3&stay_plug=level2:40&confidence_pct=0")
	want(t, page, http.StatusUnprocessableEntity, "Drive 2 of this journey cannot be planned", "What would make drive 2 possible, each alone", "Leave with at least 70 %, after a longer stay or one with a stronger plug.")
	if strings.Contains(page.Body.String(), `">Leave with at least`) {
		t.Error("what a later drive leaves with is offered as what the first leaves with")
	}
	links := regexp.MustCompile(`<li><a href="(/\?[^"]+)">`).FindAllStringSubmatch(page.Body.String(), -1)
	if len(links) == 0 {
		t.Fatal("no remedy to follow")
	}
	for _, link := range links {
		want(t, get(t, s, html.UnescapeString(link[1])), http.StatusOK, "<h1>Home again with ")
	}
}

// A wanted arrival and temperatures by the hour are asked for in the form.
func TestTheFormAsksForArrivalAndHours(t *testing.T) {
	s := demo(t, nil)
	ask := "/?route=demo-upland&car=mid-size-sedan&units=metric&when=arrive&at=2026-10-17T18:00&utc_offset=-10:00"
	w := get(t, s, ask)
	want(t, w, http.StatusOK, `<option value="arrive" selected>`, `name="at" value="2026-10-17T18:00"`, `value="-10:00"`, "arrive_by=2026-10-17T18%3A00-10%3A00", " and is there at 1")
	if strings.Contains(w.Body.String(), `type="hidden" name="arrive_by"`) {
		t.Error("the form holds the arrival twice")
	}
	hours := url.QueryEscape("06:00=-3,14:30=4,22:00=-5")
	want(t, get(t, s, ask+"&temp_by_hour="+hours), http.StatusOK, "Temperature by the hour", `name="temp_by_hour" value="06:00=-3,14:30=4,22:00=-5"`)
	want(t, get(t, s, "/?route=demo-upland&car=mid-size-sedan&temp_by_hour="+hours), http.StatusUnprocessableEntity, "Temperature by the hour (temp_by_hour): found 06:00=-3")
	want(t, get(t, s, ask+"&temp_by_hour=1,2"), http.StatusUnprocessableEntity, "Temperature by the hour (temp_by_hour): found 1,2;")
}

func TestNamesOnTheWayBackStayText(t *testing.T) {
	const hostile = `<script>alert(1)</script>"'&`
	s := demo(t, func(c *web.Config) {
		r := c.Routes[0].Route.Reverse()
		r.Name = hostile
		c.Routes = append([]web.NamedRoute{{ID: "x", Route: r, Note: hostile}}, c.Routes...)
	})
	q := url.Values{"route": {"x"}, "car": {"mid-size-sedan"}, "back": {"1"}, "stay_h": {"1"}, "start_name": {hostile}, "end_name": {hostile}}
	for _, path := range []string{"/?", "/plan?", "/sheet?"} {
		w := get(t, s, path+q.Encode())
		want(t, w, http.StatusOK, "Home again with", "&lt;script&gt;")
		if strings.Contains(w.Body.String(), "<script>alert") {
			t.Errorf("%s holds a name as markup", path)
		}
	}
}

func TestTheAPIPlansTheWayBackAsThePageDoes(t *testing.T) {
	s := demo(t, nil)
	base, err := demoConfig()
	must(t, err)
	ask := base.Start.Question
	ask.Back, ask.Stay, ask.BackTempC = true, []string{"6h level2:40"}, new(-3.0)
	w := call(t, s, object{"route": "demo-pass", "car": base.Start.Car, "request": ask})
	want(t, w, http.StatusOK, `"format":"ampleway-journey/1"`, `"ends_at_start":true`)
	file := get(t, s, "/journey/json?back=1&stay_h=6&stay_plug=level2:40&back_temp_c=-3")
	if got, want := normal(t, w.Body.Bytes()), normal(t, file.Body.Bytes()); !bytes.Equal(got, want) {
		t.Error("the API and the file differ")
	}
}

func TestTheAPIAnswersAboutTheWayBackInProblems(t *testing.T) {
	s := demo(t, nil)
	for name, c := range map[string]struct {
		body   any
		status int
		texts  []string
	}{
		"at once":          {object{"route": "demo-upland", "car": "van", "brief": true, "request": object{"back": true}}, 200, []string{`"duration_min":0,`, `"drives":[{`}},
		"bad stay":         {object{"route": "demo-upland", "car": "van", "request": object{"back": true, "stay": []string{"a while"}}}, 422, []string{`"field":"stay"`, `"found":"a while"`}},
		"bad plug":         {object{"route": "demo-upland", "car": "van", "request": object{"back": true, "stay": []string{"2h level9"}}}, 422, []string{`"field":"plug"`}},
		"out of range":     {object{"route": "demo-upland", "car": "van", "request": object{"back": true, "back_temp_c": 999}}, 422, []string{`"field":"back_temp_c"`, `"found":"999"`}},
		"wanted arrival":   {object{"route": "demo-upland", "car": "van", "brief": true, "request": object{"back": true, "arrive_by": "2026-10-17T18:00:00Z"}}, 200, []string{`"arrive_at":"2026-10-17T17:5`}},
		"no route":         {object{"car": "van"}, 422, []string{`"field":"route"`}},
		"file, no access":  {object{"route": "/etc/passwd", "car": "../../etc/passwd"}, 422, nil},
		"one drive cannot": {object{"route": "demo-upland", "car": "mid-size-sedan", "request": object{"back": true, "stay": []string{"2h none"}, "only": []string{"nobody"}, "leave_with_pct": 100, "confidence_pct": 80}}, 422, []string{"no-plan", `"drive":2`, `"remedies":[{`}},
	} {
		w := call(t, s, c.body)
		want(t, w, c.status, c.texts...)
		if c.status != http.StatusOK {
			if p := decode(t, w); p["status"] != float64(c.status) || w.Header().Get("Content-Type") != "application/problem+json" {
				t.Errorf("%s: not a problem: %v", name, p)
			}
		}
	}
	want(t, get(t, s, "/api/journey"), http.StatusMethodNotAllowed)
}

// The limits of plans and bodies hold for visits.
func TestTheWayBackHasTheSameLimits(t *testing.T) {
	body := object{"route": "demo-pass", "car": "van", "request": object{"back": true}}
	small := demo(t, func(c *web.Config) { c.Limits.BodyBytes = 1 << 10 })
	want(t, call(t, small, object{"route_text": strings.Repeat("x", 4<<10), "car": "van"}), http.StatusRequestEntityTooLarge)
	slow := demo(t, func(c *web.Config) { c.Limits.Plan = 1 })
	want(t, call(t, slow, body), http.StatusServiceUnavailable, "longer than the server allows")
	want(t, get(t, slow, "/?"+thereAndBack), http.StatusServiceUnavailable)
	greedy := demo(t, func(c *web.Config) { c.Limits.PerClient = -1 })
	w := call(t, greedy, body)
	want(t, w, http.StatusTooManyRequests)
	if w.Header().Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	for i, query := range []string{"stay_h=1e300", "stay_h=NaN&stay_plug=level1", "stay_plug=level2:NaN", "stay_plug=dc:-Inf"} {
		want(t, get(t, demo(t, nil), fmt.Sprintf("/?route=demo-pass&car=van&back=1&%s&n=%d", query, i)), http.StatusUnprocessableEntity, "needs another look")
	}
}

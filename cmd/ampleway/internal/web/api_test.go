package web_test

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data"
	"ampleway/data/cars"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// call posts JSON to /api/journey and checks the answer against the schema that
// the OpenAPI document gives for its status.
func call(t testing.TB, h http.Handler, body any) *httptest.ResponseRecorder {
	t.Helper()
	return callAt(t, h, "/api/journey", body)
}

func callAt(t testing.TB, h http.Handler, path string, body any) *httptest.ResponseRecorder {
	t.Helper()
	text, err := json.Marshal(body)
	must(t, err)
	w := post(h, path, "application/json", bytes.NewReader(text))
	described(t, h, path, "post", w)
	return w
}

type object = map[string]any

// described checks an answer against its description in /openapi.json.
func described(t testing.TB, h http.Handler, path, method string, w *httptest.ResponseRecorder) {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(get(t, h, "/openapi.json").Body)
	must(t, err)
	if version := doc.(object)["openapi"].(string); !strings.HasPrefix(version, "3.1.") {
		t.Errorf("OpenAPI %s", version)
	}
	responses := doc.(object)["paths"].(object)[path].(object)[method].(object)["responses"].(object)
	response, ok := responses[digits(w.Code)].(object)
	if !ok {
		t.Errorf("%s %s: status %d is not described", method, path, w.Code)
		return
	}
	media, _, _ := strings.Cut(w.Header().Get("Content-Type"), ";")
	content, ok := response["content"].(object)[media].(object)
	if !ok {
		t.Errorf("%s %s: %d as %q is not described", method, path, w.Code, media)
		return
	}
	compiler := jsonschema.NewCompiler()
	compiler.DefaultDraft(jsonschema.Draft2020)
	must(t, compiler.AddResource("api.json", doc))
	pointer := "api.json#/paths/" + strings.ReplaceAll(path, "/", "~1") + "/" + method + "/responses/" + digits(w.Code) + "/content/" + strings.ReplaceAll(media, "/", "~1") + "/schema"
	if content["schema"] == nil {
		t.Errorf("no schema at %s", pointer)
		return
	}
	schema, err := compiler.Compile(pointer)
	must(t, err)
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(w.Body.Bytes()))
	must(t, err)
	if err := schema.Validate(value); err != nil {
		t.Errorf("the answer does not fit its description: %v", err)
	}
}

func digits(status int) string { return strconv.Itoa(status) }

func decode(t testing.TB, w *httptest.ResponseRecorder) object {
	t.Helper()
	var out object
	must(t, json.Unmarshal(w.Body.Bytes(), &out))
	return out
}

func TestTheAPIPlansAsThePageDoes(t *testing.T) {
	s := demo(t, nil)
	base, err := demoConfig()
	must(t, err)
	w := call(t, s, object{"route": "demo-pass", "car": base.Start.Car, "request": base.Start.Question})
	want(t, w, http.StatusOK)
	file := get(t, s, "/journey/json")
	var indented bytes.Buffer
	must(t, json.Indent(&indented, w.Body.Bytes(), "", "  "))
	if got, want := normal(t, indented.Bytes()), normal(t, file.Body.Bytes()); !bytes.Equal(got, want) {
		t.Error("the API and the file differ")
	}
}

// normal is JSON without the accidents of how it is written.
func normal(t testing.TB, text []byte) []byte {
	var v any
	must(t, json.Unmarshal(text, &v))
	out, err := json.Marshal(v)
	must(t, err)
	return out
}

func TestTheAPITakesRoutesAndCarsInEveryForm(t *testing.T) {
	s := demo(t, nil)
	geojson, err := data.Corridor("upland")
	must(t, err)
	_, carText, _ := cars.File("van")
	carJSON, err := yaml.YAMLToJSON(carText)
	must(t, err)
	byName := call(t, s, object{"route": "demo-upland", "car": "van", "brief": true})
	want(t, byName, http.StatusOK)
	for name, body := range map[string]object{
		"text":    {"route_text": string(geojson), "car": "van", "brief": true},
		"geojson": {"route_geojson": json.RawMessage(geojson), "car": "van", "brief": true},
		"car":     {"route": "demo-upland", "car_spec": json.RawMessage(carJSON), "brief": true},
	} {
		w := call(t, s, body)
		want(t, w, http.StatusOK)
		got, expected := decode(t, w), decode(t, byName)
		for _, key := range []string{"reach_pct", "duration_min", "driven_kwh"} {
			if got[key] != expected[key] {
				t.Errorf("%s: %s %v, by name %v", name, key, got[key], expected[key])
			}
		}
	}
	want(t, call(t, s, object{"route_text": "_p~iF~ps|U_ulLnnqC_mqNvxq`@", "car": "van"}), http.StatusUnprocessableEntity, "no-plan")
}

func TestTheAPIAnswersInProblems(t *testing.T) {
	s := demo(t, nil)
	for name, c := range map[string]struct {
		body   any
		status int
		texts  []string
	}{
		"no route":             {object{"car": "van"}, 422, []string{`"field":"route"`}},
		"two routes":           {object{"car": "van", "route": "demo-pass", "route_text": "x"}, 422, []string{"2 routes"}},
		"no car":               {object{"route": "demo-pass"}, 422, []string{`"field":"car"`}},
		"unknown car":          {object{"route": "demo-pass", "car": "sleigh"}, 422, []string{"sleigh", "van"}},
		"bad car":              {object{"route": "demo-pass", "car_spec": object{"wheels": 3}}, 422, []string{"bad-input"}},
		"bad route":            {object{"route_text": "<gpx", "car": "van"}, 422, []string{"bad-input"}},
		"out of range":         {object{"route": "demo-pass", "car": "van", "request": object{"temp_c": 999}}, 422, []string{`"field":"temp_c"`, `"found":"999"`}},
		"unknown key":          {object{"route": "demo-pass", "car": "van", "request": object{"speed": 1}}, 422, []string{"unexpected property"}},
		"wrong type":           {object{"route": "demo-pass", "car": "van", "request": object{"temp_c": "cold"}}, 422, []string{"expected number"}},
		"no object":            {[]int{1}, 422, nil},
		"cannot be made":       {object{"route": "demo-north", "car": "small-hatch", "request": object{"temp_c": -15, "reserve_pct": 30, "arrive_with_pct": 30}}, 422, []string{"no-plan", `"missing_kwh":`, `"remedies":[{`, `"from":`}},
		"file name, no access": {object{"route": "/etc/passwd", "car": "../../etc/passwd"}, 422, nil},
	} {
		w := call(t, s, c.body)
		want(t, w, c.status, c.texts...)
		p := decode(t, w)
		if p["status"] != float64(c.status) || p["title"] == "" || w.Header().Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: not a problem: %s %v", name, w.Header().Get("Content-Type"), p)
		}
	}
	want(t, post(s, "/api/journey", "application/json", strings.NewReader("{")), http.StatusBadRequest, `"status":400`)
	want(t, post(s, "/api/journey", "application/json", strings.NewReader("")), http.StatusBadRequest, `"status":400`)
	want(t, get(t, s, "/api/journey"), http.StatusMethodNotAllowed)
	want(t, get(t, s, "/nothing"), http.StatusNotFound)
}

func TestTheListsAreDescribed(t *testing.T) {
	s := demo(t, nil)
	for path, texts := range map[string][]string{
		"/api/routes": {`"name":"demo-pass"`, `"elevation":true`},
		"/api/cars":   {`"name":"van"`, `"connectors":["CCS2"`},
	} {
		w := get(t, s, path)
		want(t, w, http.StatusOK, texts...)
		described(t, s, path, "get", w)
	}
}

func TestTheDescriptionHoldsTogether(t *testing.T) {
	w := get(t, demo(t, nil), "/openapi.json")
	doc := decode(t, w)
	schemas := doc["components"].(object)["schemas"].(object)
	used := map[string]bool{}
	var walk func(any)
	walk = func(v any) {
		switch v := v.(type) {
		case object:
			for key, inner := range v {
				if text, ok := inner.(string); ok && key == "$ref" {
					name := strings.TrimPrefix(text, "#/components/schemas/")
					if schemas[name] == nil {
						t.Errorf("%s leads nowhere", text)
					}
					used[name] = true
				}
				walk(inner)
			}
		case []any:
			for _, inner := range v {
				walk(inner)
			}
		}
	}
	walk(doc)
	for name := range schemas {
		if !used[name] {
			t.Errorf("schema %s is not used", name)
		}
	}
	for _, name := range []string{"Journey", "Problem"} {
		if schemas[name] == nil {
			t.Errorf("no schema %s", name)
		}
	}
}

func TestHealthAndMetrics(t *testing.T) {
	s := demo(t, nil)
	want(t, get(t, s, "/healthz"), http.StatusOK, "ok")
	want(t, get(t, s, "/readyz"), http.StatusOK, "ready: ", "3 routes")
	get(t, s, "/plan")
	get(t, s, "/plan?temp_c=x")
	want(t, get(t, s, "/metrics"), http.StatusOK,
		`ampleway_plans_total{outcome="planned"} 1`, `ampleway_requests_total{pattern="GET /plan",status="422"} 1`, "go_goroutines")
}

func TestLimitsAnswerWithTheirCodes(t *testing.T) {
	small := demo(t, func(c *web.Config) { c.Limits.BodyBytes = 1 << 10 })
	big := strings.Repeat("x", 4<<10)
	for name, w := range map[string]*httptest.ResponseRecorder{
		"declared": post(small, "/api/journey", "application/json", strings.NewReader(big)),
		"chunked":  post(small, "/api/journey", "application/json", io.MultiReader(strings.NewReader(`{"route_text":"`+big), strings.NewReader(`"}`))),
		"file":     drop(t, small, "big.gpx", []byte(big)),
	} {
		if w.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: %d %.200s", name, w.Code, w.Body)
		}
	}
	slow := demo(t, func(c *web.Config) { c.Limits.Plan = time.Nanosecond })
	w := call(t, slow, object{"route": "demo-pass", "car": "van"})
	want(t, w, http.StatusServiceUnavailable, "longer than the server allows")
	if w.Header().Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	greedy := demo(t, func(c *web.Config) { c.Limits.PerClient = -1 })
	w = call(t, greedy, object{"route": "demo-pass", "car": "van"})
	want(t, w, http.StatusTooManyRequests)
	if w.Header().Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	pointy := demo(t, func(c *web.Config) { c.Limits.RoutePoints = 100 })
	content, err := data.Corridor("upland")
	must(t, err)
	want(t, drop(t, pointy, "u.geojson", content), http.StatusUnprocessableEntity, "100")
}

// On a harder day a leg of this plan takes more than a full battery.
func TestTheAPIWritesWhatNoBatteryHolds(t *testing.T) {
	base, err := demoConfig()
	must(t, err)
	base.Start.Question.Best, base.Start.Question.ConfidencePct = "cost", 0
	w := call(t, demo(t, nil), object{"route": "demo-pass", "car": base.Start.Car, "request": base.Start.Question})
	want(t, w, http.StatusOK, `"beyond_a_full_battery":true`)
	decode(t, w)
}

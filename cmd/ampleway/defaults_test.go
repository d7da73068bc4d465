package main

import (
	"ampleway/route/question"
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// What is not asked for is the same on the command line, over the API and on
// the page: what the help says, what the description of the API says and what
// stands in the form are read and compared, option by option.
func TestOneSetOfDefaults(t *testing.T) {
	base, stop := serving(t, "--route", filepath.Join("..", "..", "data", "demo", "corridors", "upland.geojson"), "--stations", filepath.Join("..", "..", "data", "demo", "stations.geojson"))
	defer stop()
	_, page := fetch(t, base+"/")
	_, described := fetch(t, base+"/openapi.json")
	var api struct {
		Components struct {
			Schemas map[string]struct {
				Properties map[string]struct {
					Properties map[string]struct{ Default any }
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(described), &api); err != nil {
		t.Fatal(err)
	}
	schema := api.Components.Schemas["JourneyQuestion"].Properties["request"].Properties
	_, help, _ := ampleway(t, "", "trip", "--help")
	usual := question.New()
	compared, shown := 0, 0
	for _, r := range question.Rows() {
		property, known := schema[r.Key]
		if !known {
			t.Errorf("the API has no %s", r.Key)
			continue
		}
		compared++
		want := said(strings.Join(r.Get(&usual), ","))
		if got := said(text(property.Default)); got != want {
			t.Errorf("--%s is %q, %s of the API %q", r.Option(), want, r.Key, got)
		}
		line := regexp.MustCompile(`(?m)^ +--` + r.Option() + ` .*$`).FindString(help)
		if line == "" || want != "" && !strings.Contains(line, "(default "+want) {
			t.Errorf("the help of --%s does not say the default %q: %s", r.Option(), want, line)
		}
		if value, ok := inForm(page, r.Key); ok {
			shown++
			if said(value) != want {
				t.Errorf("--%s is %q, %s of the form %q", r.Option(), want, r.Key, value)
			}
		}
	}
	if compared < 50 || shown < 25 {
		t.Errorf("%d options compared, %d of them on the page", compared, shown)
	}
	if schema["confidence_pct"].Default != 95.0 {
		t.Errorf("the API plans at a confidence of %v %%", schema["confidence_pct"].Default)
	}
	body, err := http.Post(base+"/api/journey", "application/json", strings.NewReader(`{"route":"upland","car":"mid-size-sedan"}`))
	if err != nil {
		t.Fatal(err)
	}
	defer body.Body.Close()
	answer, err := io.ReadAll(body.Body)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"duration_min", "leave_pct", "reserve_pct", "confidence_pct"} {
		_, out, _ := ampleway(t, "", "trip", "--route", filepath.Join("..", "..", "data", "demo", "corridors", "upland.geojson"), "--stations", filepath.Join("..", "..", "data", "demo", "stations.geojson"), "--format", "json")
		figure := regexp.MustCompile(`"` + key + `": ?([0-9.]+)`)
		got, want := figure.FindSubmatch(answer), figure.FindStringSubmatch(out)
		if got == nil || want == nil || string(got[1]) != want[1] {
			t.Errorf("an empty question to the API: %s is %q, on the command line %q", key, got, want)
		}
	}
}

func text(v any) string {
	if v == nil {
		return ""
	}
	out, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return strings.Trim(string(out), `"`)
}

// said is a default in one form: nothing, 0 and false are all "not given".
func said(text string) string {
	switch text {
	case "0", "false", "[]":
		return ""
	}
	return text
}

// inForm is what stands in a control of the page, and false where the page has
// none for the key.
func inForm(page, key string) (string, bool) {
	input := regexp.MustCompile(`<input type="(number|text)"[^>]* name="` + key + `" value="([^"]*)"`).FindStringSubmatch(page)
	if input != nil {
		return input[2], true
	}
	list := regexp.MustCompile(`(?s)<select[^>]* name="` + key + `">(.*?)</select>`).FindStringSubmatch(page)
	if list == nil {
		return "", false
	}
	chosen := regexp.MustCompile(`<option value="([^"]*)" selected>`).FindStringSubmatch(list[1])
	if chosen == nil {
		return "", false
	}
	return chosen[1], true
}

// An option that takes one value is refused a second time, by name.
func TestRepeatedOptionsAreRefused(t *testing.T) {
	for _, args := range [][]string{
		{"trip", "--reserve", "10", "--reserve", "20"}, {"trip", "--reserve", "10", "--reserve", "10"}, {"trip", "--best", "time", "--best", "cost"},
		{"trip", "--most-stops", "2", "--most-stops", "3"}, {"trip", "--wind-from", "N", "--wind-from", "S"}, {"trip", "--unknown-price", "1", "--unknown-price", "2"},
		{"trip", "--back", "--back"}, {"trip", "-o", "a.json", "--output", "b.json"}, {"year", "--year", "2025", "--year", "2026"}, {"margins", "--quiet", "--quiet"},
	} {
		code, _, errOut := ampleway(t, "", args...)
		name := strings.TrimPrefix(args[len(args)-2], "--")
		if args[len(args)-1] == args[len(args)-2] {
			name = strings.TrimPrefix(args[len(args)-1], "--")
		}
		if code != exitUsage || !strings.Contains(errOut, "--"+name) || !strings.Contains(errOut, "given twice") {
			t.Errorf("%v: exit %d, %s", args, code, errOut)
		}
	}
}

// Temperatures compare whether they are given at once or one at a time.
func TestRepeatedTemperaturesCompare(t *testing.T) {
	code, once, errOut := ampleway(t, "", "trip", "--temp", "-5,15", "--format", "csv")
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	_, twice, _ := ampleway(t, "", "trip", "--temp", "-5", "--temp", "15", "--format", "csv")
	if once != twice || strings.Count(once, "\n") != 3 {
		t.Errorf("at once:\n%sone at a time:\n%s", once, twice)
	}
}

// A fraction where a percentage is wanted is questioned, and 0 is 0 or refused.
func TestFiguresThatCannotBeMeant(t *testing.T) {
	for _, c := range []struct{ option, value, want string }{
		{"reserve", "0.1", "0.1 %? Write 10"}, {"confidence", "0.95", "0.95 %? Write 95"}, {"leave-with", "0.9", "0.9 %? Write 90"},
		{"arrive-with", "0.15", "0.15 %? Write 15"}, {"charge-to", "0.8", "0.8 %? Write 80"}, {"fallback-floor", "0.05", "0.05 %? Write 5"},
		{"battery-health", "0.93", "0.93 %? Write 93"},
		{"detour-factor", "0", "1 to 10"}, {"unknown-speed", "0", "5 to 200"}, {"speed-cap", "0", "20 to 300"}, {"consumption-factor", "0", "0.3 to 3"},
		{"battery-health", "0", "20 to 100"}, {"most-stops", "0", "1 to 1000"}, {"detour-speed", "0", "5 to 200"}, {"half-width", "0", "0.01 to 50"},
		{"setup", "-1", "0 to 240"}, {"best", "balance", "what an hour is worth"},
	} {
		code, _, errOut := ampleway(t, "", "trip", "--"+c.option, c.value)
		if code != exitUsage || !strings.Contains(errOut, c.want) {
			t.Errorf("--%s %s: exit %d, %s", c.option, c.value, code, errOut)
		}
	}
	_, with, _ := ampleway(t, "", "trip", "--confidence", "0", "--format", "json")
	_, without, _ := ampleway(t, "", "trip", "--confidence", "0", "--setup", "0", "--format", "json")
	overhead := regexp.MustCompile(`"setup_min": ([0-9.]+)`)
	if got := overhead.FindStringSubmatch(without); got == nil || got[1] != "0" || overhead.FindStringSubmatch(with)[1] == "0" {
		t.Errorf("--setup 0 gives stops of %v", got)
	}
}

// Wind without a direction blows against the car, and the plan says so.
func TestWindWithoutADirection(t *testing.T) {
	road, sites := filepath.Join("..", "..", "data", "demo", "corridors", "upland.geojson"), filepath.Join("..", "..", "data", "demo", "stations.geojson")
	consumption := regexp.MustCompile(`"driven_kwh": ([0-9.]+)`)
	driven := func(args ...string) string {
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--route", road, "--stations", sites, "--confidence", "0", "--format", "json"}, args...)...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		if len(args) == 2 && !strings.Contains(out, "against the car along the whole road, because no direction is given") {
			t.Error("nothing says that the wind is taken from ahead")
		}
		return consumption.FindStringSubmatch(out)[1]
	}
	ahead := driven("--wind", "40")
	for _, from := range []string{"N", "E", "S", "W"} {
		if side := driven("--wind", "40", "--wind-from", from); number(t, side) >= number(t, ahead) {
			t.Errorf("wind from %s takes %s kWh, from ahead %s", from, side, ahead)
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

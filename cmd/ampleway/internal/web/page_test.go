package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"html"
	"mime"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

func TestThePageShowsTheDemoAtOnce(t *testing.T) {
	w := get(t, demo(t, nil), "/")
	want(t, w, http.StatusOK, "<h1>Arrive with 27 %</h1>", "Whinfield", "Three Barns", "Invented", `id="f-temp_c" name="temp_c" value="8"`)
	if got := w.Header().Get("Content-Security-Policy"); !strings.HasPrefix(got, "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' ;") {
		t.Errorf("policy %q", got)
	}
	foreign := regexp.MustCompile(`(?i)(src|href|action|url)\s*[=(]\s*["']?(https?:|//)`)
	for _, path := range []string{"/", "/page.css", "/page.js", "/sheet", "/further"} {
		if found := foreign.FindString(get(t, demo(t, nil), path).Body.String()); found != "" {
			t.Errorf("%s asks another host: %s", path, found)
		}
	}
}

// The page says at which stop the meal is, that nobody leaves before it is over,
// and that the plan is not proven to be the best.
func TestThePageKnowsOfTheMeal(t *testing.T) {
	page := get(t, demo(t, nil), "/?depart_at=2026-12-24T08:00&meal=12:00-13:30+30m&further=1")
	want(t, page, http.StatusOK, "The meal is here, from ", "% after the meal", "the meal not counted", "the meal begins after its hours", "searched for, not proven")
}

func TestIDsAreUniqueAndControlsLabelled(t *testing.T) {
	labelled(t, get(t, demo(t, nil), "/?further=1").Body.String())
}

// labelled checks that every id is there once, and that every control and
// every reference has what it refers to.
func labelled(t *testing.T, page string) {
	t.Helper()
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		if seen[m[1]] {
			t.Errorf("id %q twice", m[1])
		}
		seen[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`<(?:input|select)[^>]* id="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(page, `for="`+m[1]+`"`) {
			t.Errorf("%s has no label", m[1])
		}
	}
	for _, m := range regexp.MustCompile(`(?:for|aria-labelledby)="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		for _, id := range strings.Fields(m[1]) {
			if !seen[id] {
				t.Errorf("%q is referred to and is not there", id)
			}
		}
	}
}

func TestTheFragmentFollowsTheControls(t *testing.T) {
	s := demo(t, nil)
	ask := "/plan?route=demo-pass&car=mid-size-sedan&temp_c=8&confidence_pct=0"
	want(t, get(t, s, ask), http.StatusOK, "<h1>Arrive with 10 %</h1>", `<template data-into="summary">`)
	want(t, get(t, s, ask+"&arrive_with_pct=33"), http.StatusOK, "<h1>Arrive with 33 %</h1>")
	want(t, get(t, s, ask+"&units=us"), http.StatusOK, " mi</td>")
	want(t, get(t, s, ask+"&temp_c=hot"), http.StatusUnprocessableEntity, "Outside temperature (temp_c): found hot; expected a number.")
	want(t, get(t, s, ask+"&temp_c=999"), http.StatusUnprocessableEntity)
	want(t, get(t, s, "/plan?route=demo-pass&car=spaceship"), http.StatusUnprocessableEntity, "spaceship", "van")
	want(t, get(t, s, "/plan?route=demo-nowhere&car=van"), http.StatusUnprocessableEntity, "demo-nowhere")
	want(t, get(t, s, "/plan?route=file-0123456789abcdef&car=van"), http.StatusNotFound, "drop the same file again")
	want(t, get(t, s, "/further"), http.StatusOK, "cannot charge you", "On a harder day", "°C colder")
}

func TestEveryLinkKeepsTheQuestion(t *testing.T) {
	s := demo(t, nil)
	page := get(t, s, "/?route=demo-pass&car=mid-size-sedan&arrive_with_pct=23&carry=roof+box").Body.String()
	links := regexp.MustCompile(`<a [^>]*href="(/[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 7 {
		t.Errorf("only %d links", len(links))
	}
	for _, link := range links {
		address, err := url.Parse(html.UnescapeString(link[1]))
		must(t, err)
		q := address.Query()
		if q.Get("arrive_with_pct") != "23" || q.Get("carry") != "roof box" {
			t.Errorf("%s loses the question", link[1])
		}
		want(t, get(t, s, html.UnescapeString(link[1])), http.StatusOK)
	}
}

func TestEveryRemedyOfferedWorks(t *testing.T) {
	s := demo(t, nil)
	page := get(t, s, "/?route=demo-north&car=small-hatch&temp_c=-15&reserve_pct=30&arrive_with_pct=30&confidence_pct=0")
	want(t, page, http.StatusUnprocessableEntity, "This trip cannot be made as asked", "each alone")
	links := regexp.MustCompile(`<li><a href="(/\?[^"]+)">`).FindAllStringSubmatch(page.Body.String(), -1)
	if len(links) == 0 {
		t.Fatal("no remedy to follow")
	}
	for _, link := range links {
		want(t, get(t, s, strings.ReplaceAll(link[1], "&amp;", "&")), http.StatusOK, "<h1>Arrive with ")
	}
}

func TestTheFormKeepsWhatItDoesNotShow(t *testing.T) {
	w := get(t, demo(t, nil), "/?route=demo-pass&car=van&start_name=Here&avoid=ORR021&avoid=ORR022")
	want(t, w, w.Code, `<input type="hidden" name="start_name" value="Here">`, "name=\"avoid\" rows=\"1\" placeholder=\"Orrelund Road Board\">ORR021\nORR022</textarea>")
}

func TestWithoutARouteThePageAsksForOne(t *testing.T) {
	s := demo(t, func(c *web.Config) {
		c.Routes, c.Start = nil, web.Ask{Car: "van", Units: "metric", Question: question.New()}
	})
	want(t, get(t, s, "/"), http.StatusOK, "<h1>Drop a route</h1>")
}

// demoInputs are those of the demo's trip as the command line reads them.
func demoInputs(t testing.TB) (input.Trip, *route.Route, *stations.Index, *energy.Car) {
	t.Helper()
	d, err := input.DemoTrip()
	must(t, err)
	r, err := input.Here.Route("demo:" + d.Corridor)
	must(t, err)
	network, err := input.Here.Stations(t.Context(), []string{input.Demo}, open.Options{}, "")
	must(t, err)
	car, err := input.Here.Car(d.Car)
	must(t, err)
	return d, r, network.Index, car
}

func TestFilesAreWhatTheCommandLineWrites(t *testing.T) {
	d, r, index, car := demoInputs(t)
	itinerary := trip.Itinerary{Routes: []*route.Route{r}, Stations: index}
	journey, err := itinerary.Journey(car, d.Question)
	must(t, err)
	plan, err := journey.PlanWith(t.Context(), nil, trip.PlanOptions{Assured: true})
	must(t, err)
	s := demo(t, nil)
	for _, format := range answer.Formats(answer.Journey{}) {
		var b bytes.Buffer
		must(t, answer.Write(&b, format, answer.Journey{JourneyPlan: plan}, answer.Options{Note: d.Note}))
		w := get(t, s, "/journey/"+format)
		want(t, w, http.StatusOK)
		if !bytes.Equal(w.Body.Bytes(), b.Bytes()) {
			t.Errorf("%s differs from what the command line writes", format)
		}
		if media, _, err := mime.ParseMediaType(w.Header().Get("Content-Type")); err != nil || !strings.Contains(media, "/") {
			t.Errorf("%s is served as %q: %v", format, media, err)
		}
	}
	want(t, get(t, s, "/journey/docx"), http.StatusNotFound, "docx")
}

func TestTheSheetStandsAlone(t *testing.T) {
	w := get(t, demo(t, nil), "/sheet")
	want(t, w, http.StatusOK, "Arrive with 27 %", "cannot charge you", "What this rests on", "Take care")
	sheet := w.Body.String()
	for _, tag := range []string{"<script", "<link", "<img", "<iframe", "@import", "url("} {
		if strings.Contains(sheet, tag) {
			t.Errorf("the sheet has %s", tag)
		}
	}
	style := sheet[strings.Index(sheet, "<style>")+len("<style>") : strings.Index(sheet, "</style>")]
	sum := sha256.Sum256([]byte(style))
	if hash := base64.StdEncoding.EncodeToString(sum[:]); !strings.Contains(w.Header().Get("Content-Security-Policy"), "'sha256-"+hash+"'") {
		t.Error("the policy does not allow the sheet's own style")
	}
	testdata.Golden(t, "demo-trip.html", w.Body.Bytes())
}

func TestTheFragmentIsTheSameEveryTime(t *testing.T) {
	testdata.Golden(t, "demo-fragment.html", get(t, demo(t, nil), "/plan").Body.Bytes())
}

func TestADroppedFileHasAnAddress(t *testing.T) {
	s := demo(t, nil)
	content, err := data.Corridor("upland")
	must(t, err)
	first := drop(t, s, "upland.geojson", content)
	want(t, first, http.StatusSeeOther)
	address := first.Header().Get("Location")
	if !strings.Contains(address, "route=file-") || !strings.Contains(address, "car=van") || !strings.Contains(address, "temp_c=3") {
		t.Errorf("address %s", address)
	}
	want(t, get(t, s, address), http.StatusOK, "Upland Road", "until this server is restarted", "selected>Upland Road")
	if again := drop(t, s, "other name.geojson", content); again.Header().Get("Location") != address {
		t.Errorf("the same file got %s, before %s", again.Header().Get("Location"), address)
	}
	if other := demo(t, nil); true {
		want(t, get(t, other, address), http.StatusNotFound, "drop the same file again")
		drop(t, other, "upland.geojson", content)
		want(t, get(t, other, address), http.StatusOK, "Upland Road")
	}
}

func TestASmallLineTravelsInItsAddress(t *testing.T) {
	line := `{"type":"Feature","properties":{"name":"Short way"},"geometry":{"type":"LineString","coordinates":[[-152.9,41.5],[-152.7,41.52],[-152.5,41.5]]}}`
	w := drop(t, demo(t, nil), "short.geojson", []byte(line))
	want(t, w, http.StatusSeeOther)
	address := w.Header().Get("Location")
	if !strings.Contains(address, "route=line-") {
		t.Fatalf("address %s", address)
	}
	want(t, get(t, demo(t, nil), address), http.StatusOK, "Short way", "the route included")
}

func TestTheStoreForgetsTheOldest(t *testing.T) {
	s := demo(t, func(c *web.Config) { c.Limits.Kept = 2 })
	content, err := data.Corridor("upland")
	must(t, err)
	var addresses []string
	for i := range 3 {
		other := bytes.Replace(content, []byte("Upland Road"), fmt.Appendf(nil, "Upland Road %d", i), 1)
		addresses = append(addresses, drop(t, s, "u.geojson", other).Header().Get("Location"))
	}
	for i, status := range []int{http.StatusNotFound, http.StatusOK, http.StatusOK} {
		want(t, get(t, s, addresses[i]), status)
	}
}

func TestEveryBrokenRouteIsAnsweredInWords(t *testing.T) {
	s := demo(t, nil)
	entries, err := os.ReadDir(testdata.Path("broken", "routes"))
	must(t, err)
	refused := 0
	for _, e := range entries {
		content, err := os.ReadFile(filepath.Join(testdata.Path("broken", "routes"), e.Name()))
		must(t, err)
		switch w := drop(t, s, e.Name(), content); w.Code {
		case http.StatusSeeOther:
		case http.StatusUnprocessableEntity:
			refused++
			want(t, w, http.StatusUnprocessableEntity, "That file cannot be used")
		default:
			t.Errorf("%s: %d %.200s", e.Name(), w.Code, w.Body)
		}
	}
	if refused < 20 {
		t.Errorf("only %d of %d broken files were refused", refused, len(entries))
	}
}

func TestPicturesUnderTheMapAreOffUnlessNamed(t *testing.T) {
	if strings.Contains(get(t, demo(t, nil), "/").Body.String(), "<image") {
		t.Error("pictures without an address")
	}
	s := demo(t, func(c *web.Config) {
		c.Tiles = web.Tiles{URL: "http://127.0.0.1:9/{z}/{x}/{y}.png", Credit: "drawn by <us>"}
	})
	w := get(t, s, "/")
	want(t, w, http.StatusOK, `<image href="http://127.0.0.1:9/`, "drawn by &lt;us&gt;")
	if policy := w.Header().Get("Content-Security-Policy"); !strings.Contains(policy, "img-src 'self' http://127.0.0.1:9;") {
		t.Errorf("policy %s", policy)
	}
	for _, bad := range []web.Tiles{
		{URL: "http://h/{z}/{x}/{y}"}, {URL: "ftp://h/{z}/{x}/{y}", Credit: "c"}, {URL: "http://h/{z}/{x}", Credit: "c"}, {URL: "http://a b/{z}/{x}/{y}", Credit: "c"}, {URL: "http://h;script-src/{z}/{x}/{y}", Credit: "c"},
	} {
		if bad.Validate() == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}

func TestOtherSitesAreKeptOut(t *testing.T) {
	s := demo(t, func(c *web.Config) { c.LoopbackOnly = true })
	for host, status := range map[string]int{
		"127.0.0.1:8765": http.StatusOK, "localhost:8765": http.StatusOK, "LOCALHOST": http.StatusOK, "[::1]:8765": http.StatusOK, "[::1]": http.StatusOK,
		"elsewhere.example": http.StatusMisdirectedRequest, "127.0.0.1.elsewhere.example:8765": http.StatusMisdirectedRequest, "192.0.2.1": http.StatusMisdirectedRequest,
	} {
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "/healthz", nil)
		r.Host = host
		s.ServeHTTP(w, r)
		if w.Code != status {
			t.Errorf("%s: %d, want %d", host, w.Code, status)
		}
	}
	contentType, body := dropForm(t, "a.gpx", []byte("x"), nil)
	r := httptest.NewRequest(http.MethodPost, "/routes", body)
	r.Host = "127.0.0.1:8765"
	r.Header.Set("Content-Type", contentType)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	want(t, w, http.StatusForbidden)
}

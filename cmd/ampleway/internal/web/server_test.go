package web_test

import (
	"bytes"
	"context"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/route/input"
	"ampleway/stations/open"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// demo is a server of the demo, changed by change.
func demo(t testing.TB, change func(*web.Config)) *web.Server {
	t.Helper()
	c, err := demoConfig()
	must(t, err)
	if change != nil {
		change(&c)
	}
	s, err := web.New(c)
	must(t, err)
	return s
}

var demoConfig = sync.OnceValues(func() (web.Config, error) {
	d, err := input.DemoTrip()
	if err != nil {
		return web.Config{}, err
	}
	c := web.Config{About: "the demo", Start: web.Ask{Route: "demo-" + d.Corridor, Car: d.Car, Units: "metric", Question: d.Question}}
	for _, name := range data.Corridors() {
		r, err := input.Here.Route("demo:" + name)
		if err != nil {
			return c, err
		}
		c.Routes = append(c.Routes, web.NamedRoute{ID: "demo-" + name, Route: r, Note: d.Note})
	}
	for _, name := range cars.Names() {
		car, err := input.Here.Car(name)
		if err != nil {
			return c, err
		}
		c.Cars = append(c.Cars, web.NamedCar{ID: name, Car: car})
	}
	network, err := input.Here.Stations(context.Background(), []string{input.Demo}, open.Options{}, "")
	c.Stations = network.Index
	return c, err
})

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func get(t testing.TB, h http.Handler, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

func post(h http.Handler, path, contentType string, body io.Reader) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodPost, path, body)
	r.Header.Set("Content-Type", contentType)
	h.ServeHTTP(w, r)
	return w
}

// dropForm is what a browser sends for a dropped file.
func dropForm(t testing.TB, name string, content []byte, query url.Values) (contentType string, body *bytes.Buffer) {
	t.Helper()
	body = &bytes.Buffer{}
	form := multipart.NewWriter(body)
	must(t, form.WriteField("query", query.Encode()))
	part, err := form.CreateFormFile("file", name)
	must(t, err)
	_, err = part.Write(content)
	must(t, err)
	must(t, form.Close())
	return form.FormDataContentType(), body
}

func drop(t testing.TB, h http.Handler, name string, content []byte) *httptest.ResponseRecorder {
	t.Helper()
	contentType, body := dropForm(t, name, content, url.Values{"route": {"demo-pass"}, "car": {"van"}, "temp_c": {"3"}})
	return post(h, "/routes", contentType, body)
}

func want(t testing.TB, w *httptest.ResponseRecorder, status int, texts ...string) {
	t.Helper()
	if w.Code != status {
		t.Errorf("status %d, want %d: %.300s", w.Code, status, w.Body)
	}
	for _, text := range texts {
		if !strings.Contains(w.Body.String(), text) {
			t.Errorf("%q is not in the answer: %.600s", text, w.Body)
		}
	}
}

package router_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"net/http"
	"net/http/httptest"

	"github.com/paulmach/orb"

	"ampleway/data/fault"
	"ampleway/route/router"
)

// TestMain lets the test binary stand in for a router: with
// AMPLEWAY_TEST_ROUTER set it behaves as that says.
func TestMain(m *testing.M) {
	mode := os.Getenv("AMPLEWAY_TEST_ROUTER")
	if mode == "" {
		os.Exit(m.Run())
	}
	switch mode {
	case "line":
		fmt.Printf(`{"type":"LineString","coordinates":[[%s,%s],[7.5,45.5],[%s,%s]]}`, os.Args[1], os.Args[2], os.Args[3], os.Args[4])
	case "arguments":
		fmt.Fprintln(os.Stderr, strings.Join(os.Args[1:], "|"))
		os.Exit(3)
	case "nothing":
	case "fail":
		fmt.Fprint(os.Stderr, "loading\nno road near the first place\n\n")
		os.Exit(1)
	case "sleep":
		time.Sleep(time.Minute)
	case "flood":
		for {
			if _, err := os.Stdout.WriteString(strings.Repeat("?", 1<<16)); err != nil {
				os.Exit(0)
			}
		}
	case "reads":
		content, err := io.ReadAll(os.Stdin)
		fmt.Fprintf(os.Stderr, "%d bytes on standard input, %v\n", len(content), err)
		os.Exit(1)
	}
	os.Exit(0)
}

const ends = " {from.lon} {from.lat} {to.lon} {to.lat}"

var from, to = orb.Point{7, 45}, orb.Point{8, 46}

// standIn makes a router of the test binary.
func standIn(t *testing.T, mode, arguments string, o router.Options) *router.Router {
	t.Helper()
	t.Setenv("AMPLEWAY_TEST_ROUTER", mode)
	r, err := router.New("'"+os.Args[0]+"'"+arguments, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func wantFault(t *testing.T, err error, want string) {
	t.Helper()
	var in *fault.Input
	if !errors.As(err, &in) {
		t.Fatalf("got %v, want a *fault.Input", err)
	}
	if !strings.Contains(err.Error(), want) {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestCommand(t *testing.T) {
	r := standIn(t, "line", ends, router.Options{})
	way, err := r.Route(context.Background(), from, to)
	if err != nil {
		t.Fatal(err)
	}
	if way.Len() != 3 || way.Point(0).Lon != 7 || way.Point(2).Lat != 46 {
		t.Errorf("route %v", way.Points())
	}
	through, err := r.Route(context.Background(), from, to, orb.Point{9, 45})
	if err != nil {
		t.Fatal(err)
	}
	if through.Len() != 5 || through.Point(2).Lon != 8 || through.Point(4).Lon != 9 {
		t.Errorf("route through a place %v", through.Points())
	}
}

// What a shell would act on reaches the program as it is written.
func TestNoShell(t *testing.T) {
	mark := filepath.Join(t.TempDir(), "mark")
	r := standIn(t, "arguments", " $(touch "+mark+") ; `id` *.go $HOME '' \"a b\" {{x}} -p={from.latlon} >out"+ends, router.Options{})
	_, err := r.Route(context.Background(), orb.Point{-7.25, 45}, to)
	wantFault(t, err, "exit status 3: $(touch|"+mark+")|;|`id`|*.go|$HOME||a b|{x}|-p=45,-7.25|>out|-7.25|45|8|46")
	if _, err := os.Stat(mark); err == nil {
		t.Error("a shell has run")
	}
}

func TestFailingCommands(t *testing.T) {
	for _, test := range []struct {
		mode, want string
		options    router.Options
	}{
		{"fail", "from 7,45 to 8,46: expected a route on standard output: exit status 1: no road near the first place", router.Options{}},
		{"nothing", "from 7,45 to 8,46: found an empty file: expected GPX, GeoJSON or an encoded polyline", router.Options{}},
		{"sleep", "from 7,45 to 8,46: expected an answer within 100ms: context deadline exceeded", router.Options{Timeout: 100 * time.Millisecond}},
		{"flood", "from 7,45 to 8,46: found a longer answer: expected at most 1 MB", router.Options{MaxBytes: 1 << 20}},
		{"reads", "0 bytes on standard input, <nil>", router.Options{}},
	} {
		t.Run(test.mode, func(t *testing.T) {
			r := standIn(t, test.mode, ends, test.options)
			start := time.Now()
			_, err := r.Route(context.Background(), from, to)
			wantFault(t, err, test.want)
			if took := time.Since(start); took > 10*time.Second {
				t.Errorf("took %s", took)
			}
		})
	}
}

func TestCancelled(t *testing.T) {
	r := standIn(t, "sleep", ends, router.Options{})
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	if _, err := r.Route(ctx, from, to); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v", err)
	}
}

func TestTemplates(t *testing.T) {
	for _, test := range []struct{ template, want string }{
		{"", "router template: found nothing: expected a program with arguments, or a URL"},
		{"no-such-program-here" + ends, "router template, program: found no-such-program-here: expected a program on this machine"},
		{"true", "router template, placeholder: found no {from.lon}: expected longitude and latitude of both ends"},
		{"true {from.lonlat} {to.lon}", "router template, placeholder: found no {to.lat}"},
		{"true {from}", "router template, placeholder: found {from: expected one of {from.lon}"},
		{"true {from.lon", "router template, placeholder: found {from.lon: expected one of"},
		{"true }", "router template, placeholder: found } without {: expected }} for a brace"},
		{"true 'open", "router template: found an open quotation mark ': expected it closed"},
		{"http://localhost/way", "router template, placeholder: found no {from.lon}"},
		{"http:///{from.lonlat}/{to.lonlat}", "router template, URL: found http:///{from.lonlat}/{to.lonlat}: expected a URL such as"},
		{"http://localhost/{from.lonlat}/{to.lonlat}#shape=a", "router template, after #: found shape: expected line, format, duration_s or credit"},
		{"http://localhost/{from.lonlat}/{to.lonlat}#format=kml", "router template, format: found kml: expected gpx, geojson, polyline5 or polyline6"},
		{"http://localhost/{from.lonlat}/{to.lonlat}#line=%zz", "router template, after #: found line=%zz: expected line=PATH&format=FORMAT&duration_s=PATH"},
	} {
		_, err := router.New(test.template, router.Options{})
		wantFault(t, err, test.want)
	}
}

// serve answers every question with a body, and counts them.
func serve(t *testing.T, status int, body string) (address string, asked *atomic.Int64) {
	t.Helper()
	asked = new(atomic.Int64)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) {
		asked.Add(1)
		w.WriteHeader(status)
		if _, err := io.WriteString(w, body); err != nil {
			t.Log(err)
		}
	}))
	t.Cleanup(server.Close)
	return server.URL, asked
}

// The worked example of the encoded polyline algorithm, from 38.5,-120.2 to
// 43.252,-126.453, in every place where an answer may hold it.
func TestAnswersOverHTTP(t *testing.T) {
	const line = `{"type":"LineString","coordinates":[[-120.2,38.5],[-120.95,40.7],[-126.453,43.252]]}`
	first, last := orb.Point{-120.2, 38.5}, orb.Point{-126.453, 43.252}
	for _, test := range []struct {
		name, fragment, body string
		speedMS              float64
	}{
		{"GeoJSON", "", line, 0},
		{"encoded polyline", "", "_p~iF~ps|U_ulLnnqC_mqNvxq`@", 0},
		{"GPX", "", `<gpx><rte><rtept lat="38.5" lon="-120.2"/><rtept lat="40.7" lon="-120.95"/><rtept lat="43.252" lon="-126.453"/></rte></gpx>`, 0},
		{"GeoJSON in a field", "#line=ways.1.line", `{"ways":[{},{"line":` + line + `}]}`, 0},
		{"polyline in a field", "#line=ways.0&format=polyline5", `{"ways":["_p~iF~ps|U_ulLnnqC_mqNvxq` + "`" + `@"]}`, 0},
		{"polyline of 6 decimals", "#line=way&format=polyline6", `{"way":"_izlhA~rlgdF_{geC~ywl@_kwzCn` + "`" + `{nI"}`, 0},
		{"driving time", "#line=way&duration_s=took", `{"way":` + line + `,"took":40000.5}`, 781870.0 / 40000.5},
	} {
		t.Run(test.name, func(t *testing.T) {
			address, _ := serve(t, http.StatusOK, test.body)
			r, err := router.New(address+"/{from.lonlat}/{to.latlon}?k=v"+test.fragment, router.Options{})
			if err != nil {
				t.Fatal(err)
			}
			way, err := r.Route(context.Background(), first, last)
			if err != nil {
				t.Fatal(err)
			}
			if way.Len() != 3 || way.Point(1).Lon != -120.95 || way.Point(1).Lat != 40.7 {
				t.Errorf("route %v", way.Points())
			}
			if got := way.Point(1).SpeedMS; math.Abs(got-test.speedMS) > 0.01*test.speedMS {
				t.Errorf("speed %g m/s, want %g", got, test.speedMS)
			}
		})
	}
}

func TestFilledAddress(t *testing.T) {
	var got string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) { got = request.URL.String() }))
	defer server.Close()
	r, err := router.New(server.URL+"/{from.lonlat};{to.latlon}?a={from.lat}&b={to.lon}#line=x", router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Route(context.Background(), orb.Point{-0.00001, 45.123456789}, orb.Point{8, -46.5}); err == nil {
		t.Fatal("an empty answer is a route")
	}
	if want := "/-0.00001,45.1234568;-46.5,8?a=45.1234568&b=8"; got != want {
		t.Errorf("asked %s, want %s", got, want)
	}
}

func TestFailingServices(t *testing.T) {
	for _, test := range []struct {
		name     string
		status   int
		body     string
		fragment string
		options  router.Options
		want     string
	}{
		{"status", 400, "no road there\nsecond line", "", router.Options{}, ": found 400 Bad Request no road there: expected 200 OK with a route"},
		{"field", 200, `{"way":{"points":[1]}}`, "#line=way.line", router.Options{}, `, way.line: found no such field in {"points":[1]}: expected the field named in the router template`},
		{"list", 200, `{"ways":[]}`, "#line=ways.0.line", router.Options{}, `, ways.0: found no such field in []`},
		{"not JSON", 200, `<html>`, "#line=ways", router.Options{}, `, ways: found no such field in <html>`},
		{"broken line", 200, `{"way":{"type":"LineString","coordinates":[[7,45],[8]]}}`, "#line=way", router.Options{}, `, position 2, coordinates: found [8]`},
		{"driving time", 200, `{"way":"??","t":"long"}`, "#line=way&duration_s=t", router.Options{}, `, t: found "long": expected the driving time, a number of seconds`},
		{"size", 200, strings.Repeat("?", 2000), "", router.Options{MaxBytes: 1000}, ": found a longer answer: expected at most 1000 bytes"},
		{"elsewhere", 200, `{"type":"LineString","coordinates":[[7.2,45],[8,46]]}`, "", router.Options{}, ": found a route that begins 15.8 km from the place asked for, at 7.2,45: expected at most 5.0 km"},
		{"exchanged", 200, `{"type":"LineString","coordinates":[[45,7],[46,8]]}`, "", router.Options{}, ": found a route that begins 5582.6 km from the place asked for, at 45,7: expected at most 5.0 km (the template has longitude and latitude exchanged)"},
	} {
		t.Run(test.name, func(t *testing.T) {
			address, _ := serve(t, test.status, test.body)
			r, err := router.New(address+"/{from.lonlat}/{to.lonlat}?key=secret"+test.fragment, test.options)
			if err != nil {
				t.Fatal(err)
			}
			_, err = r.Route(context.Background(), from, to)
			wantFault(t, err, address+", from 7,45 to 8,46"+test.want)
			if strings.Contains(err.Error(), "secret") {
				t.Errorf("the error shows the key: %v", err)
			}
		})
	}
}

func TestSlowAndAbsentServices(t *testing.T) {
	release := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) { <-release }))
	defer server.Close()
	defer close(release)
	r, err := router.New(server.URL+"/{from.lonlat}/{to.lonlat}", router.Options{Timeout: 50 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Route(context.Background(), from, to)
	wantFault(t, err, "expected an answer within 50ms")

	gone := httptest.NewServer(nil)
	gone.Close()
	r, err = router.New(gone.URL+"/{from.lonlat}/{to.lonlat}?key=secret", router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Route(context.Background(), from, to)
	wantFault(t, err, "expected an answer: dial tcp")
	if strings.Contains(err.Error(), "secret") {
		t.Errorf("the error shows the key: %v", err)
	}
}

func TestNearbyEndsAndTooShortTimesAreNoted(t *testing.T) {
	address, _ := serve(t, http.StatusOK, `{"way":{"type":"LineString","coordinates":[[7.01,45],[8,46]]},"t":60}`)
	r, err := router.New(address+"/{from.lonlat}/{to.lonlat}#line=way&duration_s=t", router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	way, err := r.Route(context.Background(), from, to)
	if err != nil {
		t.Fatal(err)
	}
	notes := strings.Join(way.Notes, "\n")
	for _, want := range []string{"The router's road begins 788 m from the place asked for", "driving time of 60 s is not used"} {
		if !strings.Contains(notes, want) {
			t.Errorf("notes %q, want %q", notes, want)
		}
	}
	if way.Point(0).SpeedMS != 0 {
		t.Errorf("speed %g", way.Point(0).SpeedMS)
	}
}

func TestRoutesAreAskedOnceAndInOrder(t *testing.T) {
	var asked, running, most atomic.Int64
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, request *http.Request) {
		asked.Add(1)
		if n := running.Add(1); n > most.Load() {
			most.Store(n)
		}
		defer running.Add(-1)
		time.Sleep(5 * time.Millisecond)
		parts := strings.Split(strings.Trim(request.URL.Path, "/"), "/")
		if strings.HasPrefix(parts[0], "7.5,") {
			http.Error(w, "closed", http.StatusNotFound)
			return
		}
		fmt.Fprintf(w, `{"type":"LineString","coordinates":[[%s],[%s]]}`, parts[0], parts[1])
	}))
	defer server.Close()
	r, err := router.New(server.URL+"/{from.lonlat}/{to.lonlat}", router.Options{Parallel: 3})
	if err != nil {
		t.Fatal(err)
	}
	pairs := make([]router.Pair, 20)
	for i := range pairs {
		pairs[i] = router.Pair{From: orb.Point{7 + float64(i)/20, 45}, To: orb.Point{8, 46}}
	}
	for range 2 {
		ways, errs, err := r.Routes(context.Background(), pairs)
		if err != nil {
			t.Fatal(err)
		}
		for i, way := range ways {
			if i == 10 {
				wantFault(t, errs[i], "404 Not Found closed")
				continue
			}
			if errs[i] != nil || way.Point(0).Lon != pairs[i].From.Lon() {
				t.Errorf("pair %d: %v, %v", i, way, errs[i])
			}
		}
	}
	if asked.Load() != 21 || most.Load() > 3 {
		t.Errorf("asked %d times, %d at once; want 21 (the failed one twice), at most 3", asked.Load(), most.Load())
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := r.Routes(ctx, []router.Pair{{From: from, To: to}}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"ampleway/cmd/ampleway/internal/web"
)

// absurd asks for what takes very long: a wanted arrival, a meal by the clock
// and money, on a road round the world of which every part has a station.
func absurd(t *testing.T) []byte {
	t.Helper()
	var line strings.Builder
	for i := range 20_000 {
		fmt.Fprintf(&line, "[%.5f,%.5f],", -170+0.0001*float64(i), 20+15*float64(i%2))
	}
	text, err := json.Marshal(object{
		"route_geojson": json.RawMessage(`{"type":"LineString","coordinates":[` + line.String() + `[-168,20]]}`),
		"car":           "mid-size-sedan",
	})
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// heavy is a plan on the demo that takes long: each minute of a day is tried.
func heavy() []byte {
	text, err := json.Marshal(object{"route": "demo-pass", "car": "mid-size-sedan", "request": object{
		"arrive_by": "2026-12-24T06:00:00+01:00", "meal": "21:00-21:01 12h", "best": "cost", "confidence_pct": 95,
	}})
	if err != nil {
		panic(err)
	}
	return text
}

// Absurd requests, one for each place that plans, leave an ordinary plan
// unharmed.
func TestAbsurdRequestsLeaveOthersAlone(t *testing.T) {
	base := listening(t, nil)
	c := client(t, 8)
	done := make(chan int, 4)
	ctx, leave := context.WithCancel(context.Background())
	defer leave()
	for _, body := range [][]byte{absurd(t), heavy(), absurd(t), heavy()} {
		go func() {
			status, _ := send(ctx, c, base+"/api/journey", bytes.NewReader(body))
			done <- status
		}()
	}
	time.Sleep(50 * time.Millisecond)
	start := time.Now()
	status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(10)))
	t.Logf("an ordinary plan took %s", time.Since(start))
	if status != http.StatusOK {
		t.Errorf("status %d", status)
	}
	leave()
	for range 4 {
		t.Logf("an absurd one ended with %d", <-done)
	}
}

// A client that leaves frees its place: with one place, the next plan is made
// at once.
func TestWhoeverLeavesFreesThePlace(t *testing.T) {
	base := listening(t, func(c *web.Config) { c.Limits.Plans = 1 })
	c := client(t, 4)
	ctx, leave := context.WithCancel(context.Background())
	gone := make(chan int)
	go func() {
		status, _ := send(ctx, c, base+"/api/journey", bytes.NewReader(heavy()))
		gone <- status
	}()
	time.Sleep(200 * time.Millisecond)
	leave()
	if status := <-gone; status != 0 {
		t.Skipf("the heavy plan had ended before, with %d", status)
	}
	start := time.Now()
	status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(10)))
	took := time.Since(start)
	t.Logf("the next plan took %s", took)
	if status != http.StatusOK || took > 3*time.Second {
		t.Errorf("status %d after %s", status, took)
	}
}

// A car that nests deeply is refused, and the server goes on.
func TestDeepCarIsRefused(t *testing.T) {
	base := listening(t, nil)
	c := client(t, 1)
	deep := strings.Repeat("[", 5000) + strings.Repeat("]", 5000)
	for _, car := range []string{`{"name":` + deep + `}`, `{"dc_taper":` + deep + `}`} {
		body := `{"route":"demo-pass","car_spec":` + car + `}`
		if status, _ := send(context.Background(), c, base+"/api/journey", strings.NewReader(body)); status != http.StatusUnprocessableEntity {
			t.Errorf("status %d", status)
		}
	}
	body := `{"route":"demo-pass","car_spec":` + strings.Repeat("[", 1_000_000)
	if status, _ := send(context.Background(), c, base+"/api/journey", strings.NewReader(body)); status < 400 || status >= 500 {
		t.Errorf("status %d", status)
	}
	if status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(10))); status != http.StatusOK {
		t.Errorf("afterwards: status %d", status)
	}
}

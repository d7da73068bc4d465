package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/testdata"
)

// listening is a server on a real socket, stopped gracefully at the end.
func listening(t testing.TB, change func(*web.Config)) string {
	t.Helper()
	s := demo(t, change)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			t.Errorf("stop: %v", err)
		}
	})
	return "http://" + l.Addr().String()
}

// client has connections of its own, so that none is left over.
func client(t testing.TB, most int) *http.Client {
	transport := &http.Transport{MaxIdleConnsPerHost: most, MaxConnsPerHost: most}
	t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport, Timeout: time.Minute}
}

// tally counts statuses and keeps the times of what succeeded.
type tally struct {
	mu      sync.Mutex
	status  map[int]int
	seconds []float64
}

func (c *tally) add(status int, took time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.status == nil {
		c.status = map[int]int{}
	}
	c.status[status]++
	if status == http.StatusOK {
		c.seconds = append(c.seconds, took.Seconds())
	}
}

func (c *tally) quantileMS(q float64) float64 {
	slices.Sort(c.seconds)
	if len(c.seconds) == 0 {
		return 0
	}
	return 1000 * c.seconds[min(int(q*float64(len(c.seconds))), len(c.seconds)-1)]
}

func ask(reserve int) []byte {
	text, err := json.Marshal(object{"route": "demo-pass", "car": "mid-size-sedan", "brief": true, "request": object{"reserve_pct": reserve}})
	if err != nil {
		panic(err)
	}
	return text
}

// send posts a body and reads the answer to its end. Without an answer the
// status is 0.
func send(ctx context.Context, c *http.Client, url string, body io.Reader) (int, http.Header) {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, url, body)
	if err != nil {
		panic(err)
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := c.Do(r)
	if err != nil {
		return 0, nil
	}
	defer answer.Body.Close()
	if _, err := io.Copy(io.Discard, answer.Body); err != nil {
		return 0, nil
	}
	return answer.StatusCode, answer.Header
}

// TestLoad measures plans per second through HTTP. AMPLEWAY_SLOW=1 runs it
// for 10 s.
func TestLoad(t *testing.T) {
	lasting := time.Second
	if testdata.Slow() {
		lasting = 10 * time.Second
	}
	base := listening(t, nil)
	clients := 16
	if testdata.Raced {
		clients = 4 // sixteen would wait too long for their turn
	}
	c := client(t, clients)
	var counted tally
	var group sync.WaitGroup
	start := time.Now()
	for k := range clients {
		group.Go(func() {
			for i := 0; time.Since(start) < lasting; i++ {
				began := time.Now()
				status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(5+(k+i)%20)))
				counted.add(status, time.Since(began))
			}
		})
	}
	group.Wait()
	took := time.Since(start).Seconds()
	if len(counted.status) != 1 || counted.status[http.StatusOK] == 0 {
		t.Errorf("statuses %v", counted.status)
	}
	t.Logf("%d clients: %.0f plans/s, p50 %.1f ms, p99 %.1f ms, heap %.0f MB, load average %s", clients,
		float64(counted.status[http.StatusOK])/took, counted.quantileMS(.5), counted.quantileMS(.99), heapMB(), loadAverage())
}

func heapMB() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / (1 << 20)
}

func loadAverage() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "unknown"
	}
	return strings.Fields(string(text))[0]
}

// TestAbuse sends all that a server meets at once: more plans than it takes,
// clients that send a byte now and then, bodies beyond the limit, broken
// routes, and clients that leave. AMPLEWAY_SLOW=1 sends 1,000 plans and 50 MB.
func TestAbuse(t *testing.T) {
	plans, slow, bodyMB, broken, leaving := 150, 10, 20, 30, 60
	if testdata.Slow() {
		plans, slow, bodyMB, broken, leaving = 1000, 100, 50, 300, 300
	}
	base := listening(t, func(c *web.Config) {
		c.Limits = web.Limits{Plans: 2, Waiting: 64, PerClient: 1 << 20, Wait: time.Second}
	})
	c := client(t, 0)
	before := heapMB()
	var planned, large, refused tally
	var cancelled atomic.Int64
	var group sync.WaitGroup
	retry := atomic.Bool{}
	for i := range plans {
		group.Go(func() {
			began := time.Now()
			status, header := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(5+i%20)))
			planned.add(status, time.Since(began))
			if status == http.StatusServiceUnavailable && header.Get("Retry-After") != "" {
				retry.Store(true)
			}
		})
	}
	for range 4 {
		group.Go(func() {
			status, _ := send(context.Background(), c, base+"/api/journey", io.LimitReader(zeros{}, int64(bodyMB)<<20))
			large.add(status, 0)
		})
	}
	for i := range broken {
		group.Go(func() {
			random := rand.New(rand.NewPCG(uint64(i), 7))
			text := []byte(`{"car":"van","route_text":"<gpx><trk><trkseg><trkpt lat=\"41\" lon=\"-150\"/><trkpt lat=\"42\" lon=\"-150\"/></trkseg></trk></gpx>"}`)
			for range 1 + i%5 {
				text[random.IntN(len(text))] = byte(' ' + random.IntN(95))
			}
			status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(text))
			refused.add(status, 0)
		})
	}
	for i := range leaving {
		group.Go(func() {
			ctx, cancel := context.WithTimeout(context.Background(), time.Duration(i%40)*time.Millisecond)
			defer cancel()
			if status, _ := send(ctx, c, base+"/api/journey", bytes.NewReader(ask(i%30))); status == 0 {
				cancelled.Add(1)
			}
		})
	}
	host := strings.TrimPrefix(base, "http://")
	for range slow {
		group.Go(func() { trickle(t, host) })
	}
	group.Wait()
	if planned.status[http.StatusOK] == 0 || planned.status[http.StatusOK]+planned.status[http.StatusServiceUnavailable] != plans {
		t.Errorf("plans: %v of %d", planned.status, plans)
	}
	if planned.status[http.StatusServiceUnavailable] > 0 && !retry.Load() {
		t.Error("turned away without Retry-After")
	}
	if testdata.Slow() && planned.status[http.StatusServiceUnavailable] == 0 {
		t.Error("nothing was turned away")
	}
	for status, n := range large.status {
		if status != http.StatusRequestEntityTooLarge && status != 0 && status != http.StatusServiceUnavailable {
			t.Errorf("large bodies: %d times %d", n, status)
		}
	}
	for status, n := range refused.status {
		// 200 is right where the changed byte leaves a route that can be driven.
		if status != http.StatusUnprocessableEntity && status != http.StatusBadRequest && status != http.StatusServiceUnavailable && status != http.StatusOK {
			t.Errorf("broken routes: %d times %d", n, status)
		}
	}
	status, _ := send(context.Background(), c, base+"/api/journey", bytes.NewReader(ask(10)))
	if status != http.StatusOK {
		t.Errorf("afterwards: %d", status)
	}
	t.Logf("plans %v, large bodies %v, broken routes %v, left early %d, slow clients %d; heap %.0f MB before, %.0f MB after; load average %s",
		planned.status, large.status, refused.status, cancelled.Load(), slow, before, heapMB(), loadAverage())
}

// zeros is a body without end.
type zeros struct{}

// Read gives spaces, which JSON allows before a value.
func (zeros) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// trickle is a client that sends its request a byte at a time and gives up
// after a while.
func trickle(t *testing.T, host string) {
	conn, err := net.DialTimeout("tcp", host, 10*time.Second)
	if err != nil {
		t.Errorf("slow client: %v", err)
		return
	}
	defer conn.Close()
	request := fmt.Sprintf("POST /api/journey HTTP/1.1\r\nHost: %s\r\nContent-Type: application/json\r\nContent-Length: 100000\r\n\r\n{", host)
	for i := range len(request) {
		if _, err := conn.Write([]byte{request[i]}); err != nil {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// TestASlowHeaderIsCutOff holds the server to its time for a header.
func TestASlowHeaderIsCutOff(t *testing.T) {
	if !testdata.Slow() {
		t.Skip("skipped: waits for a time limit of 5 s (AMPLEWAY_SLOW=1)")
	}
	base := listening(t, nil)
	conn, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	must(t, err)
	defer conn.Close()
	began := time.Now()
	_, err = conn.Write([]byte("GET / HTTP/1.1\r\nHost: a\r\nX-Slow: "))
	must(t, err)
	must(t, conn.SetReadDeadline(time.Now().Add(30*time.Second)))
	if _, err := io.Copy(io.Discard, conn); errors.Is(err, os.ErrDeadlineExceeded) {
		t.Fatal("still open after 30 s")
	}
	if took := time.Since(began); took < 4*time.Second || took > 15*time.Second {
		t.Errorf("cut off after %v, want about 5 s", took)
	}
}

// TestStopFinishesWhatItHasBegun stops the server while a plan is asked for.
func TestStopFinishesWhatItHasBegun(t *testing.T) {
	s := demo(t, nil)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	c := client(t, 1)
	body, writer := io.Pipe()
	status := make(chan int, 1)
	go func() {
		code, _ := send(context.Background(), c, "http://"+l.Addr().String()+"/api/journey", body)
		status <- code
	}()
	text := ask(10)
	_, err = writer.Write(text[:10])
	must(t, err)
	time.Sleep(100 * time.Millisecond)
	stop()
	_, err = writer.Write(text[10:])
	must(t, err)
	must(t, writer.Close())
	if code := <-status; code != http.StatusOK {
		t.Errorf("the plan under way got %d", code)
	}
	c.CloseIdleConnections()
	must(t, <-done)
}

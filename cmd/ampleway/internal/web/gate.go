package web

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync"
	"time"
)

// errors of a gate, which answers map to 503 and 429.
var (
	errFull      = errors.New("the server is planning as much as it can; try again shortly")
	errTooMany   = errors.New("too many plans are being asked for from one address at once; try again shortly")
	errSlow      = errors.New("this plan takes longer than the server allows")
	errNotHere   = errors.New("this server answers to this machine's own names only")
	errForgotten = errors.New("the server does not remember this route file: it was restarted, or many files have been dropped since; drop the same file again and this address works as before")
)

// gate lets a number of plans run at once, lets some wait, and turns the rest
// away.
type gate struct {
	running chan struct{}
	inside  chan struct{} // running and waiting
	most    int           // of one client, inside
	wait    time.Duration

	mu      sync.Mutex
	clients map[string]int
}

func newGate(l Limits) *gate {
	return &gate{
		running: make(chan struct{}, l.Plans),
		inside:  make(chan struct{}, l.Plans+l.Waiting),
		most:    l.PerClient,
		wait:    l.Wait,
		clients: map[string]int{},
	}
}

// place is a turn at the gate. Its methods are for one goroutine.
type place struct {
	gate   *gate
	client string
	runs   bool
}

// leave ends a turn. It is called once, when the work is done.
func (p *place) leave() {
	if p.runs {
		<-p.gate.running
	}
	<-p.gate.inside
	p.gate.count(p.client, -1)
}

// giveWay lets those who wait have their turn first: long work does not keep
// short work waiting. The error is that of ctx.
func (p *place) giveWay(ctx context.Context) error {
	<-p.gate.running
	p.runs = false
	select {
	case p.gate.running <- struct{}{}:
		p.runs = true
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// enter waits for a turn.
func (g *gate) enter(ctx context.Context, client string) (p *place, err error) {
	if !g.count(client, 1) {
		return nil, errTooMany
	}
	select {
	case g.inside <- struct{}{}:
	default:
		g.count(client, -1)
		return nil, errFull
	}
	p = &place{gate: g, client: client}
	timer := time.NewTimer(g.wait)
	defer timer.Stop()
	select {
	case g.running <- struct{}{}:
		p.runs = true
		return p, nil
	case <-timer.C:
		err = errFull
	case <-ctx.Done():
		err = ctx.Err()
	}
	p.leave()
	return nil, err
}

// count adds to a client's plans, and reports false where that would be too
// many.
func (g *gate) count(client string, by int) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	n := g.clients[client] + by
	if by > 0 && n > g.most {
		return false
	}
	if n == 0 {
		delete(g.clients, client)
	} else {
		g.clients[client] = n
	}
	return true
}

type clientKey struct{}

// withClient remembers who asks.
func withClient(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.RemoteAddr)
		if err != nil {
			host = r.RemoteAddr
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), clientKey{}, host)))
	})
}

func clientOf(ctx context.Context) string {
	host, _ := ctx.Value(clientKey{}).(string)
	return host
}

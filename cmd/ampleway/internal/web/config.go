package web

import (
	"log/slog"
	"net/url"
	"runtime"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/stations"
)

// Config is what a Server serves.
type Config struct {
	Routes   []NamedRoute    // in the order shown
	Cars     []NamedCar      // in the order shown; at least one
	Stations *stations.Index // the only stations there are
	About    string          // where the stations are from, half a sentence
	Start    Ask             // what is planned before anything is asked
	Note     string          // a sentence about the start's input, such as that it is invented
	Tiles    Tiles
	Limits   Limits
	Log      *slog.Logger // nil: nothing is logged

	LoopbackOnly bool // answer to this machine's own names only
}

// NamedRoute is a route that can be chosen.
type NamedRoute struct {
	ID    string
	Route *route.Route
	Note  string // shown with its plans
}

// NamedCar is a car that can be chosen.
type NamedCar struct {
	ID  string
	Car *energy.Car
}

// Tiles are pictures under the map, from a server that the user names. The
// zero value shows none.
type Tiles struct {
	URL    string // with {z}, {x} and {y}
	Credit string // who made them; required with URL
}

// Validate returns a *fault.Input.
func (t Tiles) Validate() error {
	if t.URL == "" {
		return nil
	}
	u, err := url.Parse(t.URL)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" || strings.ContainsAny(u.Host, " ;,'\"") {
		return &fault.Input{Field: "tile address", Found: t.URL, Expected: "http://HOST/{z}/{x}/{y}.png or https", Err: err}
	}
	for _, part := range []string{"{z}", "{x}", "{y}"} {
		if !strings.Contains(t.URL, part) {
			return &fault.Input{Field: "tile address", Found: t.URL, Expected: part + " in it"}
		}
	}
	if t.Credit == "" {
		return &fault.Input{Field: "tile credit", Expected: "the attribution that the pictures' licence asks for"}
	}
	return nil
}

// origin is the host that the page may load pictures from, for the content
// security policy.
func (t Tiles) origin() string {
	u, err := url.Parse(t.URL)
	if err != nil || t.URL == "" {
		return ""
	}
	return u.Scheme + "://" + u.Host
}

// Limits protect the server. Zero values mean the defaults of withDefaults.
type Limits struct {
	BodyBytes   int64         // of a request
	RoutePoints int           // of a dropped route
	Plans       int           // planned at once
	Waiting     int           // plans that may wait for their turn
	PerClient   int           // plans of one address, waiting included
	Wait        time.Duration // longest wait for a turn
	Plan        time.Duration // longest time for one plan, the wait included
	Kept        int           // dropped routes kept
	KeptPoints  int           // and their points in all
}

func (l Limits) withDefaults() Limits {
	or := func(v *int, fallback int) {
		if *v == 0 {
			*v = fallback
		}
	}
	or(&l.RoutePoints, 200_000)
	or(&l.Plans, runtime.GOMAXPROCS(0))
	or(&l.Waiting, 256)
	or(&l.PerClient, 128)
	or(&l.Kept, 64)
	or(&l.KeptPoints, 2_000_000)
	if l.BodyBytes == 0 {
		l.BodyBytes = 16 << 20
	}
	if l.Wait == 0 {
		l.Wait = 8 * time.Second
	}
	if l.Plan == 0 {
		l.Plan = 15 * time.Second
	}
	return l
}

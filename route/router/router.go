package router

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/earth"
	"ampleway/route/read"
)

// Defaults of Options.
const (
	DefaultTimeout  = 30 * time.Second
	DefaultMaxBytes = 64 << 20
	DefaultSnapM    = 5000.0
	DefaultParallel = 4
)

// Options bounds what a router may do. The zero value is ready for use.
type Options struct {
	Timeout  time.Duration // for one route; 0 means DefaultTimeout
	MaxBytes int64         // of one answer; 0 means DefaultMaxBytes
	SnapM    float64       // how far a route may begin and end from the places asked for, metres; 0 means DefaultSnapM
	Parallel int           // how many questions at a time in Routes; 0 means DefaultParallel
	Client   *http.Client  // for URL templates; nil means http.DefaultClient
}

// Router asks for routes by one template and remembers the answers. It may
// be used from several goroutines.
type Router struct {
	name    string // in errors
	options Options
	ask     func(ctx context.Context, from, to orb.Point) (answer, *fault.Input)

	mu    sync.Mutex
	known map[Pair]*route.Route
}

// Pair is a question: the two ends, longitude before latitude.
type Pair struct{ From, To orb.Point }

// answer is what a router said, before it is read.
type answer struct {
	content   []byte
	format    read.Format
	durationS float64 // 0 where it did not say
	credit    string  // what the template says of whose the data are
}

// New makes a router of a command or URL template. The error, a
// *fault.Input, says what is wrong with the template.
func New(template string, o Options) (*Router, error) {
	o.Timeout = cmp.Or(o.Timeout, DefaultTimeout)
	o.MaxBytes = cmp.Or(o.MaxBytes, DefaultMaxBytes)
	o.SnapM = cmp.Or(o.SnapM, DefaultSnapM)
	o.Parallel = cmp.Or(o.Parallel, DefaultParallel)
	o.Client = cmp.Or(o.Client, http.DefaultClient)
	r := &Router{options: o, known: map[Pair]*route.Route{}}
	var err *fault.Input
	if strings.HasPrefix(template, "http://") || strings.HasPrefix(template, "https://") {
		err = r.useURL(template)
	} else {
		err = r.useCommand(template)
	}
	if err != nil {
		err.File = "router template"
		return nil, err
	}
	return r, nil
}

// Route returns the road through the places, at least two, in their order,
// longitude before latitude. Each leg is asked for on its own, or taken from
// the answers to earlier questions. Errors of the router are *fault.Input; a
// context that ends gives its own error. It panics on fewer than two places.
func (r *Router) Route(ctx context.Context, places ...orb.Point) (*route.Route, error) {
	if len(places) < 2 {
		panic("router: Route needs two places")
	}
	legs := make([]*route.Route, len(places)-1)
	for i := range legs {
		leg, err := r.leg(ctx, Pair{places[i], places[i+1]})
		if err != nil {
			return nil, err
		}
		legs[i] = leg
	}
	return route.Join(legs...)
}

// Routes answers many questions, Options.Parallel at a time, in the order of
// the pairs. A question without an answer leaves nil in its place and its
// error in the other list; the error returned is that of the context.
func (r *Router) Routes(ctx context.Context, pairs []Pair) (routes []*route.Route, errs []error, err error) {
	routes, errs = make([]*route.Route, len(pairs)), make([]error, len(pairs))
	var group errgroup.Group
	group.SetLimit(r.options.Parallel)
	for i, pair := range pairs {
		group.Go(func() error {
			routes[i], errs[i] = r.leg(ctx, pair)
			return nil
		})
	}
	return routes, errs, errors.Join(group.Wait(), ctx.Err())
}

// Way is how long the road between two places is.
type Way struct {
	LengthM float64
	TimeS   float64 // 0 where the router does not say
}

// Ways is Routes where only length and time count. What a road begins and ends
// off the places asked for is added to it, straight across.
func (r *Router) Ways(ctx context.Context, pairs []Pair) (ways []Way, errs []error, err error) {
	routes, errs, err := r.Routes(ctx, pairs)
	ways = make([]Way, len(pairs))
	for i, leg := range routes {
		if leg != nil {
			ways[i] = wayOf(leg, pairs[i])
		}
	}
	return ways, errs, err
}

func wayOf(leg *route.Route, pair Pair) Way {
	first, last := leg.Point(0), leg.Point(leg.Len()-1)
	offM := earth.DistanceM(pair.From.Lon(), pair.From.Lat(), first.Lon, first.Lat) + earth.DistanceM(last.Lon, last.Lat, pair.To.Lon(), pair.To.Lat())
	w := Way{LengthM: leg.LengthM() + offM}
	for i := range leg.Len() - 1 {
		w.TimeS += (leg.ChainageM(i+1) - leg.ChainageM(i)) / leg.Point(i).SpeedMS
	}
	if math.IsInf(w.TimeS, 1) {
		w.TimeS = 0
	}
	w.TimeS *= w.LengthM / leg.LengthM()
	return w
}

func (r *Router) leg(ctx context.Context, pair Pair) (*route.Route, error) {
	r.mu.Lock()
	leg := r.known[pair]
	r.mu.Unlock()
	if leg != nil {
		return leg, nil
	}
	leg, in := r.question(ctx, pair)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if in != nil {
		in.File = r.name
		in.Where = strings.TrimSuffix(fmt.Sprintf("from %s to %s, %s", showPoint(pair.From), showPoint(pair.To), in.Where), ", ")
		return nil, in
	}
	r.mu.Lock()
	r.known[pair] = leg
	r.mu.Unlock()
	return leg, nil
}

func showPoint(p orb.Point) string { return degrees(p.Lon()) + "," + degrees(p.Lat()) }

func (r *Router) question(ctx context.Context, pair Pair) (*route.Route, *fault.Input) {
	limited, cancel := context.WithTimeout(ctx, r.options.Timeout)
	defer cancel()
	a, in := r.ask(limited, pair.From, pair.To)
	if limited.Err() == context.DeadlineExceeded {
		return nil, &fault.Input{Expected: fmt.Sprintf("an answer within %s", r.options.Timeout), Err: context.DeadlineExceeded}
	}
	if in != nil {
		return nil, in
	}
	leg, err := read.Read(bytes.NewReader(a.content), r.name, read.Options{Format: a.format, MaxBytes: r.options.MaxBytes})
	if err != nil {
		var in *fault.Input
		if !errors.As(err, &in) {
			in = &fault.Input{Err: err}
		}
		return nil, in
	}
	leg.Credit = cmp.Or(a.credit, leg.Credit)
	leg, in = r.snapped(leg, pair)
	if in == nil && a.durationS > 0 {
		leg = withDuration(leg, a.durationS)
	}
	return leg, in
}

// snapped checks that a route begins and ends where it was asked for.
func (r *Router) snapped(leg *route.Route, pair Pair) (*route.Route, *fault.Input) {
	const worthTellingM = 200
	ends := []struct {
		name  string
		asked orb.Point
		got   route.Point
	}{{"begins", pair.From, leg.Point(0)}, {"ends", pair.To, leg.Point(leg.Len() - 1)}}
	for _, end := range ends {
		awayM := earth.DistanceM(end.asked.Lon(), end.asked.Lat(), end.got.Lon, end.got.Lat)
		if awayM > r.options.SnapM {
			in := &fault.Input{
				Found:    fmt.Sprintf("a route that %s %.1f km from the place asked for, at %s,%s", end.name, awayM/1000, degrees(end.got.Lon), degrees(end.got.Lat)),
				Expected: fmt.Sprintf("at most %.1f km", r.options.SnapM/1000),
			}
			if math.Abs(end.asked.Lon()) <= 90 && earth.DistanceM(end.asked.Lat(), end.asked.Lon(), end.got.Lon, end.got.Lat) <= r.options.SnapM {
				in.Expected += " (the template has longitude and latitude exchanged)"
			}
			return nil, in
		}
		if awayM > worthTellingM {
			leg = leg.WithNote(fmt.Sprintf("The router's road %s %.0f m from the place asked for.", end.name, awayM))
		}
	}
	return leg, nil
}

// withDuration gives every piece the mean speed of a route.
func withDuration(leg *route.Route, durationS float64) *route.Route {
	speedMS := leg.LengthM() / durationS
	const fastestMS = 70
	if speedMS > fastestMS {
		return leg.WithNote(fmt.Sprintf("The router's driving time of %.0f s is not used: it would need %.0f m/s.", durationS, speedMS))
	}
	return leg.WithSpeed(speedMS)
}

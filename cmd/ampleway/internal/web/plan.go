package web

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
)

// errInternal is all that a client hears of a fault of the program.
var errInternal = errors.New("the server failed on this; its log says how")

// planned is a plan with what the page says about its route.
type planned struct {
	answer.Journey
	note string
}

// depth says how much is worked out.
type depth bool

const (
	brief depth = false // the plan alone, while a control is moving
	full  depth = true  // with what to do when things go otherwise
)

// inputs are the files of a question, read when it is its turn.
type inputs struct {
	route *route.Route
	car   *energy.Car
	note  string
}

// asked is all that a plan follows from, but the stations.
type asked struct {
	inputs
	read    func() (inputs, error)
	reverse bool
	ask     question.Question
	depth   depth
}

// plan answers a question of the page.
func (s *Server) plan(ctx context.Context, a Ask, depth depth) (planned, error) {
	read := func() (in inputs, err error) {
		if in.route, in.note, err = s.route(a); err == nil {
			in.car, err = s.car(a.Car)
		}
		return in, err
	}
	ask := a.Question
	if !ask.Back {
		ask.Stay = nil // the boxes of the form, which are for the way back
	}
	return s.compute(ctx, asked{read: read, reverse: a.Reverse, ask: ask, depth: depth})
}

// compute plans when it is this question's turn, within the time and the work
// allowed. Work that nobody waits for any more ends soon, and its place is free.
func (s *Server) compute(ctx context.Context, q asked) (planned, error) {
	ctx, cancel := context.WithTimeout(ctx, s.limits.Plan)
	defer cancel()
	place, err := s.gate.enter(ctx, clientOf(ctx))
	if err != nil {
		return planned{}, s.counted(err)
	}
	type result struct {
		planned
		err error
	}
	done := make(chan result, 1)
	go func() {
		defer place.leave()
		var out result
		defer func() {
			if fault := recover(); fault != nil {
				s.log.Error("plan", "panic", fmt.Sprint(fault), "stack", string(debug.Stack()))
				out = result{planned{}, errInternal}
			}
			done <- out
		}()
		if ctx.Err() == nil {
			out.planned, out.err = s.work(ctx, q, place)
		}
	}()
	select {
	case out := <-done:
		if out.JourneyPlan == nil && out.err == nil {
			out.err = ctx.Err()
		}
		if out.err != nil {
			out.planned = planned{}
		}
		return out.planned, s.counted(out.err)
	case <-ctx.Done():
		return planned{}, s.counted(ctx.Err())
	}
}

// Work is counted by how often the planner asks whether to stop, every 50 to
// 100 µs.
const (
	mostWork = 50_000 // for one question: a few seconds of processor time
	giveWay  = 100    // after so much the place goes to those who wait
)

// budget ends work with its context or once mostWork is done, and gives way now
// and then.
func budget(ctx context.Context, p *place) func() error {
	asked := 0
	return func() error {
		if asked++; asked > mostWork {
			return errSlow
		}
		if err := ctx.Err(); err != nil || asked%giveWay != 0 {
			return err
		}
		return p.giveWay(ctx)
	}
}

func (s *Server) work(ctx context.Context, q asked, p *place) (out planned, err error) {
	if q.inputs, err = q.read(); err != nil {
		return out, err
	}
	out.note = q.note
	itinerary := trip.Itinerary{Routes: []*route.Route{q.route}, Reverse: q.reverse, Stations: s.config.Stations}
	journey, err := itinerary.Journey(q.car, q.ask)
	if err != nil {
		return out, err
	}
	out.JourneyPlan, err = journey.PlanWith(ctx, &stops.Planner{Stop: budget(ctx, p)}, trip.PlanOptions{Assured: q.depth == full})
	return out, err
}

// counted turns a run out of time into errSlow and counts how a plan ended.
func (s *Server) counted(err error) error {
	if errors.Is(err, context.DeadlineExceeded) {
		err = errSlow
	}
	s.metrics.plans.WithLabelValues(outcome(err)).Inc()
	return err
}

func outcome(err error) string {
	var input *fault.Input
	switch {
	case err == nil:
		return "planned"
	case errors.Is(err, stops.ErrNoPlan):
		return "no_plan"
	case errors.As(err, &input):
		return "bad_input"
	case errors.Is(err, errFull), errors.Is(err, errTooMany):
		return "turned_away"
	case errors.Is(err, errSlow):
		return "too_slow"
	case errors.Is(err, context.Canceled):
		return "cancelled"
	}
	return "failed"
}

// route finds the route that a question names.
func (s *Server) route(a Ask) (*route.Route, string, error) {
	if text, ok := strings.CutPrefix(a.Route, linePrefix); ok {
		r, err := fromLine(text, a.RouteName)
		return r, "", err
	}
	if strings.HasPrefix(a.Route, filePrefix) {
		if r, ok := s.store.get(a.Route); ok {
			return r, "", nil
		}
		return nil, "", errForgotten
	}
	for _, named := range s.config.Routes {
		if named.ID == a.Route {
			return named.Route, named.Note, nil
		}
	}
	var names []string
	for _, named := range s.config.Routes {
		names = append(names, named.ID)
	}
	return nil, "", &fault.Input{Field: "route", Found: a.Route, Expected: "one of " + strings.Join(append(names, "a dropped file"), ", ")}
}

func (s *Server) car(id string) (*energy.Car, error) {
	i := slices.IndexFunc(s.config.Cars, func(c NamedCar) bool { return c.ID == id })
	if i < 0 {
		var names []string
		for _, c := range s.config.Cars {
			names = append(names, c.ID)
		}
		return nil, &fault.Input{Field: "car", Found: id, Expected: "one of " + strings.Join(names, ", ")}
	}
	return s.config.Cars[i].Car, nil
}

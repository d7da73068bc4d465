package trip

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/place"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"

	"github.com/paulmach/orb"
)

// Itinerary is where a journey leads: its roads in their order, the stations
// beside them, and places to name their ends by.
type Itinerary struct {
	Routes   []*route.Route
	Reverse  bool // all of them the other way, the last first
	Stations *stations.Index
	Places   *place.List // nil: none
}

// Journey is the journey of a car that a question asks for. Without a stay the
// routes are driven one after the other; with stays there is one after each of
// them but the last, and one before the way back.
func (it *Itinerary) Journey(car *energy.Car, q question.Question) (*Journey, error) {
	stays, err := staysOf(&q, len(it.Routes))
	if err != nil {
		return nil, err
	}
	roads, err := it.roads(len(q.Stay) > 0)
	if err != nil {
		return nil, err
	}
	j := &Journey{Stays: stays}
	add := func(r *route.Route, ask question.Question) error {
		drive, goal, err := Prepare(r, it.Stations, car, ask)
		if len(j.Drives) == 0 {
			j.Goal = goal
		}
		j.Drives, j.temps = append(j.Drives, drive), append(j.temps, goal.TempByHour)
		return err
	}
	for i, r := range roads {
		ask := q
		if i > 0 {
			ask.StartName = ""
		}
		if i < len(roads)-1 {
			ask.EndName = ""
		}
		if err := add(r, it.named(r, ask)); err != nil {
			return nil, err
		}
	}
	if !q.Back {
		return j, nil
	}
	whole, err := route.Join(roads...)
	if err != nil {
		return nil, err
	}
	return j, add(WayBack(whole), it.named(whole, q).WayBack())
}

// roads are the routes as they are driven: each a drive of its own, or joined.
func (it *Itinerary) roads(apart bool) ([]*route.Route, error) {
	roads := slices.Clone(it.Routes)
	if it.Reverse {
		slices.Reverse(roads)
		for i := range roads {
			roads[i] = roads[i].Reverse()
		}
	}
	if apart {
		return roads, nil
	}
	whole, err := route.Join(roads...)
	return []*route.Route{whole}, err
}

// staysOf gives one stay after each drive but the last.
func staysOf(q *question.Question, routes int) ([]Stay, error) {
	if len(q.Stay) == 0 && q.Back {
		return []Stay{{}}, nil
	}
	want := routes - 1
	if q.Back {
		want = routes
	}
	if len(q.Stay) > 0 && len(q.Stay) != want {
		return nil, &fault.Input{Field: "stay", Found: fmt.Sprint(len(q.Stay)), Expected: fmt.Sprintf("%d, one after each drive but the last", want)}
	}
	stays := make([]Stay, len(q.Stay))
	for i, text := range q.Stay {
		stay, err := ParseStay(text)
		if err != nil {
			return nil, err
		}
		stays[i] = stay
	}
	return stays, nil
}

// named names the start and the destination of a drive by the places there.
func (it *Itinerary) named(r *route.Route, ask question.Question) question.Question {
	const withinM = 3000.0
	if it.Places == nil {
		return ask
	}
	for _, end := range []struct {
		chainageM float64
		name      *string
	}{{0, &ask.StartName}, {r.LengthM(), &ask.EndName}} {
		at := r.At(end.chainageM)
		if p, found := it.Places.Nearest(orb.Point{at.Lon, at.Lat}, withinM); found && *end.name == "" {
			*end.name = p.Name
		}
	}
	return ask
}

// Case is one car on one day in a comparison.
type Case struct {
	Car *energy.Car
	Ask question.Question
}

// Compared is a case with its plan, or why there is none.
type Compared struct {
	Case
	Journey *Journey
	Plan    *JourneyPlan
	NoPlan  *NoPlan // set where Plan is nil
}

// Compare plans the journey of every case, in their order. The error is about
// a question that makes no sense; a journey that cannot be made is a result.
func (it *Itinerary) Compare(ctx context.Context, planner *stops.Planner, cases []Case, o PlanOptions) ([]Compared, error) {
	o.answers = &answers{known: map[Ends]answer{}}
	out := make([]Compared, len(cases))
	for i, c := range cases {
		out[i].Case = c
		j, err := it.Journey(c.Car, c.Ask)
		if err != nil {
			return nil, err
		}
		out[i].Journey = j
		out[i].Plan, err = j.PlanWith(ctx, planner, o)
		if err != nil && !errors.As(err, &out[i].NoPlan) {
			return nil, err
		}
	}
	return out, nil
}

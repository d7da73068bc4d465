package main

import (
	"fmt"
	"io"
	"slices"

	"ampleway/cmd/ampleway/internal/report"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"

	"github.com/spf13/cobra"
)

// parseStays gives one stay after each drive but the last; the way back follows the
// stay at the last route's end.
func parseStays(q *question.Question, routes int) ([]trip.Stay, error) {
	want := routes - 1
	if q.Back {
		want++
	}
	if q.Back && len(q.Stay) == 0 && routes == 1 {
		return []trip.Stay{{}}, nil
	}
	if len(q.Stay) != want {
		return nil, &usageError{fmt.Errorf("%d --stay for %d --route: expected %d, one after each drive but the last", len(q.Stay), routes, want)}
	}
	stays := make([]trip.Stay, len(q.Stay))
	for i, text := range q.Stay {
		stay, err := trip.ParseStay(text)
		if err != nil {
			return nil, err
		}
		stays[i] = stay
	}
	return stays, nil
}

func (o *tripOptions) runVisit(c *cobra.Command, units question.Units) error {
	write, err := report.ForVisit(o.format)
	if err != nil {
		return &usageError{err}
	}
	in, err := o.read(c)
	if err != nil {
		return err
	}
	visit, err := o.prepareVisit(c, in)
	if err != nil {
		return err
	}
	planner := &stops.Planner{Stop: c.Context().Err}
	plan, err := visit.Plan(planner)
	if err != nil {
		return noPlan(c.ErrOrStderr(), err, units)
	}
	if err := plan.Assure(planner, trip.AssureOptions{}); err != nil {
		return err
	}
	ro := report.Options{Units: units, Color: colorful(c.OutOrStdout(), o.output), Note: in.note, Rows: o.legs}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, plan, ro) })
}

func (o *tripOptions) prepareVisit(c *cobra.Command, in inputs) (*trip.Visit, error) {
	stays, err := parseStays(&o.ask, len(in.routes))
	if err != nil {
		return nil, err
	}
	visit := &trip.Visit{Stays: stays}
	add := func(r *route.Route, ask question.Question) error {
		drive, goal, err := trip.Prepare(r, in.index, in.car, in.nameEnds(r, ask))
		if len(visit.Drives) == 0 {
			visit.Goal = goal
		}
		visit.Drives = append(visit.Drives, drive)
		return err
	}
	if o.reverse {
		slices.Reverse(in.routes)
		for i := range in.routes {
			in.routes[i] = in.routes[i].Reverse()
		}
	}
	for _, r := range in.routes {
		if err := add(r, o.ask); err != nil {
			return nil, err
		}
	}
	if o.ask.Back {
		whole, err := route.Join(in.routes...)
		if err != nil {
			return nil, err
		}
		if err := add(trip.WayBack(whole), in.nameEnds(whole, o.ask).WayBack()); err != nil {
			return nil, err
		}
	}
	return visit, nil
}

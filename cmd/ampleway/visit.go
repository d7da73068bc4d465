package main

import (
	"fmt"
	"io"
	"slices"

	"ampleway/cmd/ampleway/internal/report"
	"ampleway/route"
	"ampleway/route/stops"
	"ampleway/route/trip"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// visitOptions are the options of a trip of several drives with stays.
type visitOptions struct {
	back  bool
	stays []string

	backTemp, backWind *float64
	backWindFrom       *float64
}

func (o *visitOptions) add(f *pflag.FlagSet) {
	f.BoolVar(&o.back, "back", false, "plan the way back too, on the same road")
	f.StringArrayVar(&o.stays, "stay", nil, "time at the end of a drive and what to plug into: \"6h level2:40\"; plugs: none, level1, level2:BREAKER, dc:KW (repeatable, one after each --route)")
	f.Var(optionalFloat{&o.backTemp}, "back-temp", "air temperature on the way back (default: the same)")
	f.Var(optionalFloat{&o.backWind}, "back-wind", "wind speed on the way back (default: the same)")
	f.Var(bearing{optionalFloat{&o.backWindFrom}}, "back-wind-from", "where the wind comes from on the way back (default: the same)")
}

func (o *visitOptions) given() bool { return o.back || len(o.stays) > 0 }

// parse gives one stay after each drive but the last; the way back follows the
// stay at the last route's end.
func (o *visitOptions) parse(routes int) ([]trip.Stay, error) {
	want := routes - 1
	if o.back {
		want++
	}
	if o.back && len(o.stays) == 0 && routes == 1 {
		return []trip.Stay{{}}, nil
	}
	if len(o.stays) != want {
		return nil, &usageError{fmt.Errorf("%d --stay for %d --route: expected %d, one after each drive but the last", len(o.stays), routes, want)}
	}
	stays := make([]trip.Stay, len(o.stays))
	for i, text := range o.stays {
		stay, err := trip.ParseStay(text)
		if err != nil {
			return nil, err
		}
		stays[i] = stay
	}
	return stays, nil
}

// askBack is the request for the way back: its own weather where given.
func (o *visitOptions) askBack(unit *unitsFlag, ask trip.Request) trip.Request {
	if o.backTemp != nil {
		ask.TempC = unit.temp(*o.backTemp)
	}
	if o.backWind != nil {
		ask.WindKMH = unit.speed(*o.backWind)
	}
	if o.backWindFrom != nil {
		ask.WindFromDeg = o.backWindFrom
	}
	return ask
}

func (o *tripOptions) runVisit(c *cobra.Command, units trip.Units) error {
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
	stays, err := o.visit.parse(len(in.routes))
	if err != nil {
		return nil, err
	}
	visit := &trip.Visit{Stays: stays}
	add := func(r *route.Route, ask trip.Request) error {
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
	if o.visit.back {
		whole, err := route.Join(in.routes...)
		if err != nil {
			return nil, err
		}
		back, ask := trip.WayBack(whole, in.nameEnds(whole, o.visit.askBack(&o.unit, o.ask)))
		if err := add(back, ask); err != nil {
			return nil, err
		}
	}
	return visit, nil
}

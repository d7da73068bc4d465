package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"

	"github.com/spf13/cobra"
)

// tripOptions is the command line of ampleway trip.
type tripOptions struct {
	routes, stations []string
	car              string
	aliases          []string
	reverse, legs    bool
	visit            visitOptions
	format, output   string
	unit             unitsFlag
	ask              trip.Request
}

func newTripCommand() *cobra.Command {
	o := &tripOptions{ask: trip.NewRequest()}
	c := &cobra.Command{
		Use:   "trip",
		Short: "Plan one trip: where to stop, how long, and what is left on arrival",
		Long: `Plan one trip: where to stop, how long, and what is left on arrival.

Without a route, the trip of the demo is planned: an invented place with
invented roads, stations and cars. With your own:

  ampleway trip --route drive.gpx --stations stations.csv --car mid-size-sedan

The route is GPX, GeoJSON or an encoded polyline; stations are read from the
forms that "ampleway stations" lists; a car is one of the built-in classes or
a car file ("ampleway car").`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	o.addFlags(c)
	return c
}

func (o *tripOptions) addFlags(c *cobra.Command) {
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.routes, "route", nil, "route file; - is standard input; several are driven one after the other")
	f.StringArrayVar(&o.stations, "stations", nil, "station file (repeatable)")
	f.StringVar(&o.car, "car", "mid-size-sedan", "built-in car or car file")
	f.StringArrayVar(&o.aliases, "alias", nil, "what a connector name in the data means: TOKEN=j3400 (repeatable)")
	f.BoolVar(&o.reverse, "reverse", false, "drive the route the other way")
	f.StringVar(&o.format, "format", "text", "output: "+strings.Join(report.Formats(), ", "))
	f.StringVarP(&o.output, "output", "o", "", "write to this file; it appears only when complete")
	f.BoolVar(&o.legs, "legs", false, "also list the legs, in the text")
	o.unit.add(f)
	o.visit.add(f)
	requestFlags(f, &o.ask)
}

func (o *tripOptions) run(c *cobra.Command) error {
	write, err := report.For(o.format)
	if err != nil {
		return &usageError{err}
	}
	units, err := o.unit.units()
	if err != nil {
		return err
	}
	if o.visit.given() {
		return o.runVisit(c, units)
	}
	drive, goal, note, err := o.prepare(c)
	if err != nil {
		return err
	}
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		return noPlan(c.ErrOrStderr(), err, units)
	}
	ro := report.Options{Units: units, Color: colorful(c.OutOrStdout(), o.output), Note: note, Rows: o.legs}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, plan, ro) })
}

// inputs are the files that the command line names.
type inputs struct {
	routes []*route.Route
	index  *stations.Index
	car    *energy.Car
	note   string
}

// prepare reads the inputs and drives the routes one after the other.
func (o *tripOptions) prepare(c *cobra.Command) (*trip.Drive, trip.Goal, string, error) {
	in, err := o.read(c)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	r, err := route.Join(in.routes...)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	if o.reverse {
		r = r.Reverse()
	}
	drive, goal, err := trip.Prepare(r, in.index, in.car, o.ask)
	return drive, goal, in.note, err
}

// read reads what the command line names.
func (o *tripOptions) read(c *cobra.Command) (in inputs, err error) {
	if in.note, err = o.demo(c); err != nil {
		return in, err
	}
	reserveAlone(c.Flags(), &o.ask)
	o.unit.toMetric(c.Flags(), &o.ask)
	defer tell(c.ErrOrStderr(), "reading the route and the stations")()
	if in.routes, err = load.Routes(o.routes); err != nil {
		return in, err
	}
	if in.car, err = load.Car(o.car); err != nil {
		return in, err
	}
	aliases, err := stations.ParseAliases(o.aliases)
	if err != nil {
		return in, err
	}
	index, notes, err := load.Stations(o.stations, open.Options{Aliases: aliases})
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "ampleway: "+n)
	}
	in.index = index
	return in, err
}

// demo fills what is not given on the command line from the demo trip, where
// no route is given at all.
func (o *tripOptions) demo(c *cobra.Command) (note string, err error) {
	if len(o.routes) > 0 {
		if len(o.stations) == 0 {
			return "", &usageError{errors.New("--route needs --stations FILE, the charging stations to choose from")}
		}
		return "", nil
	}
	d, err := load.DemoTrip()
	if err != nil {
		return "", err
	}
	given := c.Flags().Changed
	if err := keepGiven(c.Flags(), &o.ask, d.Request); err != nil {
		return "", &usageError{err}
	}
	o.routes = []string{"demo:" + d.Corridor}
	if !given("stations") {
		o.stations = []string{"demo"}
	}
	if !given("car") {
		o.car = d.Car
	}
	return d.Note, nil
}

// noPlan prints why there is no plan, and passes every other error on.
func noPlan(errOut io.Writer, err error, units trip.Units) error {
	var why *trip.NoPlan
	if !errors.As(err, &why) {
		if errors.Is(err, stops.ErrNoPlan) {
			fmt.Fprintln(errOut, err)
			return errNoPlan
		}
		return err
	}
	report.NoPlan(errOut, why, units)
	return errNoPlan
}

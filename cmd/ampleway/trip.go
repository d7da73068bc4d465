package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
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

// prepare reads what the command line names.
func (o *tripOptions) prepare(c *cobra.Command) (*trip.Drive, trip.Goal, string, error) {
	note, err := o.demo(c)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	reserveAlone(c.Flags(), &o.ask)
	o.unit.toMetric(c.Flags(), &o.ask)
	defer tell(c.ErrOrStderr(), "reading the route and the stations")()
	r, err := load.Route(o.routes)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	if o.reverse {
		r = r.Reverse()
	}
	car, err := load.Car(o.car)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	aliases, err := stations.ParseAliases(o.aliases)
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	index, notes, err := load.Stations(o.stations, open.Options{Aliases: aliases})
	if err != nil {
		return nil, trip.Goal{}, "", err
	}
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "ampleway: "+n)
	}
	drive, goal, err := trip.Prepare(r, index, car, o.ask)
	return drive, goal, note, err
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

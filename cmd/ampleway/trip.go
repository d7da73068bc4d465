package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/place"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"
)

// tripOptions is the command line of ampleway trip.
type tripOptions struct {
	routes, stations []string
	car              string
	aliases          []string
	status           string
	reverse, legs    bool
	road             load.Road
	heights          []string
	detourQuestions  int
	cars             carList
	format, output   string
	unit             unitsFlag
	question         questionFlags
	ask              question.Question
}

func newTripCommand() *cobra.Command {
	o := &tripOptions{ask: question.New()}
	c := &cobra.Command{
		Use:   "trip",
		Short: "Plan one trip: where to stop, how long, and what is left on arrival",
		Long: `Plan one trip: where to stop, how long, and what is left on arrival.

Without a route, the trip of the demo is planned: an invented place with
invented roads, stations and cars. With your own:

  ampleway trip --route drive.gpx --stations stations.csv --car mid-size-sedan

The route is GPX, GeoJSON or an encoded polyline; stations are read from the
forms that "ampleway stations" lists; a car is one of the built-in classes or
a car file ("ampleway car").

Without a route file, a road router of your own can be asked for the road
between --from and --to. --router is a command, run without a shell, whose
output is a route, or a URL; both hold the places in braces:

  --router "my-router --lat1={from.lat} --lon1={from.lon} --lat2={to.lat} --lon2={to.lon}"
  --router "http://localhost:8080/way/{from.lonlat}/{to.lonlat}#line=routes.0.geometry"

What follows # is not sent: line= names the field with the route in a JSON
answer, format= says how to read it, duration_s= names the driving time,
credit= is whose the road data are, as in credit=OpenStreetMap.

The same router is asked for the detours to the stations that the plan names,
its stops and what they may be exchanged for, 3 questions a station and no
question twice. --detour-questions limits them. The other detours are
estimates, and so is one that the router does not give. With --route, --router
is for the detours alone. Plans with --back or --stay, and comparisons, take
estimates.`,
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
	f.StringVar(&o.status, "status", "", "file or URL in OCPI form that says which chargers work now, by site ID")
	f.BoolVar(&o.reverse, "reverse", false, "drive the route the other way")
	outputFlags(f, &o.format, &o.output, strings.Join(report.Formats(), ", ")+"; csv is a bare table, without the credits that licences of station data ask for")
	f.BoolVar(&o.legs, "legs", false, "also list the legs, in the text")
	o.unit.add(f)
	roadFlags(f, &o.road, &o.heights)
	f.IntVar(&o.detourQuestions, "detour-questions", trip.DefaultQuestions, "ask --router for the detours to stations, in at most so many questions; 0: estimate them all")
	under(f, "The road, the car and the stations", "route", "reverse", "stations", "car", "alias", "status", "from", "to", "via", "places", "router", "heights", "detour-questions")
	under(f, "What is written", "format", "output", "units", "legs")
	o.question.add(f)
	o.cars.add(f, &o.car)
}

func (o *tripOptions) run(c *cobra.Command) error {
	if o.detourQuestions < 0 {
		return &usageError{fmt.Errorf("--detour-questions %d: expected 0 or more", o.detourQuestions)}
	}
	o.format = formatOf(o.format, o.output, report.Formats())
	write, err := report.For(o.format)
	if err != nil {
		return &usageError{err}
	}
	units, err := o.unit.units()
	if err != nil {
		return err
	}
	visit := len(o.question.given["back"])+len(o.question.given["stay"]) > 0
	compare := o.question.several() || len(o.cars.more) > 0
	switch {
	case visit && compare:
		return &usageError{errors.New("several cars or figures can be compared for one drive only, without --back and --stay")}
	case visit:
		return o.runVisit(c, units)
	case compare:
		return o.runCompare(c, units)
	}
	drive, goal, note, err := o.prepare(c)
	if err != nil {
		return err
	}
	plan, err := o.plan(c, drive, goal)
	if err != nil {
		return noPlan(c.ErrOrStderr(), err, units)
	}
	ro := report.Options{Units: units, Color: colorful(c.OutOrStdout(), o.output), Note: note, Rows: o.legs}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, plan, ro) })
}

// plan plans and assures a trip, with the detours of the user's router where
// there is one.
func (o *tripOptions) plan(c *cobra.Command, drive *trip.Drive, goal trip.Goal) (*trip.Plan, error) {
	planner := stops.Planner{Stop: c.Context().Err}
	roads, err := o.road.Roads()
	if err != nil {
		return nil, err
	}
	if roads != nil && o.detourQuestions > 0 {
		defer tell(c.ErrOrStderr(), "asking the router for detours")()
		plan, err := drive.PlanAsking(c.Context(), &planner, goal, roads, trip.AskOptions{Questions: o.detourQuestions}, trip.AssureOptions{})
		if err == nil && plan.Drive.Corridor.Asked.Why != nil {
			fmt.Fprintln(c.ErrOrStderr(), "ampleway: a detour is an estimate:", plan.Drive.Corridor.Asked.Why)
		}
		return plan, err
	}
	plan, err := drive.Plan(&planner, goal)
	if err != nil {
		return nil, err
	}
	return plan, plan.Assure(&planner, trip.AssureOptions{})
}

// inputs are the files that the command line names.
type inputs struct {
	routes []*route.Route
	places *place.List // to name the ends of a drive by
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
	drive, goal, err := trip.Prepare(r, in.index, in.car, in.nameEnds(r, o.ask))
	return drive, goal, in.note, err
}

// read reads what the command line names.
func (o *tripOptions) read(c *cobra.Command) (in inputs, err error) {
	if in.note, err = o.demo(c); err != nil {
		return in, err
	}
	units, err := o.unit.units()
	if err != nil {
		return in, err
	}
	if err := o.question.set(&o.ask, units); err != nil {
		return in, err
	}
	defer tell(c.ErrOrStderr(), "reading the route and the stations")()
	if in.places, err = load.PlaceList(o.road.Places); err != nil {
		return in, err
	}
	if in.routes, err = o.readRoutes(c.Context()); err != nil {
		return in, err
	}
	if in.car, err = load.Car(o.car); err != nil {
		return in, err
	}
	aliases, err := stations.ParseAliases(o.aliases)
	if err != nil {
		return in, err
	}
	index, notes, err := load.StationsNow(c.Context(), o.stations, open.Options{Aliases: aliases}, o.status)
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "ampleway: "+n)
	}
	in.index = index
	return in, err
}

func (o *tripOptions) readRoutes(ctx context.Context) (routes []*route.Route, err error) {
	if o.road.Named() || o.road.Given() && len(o.routes) == 0 {
		var road *route.Route
		road, err = o.road.Find(ctx)
		routes = []*route.Route{road}
	} else {
		routes, err = load.Routes(o.routes)
	}
	if err != nil {
		return nil, err
	}
	return routes, load.Heights(routes, o.heights)
}

// nameEnds names the start and the destination of a drive by the places there.
func (in inputs) nameEnds(r *route.Route, ask question.Question) question.Question {
	const withinM = 3000.0
	for _, end := range []struct {
		chainageM float64
		name      *string
	}{{0, &ask.StartName}, {r.LengthM(), &ask.EndName}} {
		at := r.At(end.chainageM)
		if p, found := in.places.Nearest(orb.Point{at.Lon, at.Lat}, withinM); found && *end.name == "" {
			*end.name = p.Name
		}
	}
	return ask
}

// demo fills what is not given on the command line from the demo trip, where
// no route is given at all.
func (o *tripOptions) demo(c *cobra.Command) (note string, err error) {
	if len(o.routes) > 0 || o.road.Given() {
		if len(o.stations) == 0 {
			return "", &usageError{errors.New("a route needs --stations FILE, the charging stations to choose from")}
		}
		return "", nil
	}
	d, err := load.DemoTrip()
	if err != nil {
		return "", err
	}
	given := c.Flags().Changed
	o.ask = d.Question
	if given("arrive-by") && !given("depart") {
		o.ask.Depart = ""
	}
	o.routes = []string{"demo:" + d.Corridor}
	if !given("stations") {
		o.stations = []string{"demo"}
	}
	if !given("car") {
		o.car = d.Car
	}
	if !given("places") {
		o.road.Places = "demo"
	}
	return d.Note, nil
}

// noPlan prints why there is no plan, and passes every other error on.
func noPlan(errOut io.Writer, err error, units question.Units) error {
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

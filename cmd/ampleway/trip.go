package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/route/place"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"

	"github.com/spf13/cobra"
)

// tripOptions is the command line of ampleway trip.
type tripOptions struct {
	routes, stations []string
	aliases          []string
	status           string
	reverse, legs    bool
	road             input.Road
	heights          []string
	detourQuestions  int
	cars             []string
	answer           answerFlags
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
its stops and what they may be exchanged for, 3 questions per station and no
question twice. --detour-questions limits them. The other detours are
estimates, and so is one that the router does not give. With --route, --router
is for the detours alone.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return named(o.run(c)) },
	}
	o.addFlags(c)
	return c
}

func (o *tripOptions) addFlags(c *cobra.Command) {
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.routes, "route", nil, "route file; - is standard input; several are driven one after the other")
	f.StringArrayVar(&o.stations, "stations", nil, "station file (repeatable)")
	f.StringArrayVar(&o.cars, "car", []string{"mid-size-sedan"}, "built-in car or car file; several are compared")
	f.StringArrayVar(&o.aliases, "alias", nil, "what a connector name in the data means: TOKEN=j3400 (repeatable)")
	f.StringVar(&o.status, "status", "", "file or URL in OCPI form that says which chargers work now, by site ID")
	f.BoolVar(&o.reverse, "reverse", false, "drive the route the other way")
	o.answer.add(f, answer.Journey{}, "; csv is a bare table, without the credits that licences of station data ask for")
	f.BoolVar(&o.legs, "legs", false, "also list the legs, in the text")
	roadFlags(f, &o.road, &o.heights)
	f.IntVar(&o.detourQuestions, "detour-questions", trip.DefaultQuestions, "ask --router for the detours to stations, in at most so many questions; 0: estimate them all")
	under(f, "The road, the car and the stations", "route", "reverse", "stations", "car", "alias", "status", "from", "to", "via", "places", "router", "heights", "detour-questions")
	under(f, "What is written", "format", "output", "units", "legs")
	o.question.add(f, question.Rows())
}

func (o *tripOptions) run(c *cobra.Command) error {
	if o.detourQuestions < 0 {
		return &usageError{fmt.Errorf("--detour-questions %d: expected 0 or more", o.detourQuestions)}
	}
	if err := o.answer.check(answer.Journey{}); err != nil {
		return err
	}
	in, err := o.read(c)
	if err != nil {
		return err
	}
	asks, err := o.question.cases(o.ask, o.answer.units)
	if err != nil {
		return err
	}
	cases, err := o.cases(asks)
	if err != nil {
		return err
	}
	how, done, err := o.planOptions(c)
	if err != nil {
		return err
	}
	how.Assured = len(cases) == 1
	planner := &stops.Planner{Stop: c.Context().Err}
	plans, err := in.itinerary.Compare(c.Context(), planner, cases, how)
	done()
	if err != nil {
		return noPlan(c.ErrOrStderr(), err, o.answer.units)
	}
	var said answer.Subject = answer.Comparison(plans)
	if len(cases) == 1 {
		if plans[0].NoPlan != nil {
			return noPlan(c.ErrOrStderr(), plans[0].NoPlan, o.answer.units)
		}
		o.tellUnanswered(c, plans[0].Plan)
		said = answer.Journey{JourneyPlan: plans[0].Plan}
	}
	return o.answer.write(c, said, answer.Options{Note: in.note, Rows: o.legs})
}

// planOptions are the router of the user, where there is one, and whom to ask
// for detours; done ends what is told of it.
func (o *tripOptions) planOptions(c *cobra.Command) (how trip.PlanOptions, done func(), err error) {
	roads, err := o.road.Roads()
	if err != nil || roads == nil || o.detourQuestions == 0 {
		return how, func() {}, err
	}
	how.Roads, how.Asking.Questions = roads, o.detourQuestions
	return how, tell(c.ErrOrStderr(), "asking the router for detours"), nil
}

// cases are the cars, each with every question.
func (o *tripOptions) cases(asks []question.Question) (out []trip.Case, err error) {
	for _, name := range o.cars {
		car, err := input.Here.Car(name)
		if err != nil {
			return nil, err
		}
		for _, ask := range asks {
			out = append(out, trip.Case{Car: car, Ask: ask})
		}
	}
	return out, nil
}

// tellUnanswered says why a detour is an estimate although the router was asked.
func (o *tripOptions) tellUnanswered(c *cobra.Command, plan *trip.JourneyPlan) {
	for _, p := range plan.Plans {
		if asked := p.Drive.Corridor.Asked; asked != nil && asked.Why != nil {
			fmt.Fprintln(c.ErrOrStderr(), "ampleway: a detour is an estimate:", asked.Why)
		}
	}
}

// inputs are the files that the command line names.
type inputs struct {
	itinerary trip.Itinerary
	note      string
}

// read reads what the command line names.
func (o *tripOptions) read(c *cobra.Command) (in inputs, err error) {
	if in.note, err = o.demo(c); err != nil {
		return in, err
	}
	if err := o.question.set(&o.ask, o.answer.units); err != nil {
		return in, err
	}
	defer tell(c.ErrOrStderr(), "reading the route and the stations")()
	in.itinerary.Reverse = o.reverse
	if in.itinerary.Places, err = input.Here.Places(o.road.Places); err != nil {
		return in, err
	}
	if in.itinerary.Routes, err = o.readRoutes(c.Context(), in.itinerary.Places); err != nil {
		return in, err
	}
	aliases, err := stations.ParseAliases(o.aliases)
	if err != nil {
		return in, err
	}
	network, err := input.Here.Stations(c.Context(), o.stations, open.Options{Aliases: aliases}, o.status)
	remark(c, network.Notes())
	in.itinerary.Stations = network.Index
	return in, err
}

func (o *tripOptions) readRoutes(ctx context.Context, places *place.List) (routes []*route.Route, err error) {
	if o.road.Named() || o.road.Given() && len(o.routes) == 0 {
		var road *route.Route
		road, err = o.road.Find(ctx, places)
		routes = []*route.Route{road}
	} else {
		routes, err = input.Here.Routes(o.routes)
	}
	if err != nil {
		return nil, err
	}
	return routes, input.Heights(routes, o.heights)
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
	d, err := input.DemoTrip()
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
		o.cars = []string{d.Car}
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
	// What cannot be written to standard error is lost in any case.
	_ = answer.WriteText(errOut, answer.NoPlan(why, units, nil), false)
	return errNoPlan
}

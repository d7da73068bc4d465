package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"path/filepath"
	"strings"

	"ampleway/cmd/ampleway/internal/web"
	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/stations"
	"ampleway/stations/open"

	"github.com/spf13/cobra"
)

// serveOptions is the command line of ampleway serve.
type serveOptions struct {
	address                string
	beyondLoopback         bool
	routes, stations, cars []string
	aliases                []string
	tiles                  web.Tiles
	limits                 web.Limits
	mostMB                 int64
	logJSON                bool
}

func newServeCommand() *cobra.Command {
	o := &serveOptions{}
	c := &cobra.Command{
		Use:   "serve",
		Short: "Serve the page and the HTTP API on this machine",
		Long: `Serve the page and the HTTP API on this machine.

The page plans a trip and redraws it while you change it; its address holds
the plan. Without options it shows the demo, an invented place. With your own:

  ampleway serve --stations stations.csv --route north.gpx --car van.yaml

Routes can also be dropped on the page. Nothing is asked of any other host,
unless you name one for map pictures with --tiles. The server listens on this
machine alone; to let others in, give --addr with --beyond-loopback, and put
what your network needs (TLS, a password) in front of it.

The API is described at /openapi.json; /healthz, /readyz and /metrics are for
those who run it.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	o.addFlags(c)
	return c
}

func (o *serveOptions) addFlags(c *cobra.Command) {
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.address, "addr", "127.0.0.1:8765", "address to listen on; port 0 takes a free one")
	f.BoolVar(&o.beyondLoopback, "beyond-loopback", false, "allow an address that other machines reach")
	f.StringArrayVar(&o.routes, "route", nil, "route file to choose from (repeatable)")
	f.StringArrayVar(&o.stations, "stations", nil, "station file (repeatable)")
	f.StringArrayVar(&o.cars, "car", nil, "car file to choose from besides the built-in cars (repeatable)")
	f.StringArrayVar(&o.aliases, "alias", nil, "what a connector name in the data means: TOKEN=j3400 (repeatable)")
	f.StringVar(&o.tiles.URL, "tiles", "", "pictures under the map: http://HOST/{z}/{x}/{y}.png")
	f.StringVar(&o.tiles.Credit, "tiles-credit", "", "the attribution that the pictures' licence asks for")
	f.Int64Var(&o.mostMB, "most-mb", 16, "largest route file or request, MB")
	f.IntVar(&o.limits.Plans, "plans-at-once", 0, "plans worked on at once (default: one per processor)")
	f.IntVar(&o.limits.PerClient, "plans-per-client", 0, "plans of one address at once, waiting included (default 128)")
	f.BoolVar(&o.logJSON, "log-json", false, "log as JSON")
}

func (o *serveOptions) run(c *cobra.Command) error {
	if err := o.checkAddress(); err != nil {
		return &usageError{err}
	}
	config, err := o.config(c)
	if err != nil {
		return err
	}
	server, err := web.New(config)
	if err != nil {
		return err
	}
	listener, err := new(net.ListenConfig).Listen(c.Context(), "tcp", o.address)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.OutOrStdout(), "http://%s/\n", listener.Addr())
	return errors.Join(server.Serve(c.Context(), listener), c.Context().Err())
}

// checkAddress refuses an address that other machines reach, unless asked for.
func (o *serveOptions) checkAddress() error {
	host, _, err := net.SplitHostPort(o.address)
	if err != nil {
		return fmt.Errorf("--addr %q: expected HOST:PORT", o.address)
	}
	ip, err := netip.ParseAddr(host)
	if o.beyondLoopback || host == "localhost" || (err == nil && ip.IsLoopback()) {
		return nil
	}
	return fmt.Errorf("--addr %q is reached by other machines; add --beyond-loopback if that is meant", o.address)
}

// config reads what the command line names.
func (o *serveOptions) config(c *cobra.Command) (web.Config, error) {
	o.limits.BodyBytes = o.mostMB << 20
	handler := slog.Handler(slog.NewTextHandler(c.ErrOrStderr(), nil))
	if o.logJSON {
		handler = slog.NewJSONHandler(c.ErrOrStderr(), nil)
	}
	config := web.Config{Tiles: o.tiles, Limits: o.limits, Log: slog.New(handler), LoopbackOnly: !o.beyondLoopback}
	if len(o.routes) > 0 && len(o.stations) == 0 {
		return config, &usageError{errors.New("--route needs --stations FILE, the charging stations to choose from")}
	}
	demo := len(o.stations) == 0
	if demo {
		o.stations = []string{input.Demo}
	}
	if err := o.loadCars(&config); err != nil {
		return config, err
	}
	if err := o.loadStations(c, &config, demo); err != nil {
		return config, err
	}
	if demo {
		return config, demoStart(&config)
	}
	return config, o.loadRoutes(&config)
}

func (o *serveOptions) loadCars(config *web.Config) error {
	for _, name := range append(cars.Names(), o.cars...) {
		car, err := input.Here.Car(name)
		if err != nil {
			return err
		}
		config.Cars = append(config.Cars, web.NamedCar{ID: idOf(name), Car: car})
	}
	return nil
}

func (o *serveOptions) loadStations(c *cobra.Command, config *web.Config, demo bool) error {
	aliases, err := stations.ParseAliases(o.aliases)
	if err != nil {
		return err
	}
	network, err := input.Here.Stations(c.Context(), o.stations, open.Options{Aliases: aliases}, "")
	if err != nil {
		return err
	}
	remark(c, network.Notes())
	config.Stations = network.Index
	var names []string
	for _, path := range o.stations {
		names = append(names, filepath.Base(path))
	}
	config.About = fmt.Sprintf("%d from %s", network.Len(), strings.Join(names, ", "))
	if demo {
		config.About = fmt.Sprintf("%d of the demo, all invented, on an island that does not exist; start with --stations FILE for real ones", network.Len())
	}
	return nil
}

// demoStart offers the demo's corridors and begins with its trip.
func demoStart(config *web.Config) error {
	d, err := input.DemoTrip()
	if err != nil {
		return err
	}
	for _, name := range data.Corridors() {
		r, err := input.Here.Route("demo:" + name)
		if err != nil {
			return err
		}
		config.Routes = append(config.Routes, web.NamedRoute{ID: "demo-" + name, Route: r, Note: d.Note})
	}
	config.Start = web.Ask{Route: "demo-" + d.Corridor, Car: d.Car, Units: "metric", Question: d.Question}
	return nil
}

func (o *serveOptions) loadRoutes(config *web.Config) error {
	for _, path := range o.routes {
		r, err := input.Here.Route(path)
		if err != nil {
			return err
		}
		config.Routes = append(config.Routes, web.NamedRoute{ID: idOf(path), Route: r})
	}
	config.Start = web.Ask{Car: "mid-size-sedan", Units: "metric", Question: question.New()}
	if len(config.Routes) > 0 {
		config.Start.Route = config.Routes[0].ID
	}
	if len(o.cars) > 0 {
		config.Start.Car = idOf(o.cars[0])
	}
	return nil
}

// idOf is a file's name without folder and extension.
func idOf(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

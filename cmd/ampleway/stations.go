package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/nearby"
	"ampleway/data/fault"
	"ampleway/data/wording"
	"ampleway/route"
	"ampleway/route/input"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/stations/snapshot"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func newStationsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "stations",
		Short: "Import station data, check it, list what serves a route",
		Long: `Import station data, check it, list what serves a route.

It reads the project's own CSV and GeoJSON, OCPI 2.2.1 and 2.3.0 locations,
OpenStreetMap charging stations (GeoJSON, JSON, .osm, .osm.pbf), the United
States alternative fuel stations table, the French national static register,
and any other CSV through a column map (--map, see "ampleway stations map").
The form is found from the content; .gz and .zst are read directly.`,
		Args: cobra.NoArgs,
	}
	c.AddCommand(newStationsImportCommand(), newStationsCheckCommand(), newStationsNearCommand(), newStationsMapTopic())
	return c
}

// readFlags say how station files are read.
type readFlags struct {
	columnMap, source, licence string
	aliases                    []string
	assumed                    map[string]string
	noAssumed                  bool
}

func (r *readFlags) add(f *pflag.FlagSet) {
	f.StringVar(&r.columnMap, "map", "", "column map (YAML) for a CSV of any other register")
	f.StringVar(&r.source, "source", "", "name of the dataset, kept with every record")
	f.StringVar(&r.licence, "licence", "", "licence of the records")
	f.StringArrayVar(&r.aliases, "alias", nil, "what a connector name in the data means: TOKEN=j3400 (repeatable)")
	f.StringToStringVar(&r.assumed, "assume-kw", nil, "power of a plug where a table has none: CCS1=50,CHAdeMO=50")
	f.BoolVar(&r.noAssumed, "no-assumed-power", false, "leave power empty where a table has none")
}

func (r *readFlags) options() (open.Options, error) {
	o := open.Options{Source: r.source, Licence: r.licence}
	var err error
	if o.Aliases, err = stations.ParseAliases(r.aliases); err != nil {
		return o, err
	}
	if r.columnMap != "" {
		if o.Map, err = input.Read(input.Here, input.ColumnMaps, r.columnMap, open.ReadMap); err != nil {
			return o, err
		}
	}
	o.AssumedKW, err = r.assumedKW()
	return o, err
}

func (r *readFlags) assumedKW() (map[stations.ConnectorType]float64, error) {
	if r.noAssumed {
		return map[stations.ConnectorType]float64{}, nil
	}
	powers := open.DefaultAssumedKW()
	for name, text := range r.assumed {
		connector, ok := stations.ConnectorFor(name)
		var kw float64
		if n, err := fmt.Sscanf(text+"\n", "%g\n", &kw); !ok || n != 1 || err != nil || !(kw > 0) {
			return nil, &usageError{fmt.Errorf("--assume-kw %s=%s: expected a connector and its kW, such as CCS1=50", name, text)}
		}
		powers[connector] = kw
	}
	return powers, nil
}

type stationsImportOptions struct {
	read       readFlags
	output     string
	mergeM     float64
	keepDouble bool
}

func newStationsImportCommand() *cobra.Command {
	o := &stationsImportOptions{}
	c := &cobra.Command{
		Use:   "import FILE... -o SNAPSHOT",
		Short: "Read station files and write one snapshot (GeoParquet)",
		Long: `Read station files and write one snapshot: a GeoParquet file that loads at
once and that other tools open.

Records of different files are one station when they lie within --merge-within
of each other, their operators agree (the same but for case and punctuation, one
the beginning of the other, or one not known) and their highest powers differ by
no more than a tenth (or one is not known). The first file leads, the others
fill what it leaves open, and the snapshot keeps every record whole.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVarP(&o.output, "output", "o", "", "the snapshot; it appears only when complete")
	f.Float64Var(&o.mergeM, "merge-within", 100, "metres between records of different sources that can be one station")
	f.BoolVar(&o.keepDouble, "keep-duplicates", false, "merge nothing, and take apart what was merged before")
	o.read.add(f)
	return c
}

func (o *stationsImportOptions) run(c *cobra.Command, paths []string) error {
	options, err := o.read.options()
	if err != nil {
		return err
	}
	if o.output == "" {
		return &usageError{errors.New("--output is missing: expected the name of the snapshot")}
	}
	if !(o.mergeM > 0) {
		return &usageError{fmt.Errorf("--merge-within %g: expected metres above 0; --keep-duplicates merges nothing", o.mergeM)}
	}
	defer tell(c.ErrOrStderr(), "reading "+strings.Join(paths, ", "))()
	sites, reports, err := input.Here.Sites(paths, options)
	if err != nil {
		return err
	}
	unmerged := len(stations.Unmerge(sites))
	if o.keepDouble {
		sites = stations.Unmerge(sites)
	} else {
		sites = stations.MergeRule{DistanceM: o.mergeM}.Merge(sites)
	}
	for _, r := range reports {
		fmt.Fprintf(c.ErrOrStderr(), "%s: %s, %s, %s, %d rejected, %s\n", r.File, r.Format, wording.Count(r.Records, "record"), wording.Count(r.Sites, "station"), r.RejectCount, wording.Count(r.SuspectCount, "suspect value"))
	}
	defer tell(c.ErrOrStderr(), "writing "+o.output)()
	if err := writeTo(o.output, unscreened(c.OutOrStdout()), func(w io.Writer) error { return snapshot.Write(w, stations.Sites(sites)) }); err != nil {
		return err
	}
	fmt.Fprintf(c.ErrOrStderr(), "%s: %s, %d before merging\n", o.output, wording.Count(len(sites), "station"), unmerged)
	return nil
}

type stationsCheckOptions struct {
	read           readFlags
	format, output string
}

func newStationsCheckCommand() *cobra.Command {
	o := &stationsCheckOptions{}
	c := &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what station files hold, what cannot be used and what looks odd",
		Args:  cobra.MinimumNArgs(1),
		RunE:  func(c *cobra.Command, args []string) error { return o.run(c, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	outputFlags(f, &o.format, &o.output, "text or json (one object per file; a list for several)")
	o.read.add(f)
	return c
}

func (o *stationsCheckOptions) run(c *cobra.Command, paths []string) error {
	o.format = formatOf(o.format, o.output, []string{"json"})
	if o.format != "text" && o.format != "json" {
		return &usageError{fmt.Errorf("--format %q: expected text or json", o.format)}
	}
	options, err := o.read.options()
	if err != nil {
		return err
	}
	defer tell(c.ErrOrStderr(), "reading "+strings.Join(paths, ", "))()
	reports, err := check(paths, options)
	if err != nil {
		return err
	}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return writeReports(w, reports, o.format) })
}

// check reads files for what they hold. A snapshot is an error, as it holds only
// what was usable.
func check(paths []string, options open.Options) (reports []*open.Report, err error) {
	for _, path := range paths {
		_, report, err := input.Here.Sites([]string{path}, options)
		if err != nil {
			return nil, err
		}
		if len(report) == 0 {
			return nil, &fault.Input{File: path, Found: "a snapshot", Expected: "a station file as it was published; a snapshot holds only what was usable"}
		}
		reports = append(reports, report...)
	}
	return reports, nil
}

func writeReports(w io.Writer, reports []*open.Report, format string) error {
	if format == "json" && len(reports) != 1 {
		e := json.NewEncoder(w)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		return e.Encode(reports)
	}
	for _, r := range reports {
		write := r.WriteText
		if format == "json" {
			write = r.WriteJSON
		}
		if err := write(w); err != nil {
			return err
		}
	}
	return nil
}

type stationsNearOptions struct {
	read           readFlags
	routes, sites  []string
	connectors     []string
	filter         stations.Filter
	halfWidthKM    float64
	all, reverse   bool
	format, output string
}

func newStationsNearCommand() *cobra.Command {
	o := &stationsNearOptions{}
	c := &cobra.Command{
		Use:   "near --route FILE [--stations FILE]",
		Short: "List the stations that serve a route",
		Long: `List the stations that serve a route, in the order in which it passes them. A
station that is passed twice is listed twice. Distances off the road are
estimates from the straight line; which side of a divided road a station can be
entered from is known only where the data says so ("reach").

Without --stations the invented stations of the demo are used.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.routes, "route", nil, "route file; - is standard input; several are driven one after the other")
	f.StringArrayVar(&o.sites, "stations", nil, "station file or snapshot (repeatable)")
	f.BoolVar(&o.reverse, "reverse", false, "drive the route the other way")
	f.Float64Var(&o.halfWidthKM, "half-width", 5, "how far off the road a station may lie, km")
	f.StringSliceVar(&o.connectors, "connector", nil, "connectors that fit: CCS2,CHAdeMO (default: any)")
	f.BoolVar(&o.filter.DCOnly, "dc", false, "direct current only")
	f.Float64Var(&o.filter.MinPowerKW, "least-power", 0, "bays of at least this power, kW")
	f.IntVar(&o.filter.MinStalls, "least-bays", 0, "at least so many bays")
	f.BoolVar(&o.filter.Customers, "customer-sites", false, "also stations for customers or guests")
	f.BoolVar(&o.all, "all", false, "list also what is left out, with the reason")
	outputFlags(f, &o.format, &o.output, strings.Join(nearby.Formats(), ", "))
	o.read.add(f)
	return c
}

func (o *stationsNearOptions) run(c *cobra.Command) error {
	o.format = formatOf(o.format, o.output, nearby.Formats())
	write := nearby.For(o.format)
	if write == nil {
		return &usageError{fmt.Errorf("--format %q: expected one of %s", o.format, strings.Join(nearby.Formats(), ", "))}
	}
	if len(o.routes) == 0 {
		return &usageError{errors.New("--route is missing: expected a route file")}
	}
	if !(o.halfWidthKM > 0 && o.halfWidthKM <= 500) {
		return &usageError{fmt.Errorf("--half-width %g: expected km above 0, up to 500", o.halfWidthKM)}
	}
	options, err := o.read.options()
	if err != nil {
		return err
	}
	for _, name := range o.connectors {
		connector, _ := options.Aliases.ConnectorFor(name)
		o.filter.Accepts = append(o.filter.Accepts, connector)
	}
	o.filter.RejectAssumed = o.read.noAssumed
	defer tell(c.ErrOrStderr(), "reading the route and the stations")()
	routes, err := input.Here.Routes(o.routes)
	if err != nil {
		return err
	}
	r, err := route.Join(routes...)
	if err != nil {
		return err
	}
	if o.reverse {
		r = r.Reverse()
	}
	if len(o.sites) == 0 {
		o.sites = []string{input.Demo}
	}
	network, err := input.Here.Stations(c.Context(), o.sites, options, "")
	if err != nil {
		return err
	}
	remark(c, network.Notes())
	list := nearby.Find(r, network.Index, o.halfWidthKM*1000, o.filter, o.all)
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, list) })
}

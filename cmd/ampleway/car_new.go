package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/owner"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route/input"
	"ampleway/route/question"

	"github.com/spf13/cobra"
)

// carNewOptions is the command line of ampleway car new.
type carNewOptions struct {
	figures        energy.OwnerFigures
	like, rating   string
	massGiven      float64
	rangeGiven     float64
	perKm, perMile float64
	connectors     []string
	tables         []string
	find           []string
	assume         bool
	format, output string
	unit           unitsFlag
}

func newCarNewCommand() *cobra.Command {
	o := &carNewOptions{}
	c := &cobra.Command{
		Use:   "new",
		Short: "Make a car file from what its owner knows",
		Long: `Make a car file from what its owner knows: usable kWh, a rated range or
consumption, peak DC power, minutes from 10 to 80 %, mass. The car in the file
has exactly these figures; the rest comes from the built-in class that is
nearest in mass, or the one named by --like. What is missing is asked for on a
terminal.

  ampleway car new --name "our car" --usable-kwh 64 --mass 1800 \
      --rated-range 400 --rated-on wltp --peak-kw 110 --minutes-10-80 32 -o our-car.yaml

Two tables of the US government know many cars: the test car list of the EPA
(coast-down coefficients, measured consumption) and the fuel economy table
(rated range and consumption). Download them, and name the car by words:

  ampleway car new --table testcars.csv --table vehicles.csv \
      --find "maker model trim" -o our-car.yaml

Neither knows the usable kWh and the charging power: say them, or let
--assume take the stated assumption.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.figures.Name, "name", "", "name of the car")
	f.Float64Var(&o.figures.UsableKWh, "usable-kwh", 0, "battery energy between 0 and 100 %, kWh")
	f.Float64Var(&o.massGiven, "mass", 0, "mass with the driver, kg")
	f.Float64Var(&o.rangeGiven, "rated-range", 0, "rated range, km")
	f.Float64Var(&o.perKm, "kwh-per-100km", 0, "rated consumption at the outlet, kWh/100 km")
	f.Float64Var(&o.perMile, "kwh-per-100mi", 0, "rated consumption at the outlet, kWh/100 mi")
	f.StringVar(&o.rating, "rated-on", "", "what it is rated on: us (the US label), wltp, or hwfet (bare highway test) (default us)")
	f.Float64Var(&o.figures.PeakKW, "peak-kw", 0, "most DC charging power, kW")
	f.Float64Var(&o.figures.Minutes10to80, "minutes-10-80", 0, "DC charging time from 10 to 80 %, minutes")
	f.StringSliceVar(&o.connectors, "connector", nil, "the car's inlets: CCS2,Type 2 (default: as the class)")
	f.StringVar(&o.like, "like", "", "built-in car or car file that says the rest (default: the class nearest in mass)")
	f.StringArrayVar(&o.tables, "table", nil, "government table, CSV (repeatable)")
	f.StringArrayVar(&o.find, "find", nil, "words that find the car in the table; once for all tables, or once for each in their order")
	f.BoolVar(&o.assume, "assume", false, "take the stated assumption for what is missing instead of asking")
	f.StringVar(&o.format, "format", "yaml", "output: yaml or json")
	f.StringVarP(&o.output, "output", "o", "", "write to this file; it appears only when complete")
	o.unit.add(f)
	return c
}

func (o *carNewOptions) run(c *cobra.Command) error {
	write, err := o.writer()
	if err != nil {
		return err
	}
	if err := o.gather(c); err != nil {
		return err
	}
	if err := o.complete(c); err != nil {
		return err
	}
	car, words, err := energy.NewCar(o.figures)
	if err != nil {
		return err
	}
	words = append(words, o.plugs(car))
	for _, w := range words {
		fmt.Fprintln(c.ErrOrStderr(), w)
	}
	car.Note = strings.Join(words, "; ")
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, car) })
}

// plugs gives the car the inlets that were named and says where they are from.
func (o *carNewOptions) plugs(car *energy.Car) string {
	if len(o.connectors) > 0 {
		car.Connectors = o.connectors
		return "inlets " + strings.Join(car.Connectors, ", ") + ": as given; no adapter"
	}
	return fmt.Sprintf("inlets %s: assumed, as %q; look at the car, and name its own with --connector; no adapter", strings.Join(car.Connectors, ", "), o.figures.Like.Name)
}

func (o *carNewOptions) writer() (func(io.Writer, *energy.Car) error, error) {
	switch o.format {
	case "yaml":
		return energy.WriteCarYAML, nil
	case "json":
		return energy.WriteCarJSON, nil
	}
	return nil, &usageError{fmt.Errorf("--format %q: expected yaml or json", o.format)}
}

// gather takes what the command line and the tables say.
func (o *carNewOptions) gather(c *cobra.Command) error {
	units, err := o.unit.units()
	if err != nil {
		return err
	}
	if o.perKm != 0 && o.perMile != 0 {
		return &usageError{errors.New("--kwh-per-100km and --kwh-per-100mi say the same: give one")}
	}
	if n := len(o.find); len(o.tables) > 0 != (n > 0) || n > 1 && n != len(o.tables) {
		return &usageError{errors.New("--table FILE and --find TEXT go together: one --find for all tables, or one for each")}
	}
	f := &o.figures
	f.Rating = energy.Rating(o.rating)
	f.OutletKWhPer100km = o.perKm
	f.MassKg, f.RangeKm = question.Kilograms.Metric(o.massGiven, units), question.Kilometres.Metric(o.rangeGiven, units)
	if o.perMile != 0 {
		f.OutletKWhPer100km = energy.KWhPer100kmFrom100Miles(o.perMile)
	}
	if len(o.tables) > 0 {
		words, err := owner.FromTables(o.tables, o.find, f)
		if err != nil {
			return err
		}
		for _, w := range words {
			fmt.Fprintln(c.ErrOrStderr(), w)
		}
		if lacks := owner.Lacks(f); len(lacks) > 0 {
			fmt.Fprintln(c.ErrOrStderr(), "the tables lack: "+strings.Join(lacks, ", "))
		}
	}
	return nil
}

// complete asks for what is missing, or takes the assumption, and finds the
// car that says the rest.
func (o *carNewOptions) complete(c *cobra.Command) error {
	f := &o.figures
	if o.like != "" {
		like, err := input.Here.Car(o.like)
		if err != nil {
			return err
		}
		f.Like = like
	}
	switch {
	case o.assume:
		if words := f.AssumeUsable(); words != "" {
			fmt.Fprintln(c.ErrOrStderr(), words)
		}
	case owner.OnTerminal(c.InOrStdin()):
		if err := owner.Ask(c.InOrStdin(), c.ErrOrStderr(), f, o.unit.name == "us"); err != nil {
			return err
		}
	}
	if f.Name == "" {
		return missing("--name", "a name for the car")
	}
	if f.UsableKWh == 0 {
		return missing("--usable-kwh", "the usable energy in kWh (with --assume it is taken from a rated range and consumption)")
	}
	if f.Like != nil {
		return nil
	}
	if f.MassKg == 0 {
		return missing("--mass", "the mass with the driver, or --like")
	}
	like, err := energy.NearestClass(f.MassKg)
	f.Like = like
	return err
}

func missing(flag, expected string) error {
	return &fault.Input{Field: flag, Found: "nothing", Expected: expected}
}

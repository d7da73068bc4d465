package main

import (
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/carsheet"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route/input"
	"ampleway/route/question"

	"github.com/spf13/cobra"
)

func newCarCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "car",
		Short: "Show a car, make one from what its owner knows, fit one to a log",
		Long: `Show a car, make one from what its owner knows, fit one to a log.

A car is a file with units in its keys, or one of the built-in classes, which
are invented examples and not real cars:

  ` + strings.Join(cars.Names(), "\n  "),
		Args: cobra.NoArgs,
	}
	c.AddCommand(newCarShowCommand(), newCarNewCommand(), newCarFitCommand())
	return c
}

// carShowOptions is the command line of ampleway car show.
type carShowOptions struct {
	speeds, temps  []float64
	format, output string
	unit           unitsFlag
	conditions     energy.Conditions
	surface        string
	healthPct      float64
}

func newCarShowCommand() *cobra.Command {
	o := &carShowOptions{healthPct: 100}
	c := &cobra.Command{
		Use:   "show NAME|FILE",
		Short: "Print a car's range at speeds and temperatures, and how fast it charges",
		Long: `Print a car's range at speeds and temperatures, and how fast it charges: as
text with a chart, as JSON, or as a picture (-o car.svg).`,
		Args:      cobra.ExactArgs(1),
		ValidArgs: cars.Names(),
		RunE:      func(c *cobra.Command, args []string) error { return o.run(c, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64SliceVar(&o.speeds, "speeds", nil, "speeds, km/h (default 50,70,90,110,130)")
	f.Float64SliceVar(&o.temps, "temps", nil, "air temperatures, °C (default -20,-10,0,10,20,30,40)")
	f.StringArrayVar(&o.conditions.Extras, "carry", nil, "something the car carries or tows, as its car file names it: \"roof box\" (repeatable)")
	f.Float64Var(&o.conditions.PayloadKg, "payload", 0, "passengers besides the driver, and luggage, kg")
	f.StringVar(&o.surface, "surface", "dry", "state of the road: dry, wet, standing-water, snow or slush")
	f.BoolVar(&o.conditions.WinterTyres, "winter-tyres", false, "the car is on winter tyres")
	f.BoolVar(&o.conditions.ClimateOff, "no-climate", false, "no heating or cooling of the cabin")
	f.Float64Var(&o.healthPct, "battery-health", o.healthPct, "usable energy left of a new battery, %")
	outputFlags(f, &o.format, &o.output, strings.Join(carsheet.Formats(), ", "))
	o.unit.add(f)
	return c
}

func (o *carShowOptions) run(c *cobra.Command, name string) error {
	write, err := carsheet.For(formatOf(o.format, o.output, carsheet.Formats()))
	if err != nil {
		return &usageError{err}
	}
	units, err := o.unit.units()
	if err != nil {
		return err
	}
	car, err := input.Here.Car(name)
	if err != nil {
		return err
	}
	sheet, err := energy.NewSheet(car, o.sheet())
	if err != nil {
		return err
	}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, sheet, units) })
}

// sheet turns the options into SI units.
func (o *carShowOptions) sheet() energy.SheetOptions {
	units, _ := question.ParseUnits(o.unit.name)
	out := energy.SheetOptions{Conditions: o.conditions}
	for _, v := range o.speeds {
		out.SpeedsMS = append(out.SpeedsMS, question.KMPerHour.Metric(v, units)/3.6)
	}
	for _, v := range o.temps {
		out.TempsC = append(out.TempsC, question.Celsius.Metric(v, units))
	}
	out.Conditions.PayloadKg = question.Kilograms.Metric(out.Conditions.PayloadKg, units)
	out.Conditions.Surface = energy.Surface(o.surface)
	out.Conditions.StateOfHealth = o.healthPct / 100
	return out
}

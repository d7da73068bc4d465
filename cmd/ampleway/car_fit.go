package main

import (
	"fmt"
	"io"

	"ampleway/energy"
	"ampleway/energy/fit"
	"ampleway/route/input"

	"github.com/spf13/cobra"
)

// carFitOptions is the command line of ampleway car fit.
type carFitOptions struct {
	car, detail, format string
	output, write, name string
	read                fit.LogOptions
	modelled            bool
}

func newCarFitCommand() *cobra.Command {
	o := &carFitOptions{}
	c := &cobra.Command{
		Use:   "fit LOG.csv...",
		Short: "Fit a car to logged drives and DC charges",
		Long: `Fit a car to logged drives and DC charges, one CSV file each: the user factor
on traction energy, the auxiliaries and, where the drives can tell, rolling
resistance, drag, mass and regeneration, the spread from trip to trip, and the
charging curve. Every figure comes with its 95 % interval; every drive is
predicted by the fit to the others. Where the logs cannot tell, the fit is
refused with the reason.

  ampleway car fit drives/*.csv --car small-hatch --write our-car.yaml

Five drives or more, over slow and fast roads, make a good fit. Columns of a
log, named quantity_unit, in any order; a blank cell is "not recorded":

` + fit.ColumnHelp() + `
A drive needs time, speed and battery volts and amps (or power); a charge needs
time, state of charge and power. Other columns are ignored.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.car, "car", "small-hatch", "built-in car or car file that gives what is not fitted")
	f.StringVar(&o.detail, "detail", "auto", "what to fit: factor (traction factor and auxiliaries), full (the road load), or auto")
	f.BoolVar(&o.modelled, "model-climate", false, "take heating and cooling from the car's model even where they are recorded")
	f.BoolVar(&o.read.DischargePositive, "discharge-positive", false, "the logs count current and power out of the battery as positive")
	f.StringVar(&o.format, "format", "text", "output: text or json")
	f.StringVarP(&o.output, "output", "o", "", "write to this file; it appears only when complete")
	f.StringVar(&o.write, "write", "", "write the fitted car to this car file")
	f.StringVar(&o.name, "name", "", "name of the fitted car (default: that of --car, fitted)")
	return c
}

func (o *carFitOptions) run(c *cobra.Command, paths []string) error {
	write, err := o.writer()
	if err != nil {
		return err
	}
	detail, err := fit.ParseDetail(o.detail)
	if err != nil {
		return &usageError{err}
	}
	car, err := input.Here.Car(o.car)
	if err != nil {
		return err
	}
	logs, err := fit.ReadFiles(paths, o.read)
	if err != nil {
		return err
	}
	result, err := fit.Fit(logs, car, fit.Options{Detail: detail, ModelledClimate: o.modelled, Name: o.name})
	if err != nil {
		return err
	}
	if o.write != "" {
		if err := writeTo(o.write, c.OutOrStdout(), func(w io.Writer) error { return energy.WriteCarYAML(w, result.Car) }); err != nil {
			return err
		}
	}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(result, w) })
}

func (o *carFitOptions) writer() (func(*fit.Result, io.Writer) error, error) {
	switch o.format {
	case "text":
		return (*fit.Result).WriteText, nil
	case "json":
		return (*fit.Result).WriteJSON, nil
	}
	return nil, &usageError{fmt.Errorf("--format %q: expected text or json", o.format)}
}

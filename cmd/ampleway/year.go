package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
	"ampleway/route/trip"
	"ampleway/route/year"

	"github.com/spf13/cobra"
)

// yearOptions is the command line of ampleway year.
type yearOptions struct {
	load.Year
	format, output string
	unit           unitsFlag
}

func newYearCommand() *cobra.Command {
	o := &yearOptions{Year: load.Year{Year: 2026}}
	c := &cobra.Command{
		Use:   "year",
		Short: "Explain a year: charging at home plus fast stops on journeys",
		Long: `Explain a year of one household: how much energy comes from home, how many
hours go to fast chargers, what it costs by month, and how the same year would
be on a level 1 outlet, without charging at home, or in a fuel car.

Without a file, an invented household of the demo is shown. Your own is a YAML
file of the same form as data/demo/households.yaml, which explains every key.

Circuit figures are arithmetic, not a design: the local electrical code
applies and a licensed electrician decides.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.Households, "households", "", "file of households (default: the demo's)")
	f.StringVar(&o.Household, "household", "", "which household of the file")
	f.StringVar(&o.Tariffs, "tariffs", "", "file of tariffs (default: the demo's)")
	f.StringVar(&o.Climate, "climate", "", "file of the weather by month (default: the demo's)")
	f.StringArrayVar(&o.Stations, "stations", nil, "station file for the journeys (repeatable; default: the demo's)")
	f.Float64Var(&o.FastPrice, "fast-price", 0, "price of a kWh at a fast charger on ordinary days (default: the median of the stations)")
	f.IntVar(&o.Year.Year, "year", o.Year.Year, "calendar year, which decides the weekdays")
	outputFlags(f, &o.format, &o.output, strings.Join(yearFormats, ", "))
	o.unit.add(f)
	return c
}

func (o *yearOptions) run(c *cobra.Command) error {
	write, err := yearWriter(formatOf(o.format, o.output, yearFormats))
	if err != nil {
		return err
	}
	units, err := o.unit.units()
	if err != nil {
		return err
	}
	in, note, err := o.Inputs()
	if err != nil {
		return err
	}
	defer tell(c.ErrOrStderr(), "working out the year")()
	result, err := year.Work(in)
	var why *trip.NoPlan
	if errors.As(err, &why) {
		fmt.Fprintln(c.ErrOrStderr(), err)
		return errNoPlan
	}
	if err != nil {
		return err
	}
	ro := report.Options{Units: units, Color: colorful(c.OutOrStdout(), o.output), Note: note}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error { return write(w, result, ro) })
}

var yearFormats = []string{"text", "json", "html"}

func yearWriter(format string) (func(io.Writer, *year.Result, report.Options) error, error) {
	switch format {
	case "text":
		return report.YearText, nil
	case "json":
		return report.YearJSON, nil
	case "html":
		return report.YearHTML, nil
	}
	return nil, &usageError{fmt.Errorf("--format %q: expected one of %s", format, strings.Join(yearFormats, ", "))}
}

package main

import (
	"errors"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/cmd/ampleway/internal/carsheet"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/trip"

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
	speeds, temps []float64
	answer        answerFlags
	question      questionFlags
}

func newCarShowCommand() *cobra.Command {
	o := &carShowOptions{}
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
	o.answer.add(f, carsheet.Sheet{}, "")
	o.question.add(f, slices.DeleteFunc(slices.Clone(question.Rows()), func(r question.Row) bool {
		return r.Group != question.Weather && r.Group != question.Car || slices.Contains(notOnACarSheet, r.Key)
	}))
	return c
}

// notOnACarSheet are the rows of weather and car that belong to a day: a sheet
// has its temperatures in columns, and a battery that is warm.
var notOnACarSheet = []string{"temp_c", "temp_by_hour", "battery_temp_c", "warm_battery"}

func (o *carShowOptions) run(c *cobra.Command, name string) error {
	if err := o.answer.check(carsheet.Sheet{}); err != nil {
		return err
	}
	car, err := input.Here.Car(name)
	if err != nil {
		return err
	}
	options, err := o.sheet(o.answer.units)
	if err != nil {
		return err
	}
	sheet, err := energy.NewSheet(car, options)
	if err != nil {
		return err
	}
	return o.answer.write(c, carsheet.Sheet{Sheet: sheet}, answer.Options{})
}

// sheet turns the options into SI units.
func (o *carShowOptions) sheet(units question.Units) (out energy.SheetOptions, err error) {
	if o.question.several() {
		return out, &usageError{errors.New("one figure each is expected: a sheet compares speeds and temperatures alone")}
	}
	q := question.New()
	if err := o.question.set(&q, units); err != nil {
		return out, err
	}
	out.Conditions = trip.Conditions(&q)
	out.Conditions.SpeedCapMS = 0 // a sheet's speeds are its rows, on snow as well
	for _, r := range question.Rows() {
		if text := r.Told(&q, units); text != "" {
			out.Asked = append(out.Asked, text)
		}
	}
	for _, v := range o.speeds {
		out.SpeedsMS = append(out.SpeedsMS, question.KMPerHour.Metric(v, units)/3.6)
	}
	for _, v := range o.temps {
		out.TempsC = append(out.TempsC, question.Celsius.Metric(v, units))
	}
	return out, nil
}

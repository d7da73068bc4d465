package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/trip"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// add lets --car take several. It goes after the flag itself.
func (c *carList) add(f *pflag.FlagSet, car *string) {
	c.first = car
	flag := f.Lookup("car")
	flag.Value = c
	flag.Usage += "; several are compared"
}

// carList is --car: the first car, and those to compare it with.
type carList struct {
	first *string
	more  []string
	set   bool
}

func (c *carList) String() string {
	if c.first == nil {
		return ""
	}
	return *c.first
}

func (c *carList) Type() string { return "string" }

func (c *carList) Set(text string) error { return c.Append(text) }

// Append adds a car; the first given takes the place of the default.
func (c *carList) Append(text string) error {
	if c.set {
		c.more = append(c.more, text)
	} else {
		*c.first, c.set = text, true
	}
	return nil
}

// Replace puts other cars in the place of all.
func (c *carList) Replace(texts []string) error {
	*c.first, c.more, c.set = texts[0], slices.Clone(texts[1:]), true
	return nil
}

// GetSlice lists the cars.
func (c *carList) GetSlice() []string { return append([]string{*c.first}, c.more...) }

// runCompare plans one trip for every car at every temperature.
func (o *tripOptions) runCompare(c *cobra.Command, units question.Units) error {
	if !slices.Contains(report.ComparisonFormats(), o.format) {
		return &usageError{fmt.Errorf("--format %q: a comparison is one of %s", o.format, strings.Join(report.ComparisonFormats(), ", "))}
	}
	in, err := o.read(c)
	if err != nil {
		return err
	}
	r, err := route.Join(in.routes...)
	if err != nil {
		return err
	}
	if o.reverse {
		r = r.Reverse()
	}
	asks, err := o.question.cases(in.nameEnds(r, o.ask), units)
	if err != nil {
		return err
	}
	cases, err := o.cases(in.car, asks)
	if err != nil {
		return err
	}
	compared, err := trip.Compare(r, in.index, cases)
	if err != nil {
		return err
	}
	ro := report.Options{Units: units, Color: colorful(c.OutOrStdout(), o.output), Note: in.note}
	return writeTo(o.output, c.OutOrStdout(), func(w io.Writer) error {
		return report.Comparison(w, o.format, compared, r.Name, r.LengthM(), ro)
	})
}

// cases are the cars, each with every question.
func (o *tripOptions) cases(first *energy.Car, asks []question.Question) ([]trip.Case, error) {
	cars := []*energy.Car{first}
	for _, name := range o.cars.more {
		car, err := load.Car(name)
		if err != nil {
			return nil, err
		}
		cars = append(cars, car)
	}
	var out []trip.Case
	for _, car := range cars {
		for _, ask := range asks {
			out = append(out, trip.Case{Car: car, Ask: ask})
		}
	}
	return out, nil
}

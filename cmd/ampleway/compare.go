package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"ampleway/cmd/ampleway/internal/load"
	"ampleway/cmd/ampleway/internal/report"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/trip"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// compareOptions are the further cars and temperatures that a trip is planned
// for: --car given more than once, --temp with more than one figure.
type compareOptions struct {
	cars  carList
	temps tempList
}

// add lets --car and --temp take several. It goes after the flags themselves.
func (o *compareOptions) add(f *pflag.FlagSet, car *string, tempC *float64) {
	o.cars.first, o.temps.first = car, tempC
	for name, value := range map[string]pflag.Value{"car": &o.cars, "temp": &o.temps} {
		flag := f.Lookup(name)
		flag.Value = value
		flag.Usage += "; several are compared"
	}
}

func (o *compareOptions) given() bool { return len(o.cars.more)+len(o.temps.more) > 0 }

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

// tempList is --temp: -10,0,20, or one at a time.
type tempList struct {
	first *float64
	more  []float64
	set   bool
}

func (l *tempList) String() string {
	if l.first == nil {
		return ""
	}
	return strings.Join(l.GetSlice(), ",")
}

func (l *tempList) Type() string { return "float" }

func (l *tempList) Set(text string) error {
	var all []float64
	for _, part := range strings.Split(text, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return fmt.Errorf("%q is not a temperature", part)
		}
		all = append(all, v)
	}
	if !l.set {
		*l.first, all, l.set = all[0], all[1:], true
	}
	l.more = append(l.more, all...)
	return nil
}

// Append adds temperatures; the first given takes the place of the default.
func (l *tempList) Append(text string) error { return l.Set(text) }

// Replace puts other temperatures in the place of all.
func (l *tempList) Replace(texts []string) error {
	l.more, l.set = nil, false
	return l.Set(strings.Join(texts, ","))
}

// GetSlice lists the temperatures.
func (l *tempList) GetSlice() []string {
	var texts []string
	for _, v := range append([]float64{*l.first}, l.more...) {
		texts = append(texts, strconv.FormatFloat(v, 'g', -1, 64))
	}
	return texts
}

// runCompare plans one trip for every car at every temperature.
func (o *tripOptions) runCompare(c *cobra.Command, units trip.Units) error {
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
	cases, err := o.cases(in.car, units, in.nameEnds(r, o.ask))
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

// cases are the cars, each at every temperature.
func (o *tripOptions) cases(first *energy.Car, units trip.Units, ask trip.Request) ([]trip.Case, error) {
	cars := []*energy.Car{first}
	for _, name := range o.compare.cars.more {
		car, err := load.Car(name)
		if err != nil {
			return nil, err
		}
		cars = append(cars, car)
	}
	temps := []float64{ask.TempC}
	for _, t := range o.compare.temps.more {
		if units == trip.US {
			t = celsius(t)
		}
		temps = append(temps, t)
	}
	var out []trip.Case
	for _, car := range cars {
		for _, t := range temps {
			ask.TempC = t
			out = append(out, trip.Case{Car: car, Ask: ask})
		}
	}
	return out, nil
}

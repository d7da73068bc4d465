package main

import (
	"slices"

	"ampleway/energy"
	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/trip"

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

// cases are the cars, each with every question.
func (o *tripOptions) cases(first *energy.Car, asks []question.Question) ([]trip.Case, error) {
	cars := []*energy.Car{first}
	for _, name := range o.cars.more {
		car, err := input.Here.Car(name)
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

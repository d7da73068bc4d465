package main

import (
	"fmt"

	"ampleway/route/question"

	"github.com/spf13/pflag"
)

// unitsFlag is --units: what the options are given in and the text is written
// in. Files are always metric.
type unitsFlag struct{ name string }

func (u *unitsFlag) add(f *pflag.FlagSet) {
	f.StringVar(&u.name, "units", "metric", "units of the options and the text: metric, or us (miles, mph, °F, lb)")
}

func (u *unitsFlag) units() (question.Units, error) {
	units, known := question.ParseUnits(u.name)
	if !known {
		return units, &usageError{fmt.Errorf("--units %q: expected metric or us", u.name)}
	}
	return units, nil
}

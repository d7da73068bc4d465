package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// refuseUnknown makes every command that only holds others refuse a word that
// is none of them; alone it prints its help.
func refuseUnknown(c *cobra.Command) {
	for _, sub := range c.Commands() {
		refuseUnknown(sub)
	}
	if c.Runnable() || !c.HasSubCommands() {
		return
	}
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) > 0 {
			return &usageError{fmt.Errorf("unknown command %q for %q; see %s --help", args[0], c.CommandPath(), c.CommandPath())}
		}
		return c.Help()
	}
}

// hideEmptyDefaults keeps "(default [])" out of the help of every command. Of
// the kinds that the library itself knows to be empty it would make "(default )".
func hideEmptyDefaults(c *cobra.Command) {
	for _, sub := range c.Commands() {
		hideEmptyDefaults(sub)
	}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if known := []string{"stringSlice", "stringArray", "intSlice"}; f.DefValue == "[]" && !slices.Contains(known, f.Value.Type()) {
			f.DefValue = ""
		}
	})
}

// refuseRepeated makes every option that takes one value refuse a second: which
// of the two was meant is not for the program to guess.
func refuseRepeated(c *cobra.Command) {
	for _, sub := range c.Commands() {
		refuseRepeated(sub)
	}
	for _, flags := range []*pflag.FlagSet{c.Flags(), c.PersistentFlags()} {
		flags.VisitAll(func(f *pflag.Flag) {
			if _, list := f.Value.(pflag.SliceValue); !list {
				f.Value = &once{f.Value, f}
			}
		})
	}
}

// once is the value of a flag that may be given but once.
type once struct {
	pflag.Value
	flag *pflag.Flag
}

func (o *once) Set(text string) error {
	if o.flag.Changed {
		return fmt.Errorf("given twice, first as %q", o.String())
	}
	return o.Value.Set(text)
}

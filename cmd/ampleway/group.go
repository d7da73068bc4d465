package main

import (
	"fmt"

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

// hideEmptyDefaults keeps "(default [])" out of the help of every command.
func hideEmptyDefaults(c *cobra.Command) {
	for _, sub := range c.Commands() {
		hideEmptyDefaults(sub)
	}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if f.DefValue == "[]" {
			f.DefValue = ""
		}
	})
}

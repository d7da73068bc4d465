package main

import (
	"github.com/spf13/cobra"
)

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "ampleway",
		Short:         "Plan the fast-charge stops of a road trip and arrive with a reserve",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{err} })
	root.AddCommand(newCarCommand())
	root.AddCommand(newTripCommand())
	return root
}

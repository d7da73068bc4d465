package main

import (
	"strings"

	"github.com/spf13/cobra"
)

// flagsInHelp is where the library's help lists a command's options.
const flagsInHelp = "Flags:\n{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}"

// newRoot returns the command tree. started is called when the command line
// has been understood: an error before that is one of usage.
func newRoot(started func()) *cobra.Command {
	root := &cobra.Command{
		Use:   "ampleway",
		Short: "Plan the fast-charge stops of a road trip and arrive with a reserve",
		Long: `Plan the fast-charge stops of a road trip and arrive with a reserve.

Exit codes: 0 done; 1 failed; 2 the command line or an input is wrong;
3 the trip cannot be made; 130 interrupted, by Ctrl-C or SIGTERM, which end
every command within half a second and leave no file half written.`,
		SilenceErrors:    true,
		SilenceUsage:     true,
		PersistentPreRun: func(*cobra.Command, []string) { started() },
	}
	cobra.EnableCommandSorting = false
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{err} })
	root.AddCommand(
		newTripCommand(), newServeCommand(), newYearCommand(), newMarginsCommand(),
		newStationsCommand(), newCarCommand(), newVersionCommand(),
	)
	refuseUnknown(root)
	hideEmptyDefaults(root)
	cobra.AddTemplateFunc("headed", headed)
	root.SetUsageTemplate(strings.Replace(root.UsageTemplate(), flagsInHelp, "{{headed .LocalFlags}}", 1))
	refuseRepeated(root)
	return root
}

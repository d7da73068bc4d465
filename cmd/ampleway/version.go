package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func newVersionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version, the commit if the build knows it, and the Go release",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			info, ok := debug.ReadBuildInfo()
			_, err := fmt.Fprintln(c.OutOrStdout(), versionText(info, ok))
			return err
		},
	}
}

// versionText says what a build knows of itself; one without a version-control
// stamp says so.
func versionText(info *debug.BuildInfo, ok bool) string {
	version, commit := "unreleased", "commit not recorded"
	if ok {
		if v := info.Main.Version; v != "" && v != "(devel)" {
			version = v
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				commit = "commit " + s.Value
			}
			if s.Key == "vcs.modified" && s.Value == "true" {
				commit += ", changed"
			}
		}
	}
	return fmt.Sprintf("ampleway %s, %s, %s %s/%s", version, commit, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

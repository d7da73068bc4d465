package main

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"ampleway/cmd/ampleway/internal/notices"

	"github.com/spf13/cobra"
)

func newVersionCommand() *cobra.Command {
	licences := false
	c := &cobra.Command{
		Use:   "version",
		Short: "Print the version, the commit if the build knows it, and the Go release",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			info, ok := debug.ReadBuildInfo()
			text := versionText(info, ok) + "\n"
			if licences {
				text = notices.Text()
			}
			_, err := io.WriteString(c.OutOrStdout(), text)
			return err
		},
	}
	c.Flags().BoolVar(&licences, "licences", false, "print what is in this program, under which licences, with their texts")
	return c
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

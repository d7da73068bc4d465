package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func newManCommand() *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:   "man FOLDER",
		Short: "Write the manual into a folder, a page a command",
		Long: `Write the manual into a folder, a page a command: manual pages for man, or
Markdown. The folder is made where it is missing.

  ampleway man /usr/local/share/man/man1`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return writeManual(c.Root(), args[0], format) },
	}
	c.Flags().StringVar(&format, "format", "man", "man or markdown")
	return c
}

func writeManual(root *cobra.Command, folder, format string) error {
	if format != "man" && format != "markdown" {
		return &usageError{fmt.Errorf("--format: found %s: expected man or markdown", format)}
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	// The day of the build would change the pages from day to day.
	root.DisableAutoGenTag = true
	if format == "markdown" {
		return doc.GenMarkdownTree(root, folder)
	}
	return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "ampleway", Manual: "Ampleway"}, folder)
}

package main

import (
	"fmt"
	"io"
	"os"

	"github.com/google/renameio/v2"
	"golang.org/x/term"
)

// writeTo hands write standard output, or a file that appears under its name
// only when all of it is written.
func writeTo(path string, stdout io.Writer, write func(io.Writer) error) error {
	if path == "" || path == "-" {
		return write(stdout)
	}
	file, err := renameio.NewPendingFile(path, renameio.WithPermissions(0o644), renameio.WithExistingPermissions())
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	defer file.Cleanup()
	if err := write(file); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	if err := file.CloseAtomicallyReplace(); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

// colorful reports whether out is a terminal that may be coloured
// (https://no-color.org).
func colorful(out io.Writer, path string) bool {
	file, ok := out.(*os.File)
	return ok && path == "" && os.Getenv("NO_COLOR") == "" && term.IsTerminal(int(file.Fd()))
}

package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/whole"
	"ampleway/data/wording"
	"ampleway/route/question"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"
)

// outputFlags are the form of an output and its file; formatOf tells the form
// where it is not given.
func outputFlags(f *pflag.FlagSet, format, output *string, forms string) {
	f.StringVar(format, "format", "", "output: "+forms+" (default: by the ending of -o, else text)")
	f.StringVarP(output, "output", "o", "", "write to this file; it appears only when complete")
}

// answerFlags say how an answer is written: its form, its file and its units.
type answerFlags struct {
	format, output string
	unit           unitsFlag
	units          question.Units // set by check
}

// add makes the options; note follows the forms of the subject.
func (a *answerFlags) add(f *pflag.FlagSet, s answer.Subject, note string) {
	outputFlags(f, &a.format, &a.output, strings.Join(answer.Formats(s), ", ")+note)
	a.unit.add(f)
}

// check finds the form and the units before any work is done.
func (a *answerFlags) check(s answer.Subject) (err error) {
	a.format = formatOf(a.format, a.output, answer.Formats(s))
	if err := answer.Known(s, a.format); err != nil {
		return &usageError{err}
	}
	a.units, err = a.unit.units()
	return err
}

func (a *answerFlags) write(c *cobra.Command, s answer.Subject, o answer.Options) error {
	o.Units, o.Color = a.units, colorful(c.OutOrStdout(), a.output)
	return writeTo(a.output, c.OutOrStdout(), func(w io.Writer) error { return answer.Write(w, a.format, s, o) })
}

// formatOf is the format asked for, else the one that the ending of the output
// file names, else text. An ending that promises what no command writes is
// given back for the command to refuse: text would lie under that name.
func formatOf(format, path string, formats []string) string {
	if format != "" {
		return format
	}
	ending := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	if slices.Contains(formats, ending) || slices.Contains(unwritten, ending) {
		return ending
	}
	return "text"
}

// unwritten are endings of pictures and documents that no command writes.
var unwritten = []string{"png", "jpg", "jpeg", "pdf", "docx", "xlsx"}

// writeTo hands write standard output, or a file that appears under its name
// only when all of it is written. A symbolic link stays one: what it points to
// is replaced. A device or a pipe is written to as it is.
func writeTo(path string, stdout io.Writer, write func(io.Writer) error) error {
	if path == "" || path == "-" {
		return write(stdout)
	}
	if err := writeFile(path, write); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

func writeFile(path string, write func(io.Writer) error) error {
	if _, err := os.Lstat(path); err == nil {
		if path, err = filepath.EvalSymlinks(path); err != nil {
			return err
		}
		info, err := os.Stat(path)
		switch {
		case err != nil:
			return err
		case info.IsDir():
			return errors.New("it is a folder")
		case !info.Mode().IsRegular():
			return writeDevice(path, write)
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	folder := filepath.Dir(path)
	if _, err := os.Stat(folder); err != nil {
		return err
	}
	file, err := whole.Create(path, folder, 0o644)
	if err != nil {
		return err
	}
	defer file.Discard()
	defer unfinished.add(file.Name())()
	if err := write(file); err != nil {
		return err
	}
	return file.Keep()
}

// unfinished are the files that are being written, to be removed where the
// program ends before they are complete.
var unfinished pendingFiles

type pendingFiles struct {
	mu    sync.Mutex
	names []string
}

// add enters a file; done takes it out again.
func (p *pendingFiles) add(name string) (done func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.names = append(p.names, name)
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.names = slices.DeleteFunc(p.names, func(n string) bool { return n == name })
	}
}

// remove deletes them, and lets no other be entered or taken out.
func (p *pendingFiles) remove() {
	p.mu.Lock()
	for _, name := range p.names {
		os.Remove(name)
	}
}

func writeDevice(path string, write func(io.Writer) error) error {
	file, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	if err := write(file); err != nil {
		file.Close()
		return err
	}
	return file.Close()
}

// unscreened is standard output as it is, for what is no text.
func unscreened(out io.Writer) io.Writer {
	if screen, ok := out.(*wording.Screen); ok {
		return screen.Unwrap()
	}
	return out
}

// colorful reports whether out is a terminal that may be coloured
// (https://no-color.org).
func colorful(out io.Writer, path string) bool {
	file, ok := unscreened(out).(*os.File)
	return ok && path == "" && os.Getenv("NO_COLOR") == "" && term.IsTerminal(int(file.Fd()))
}

// Command ampleway plans the fast-charge stops of a road trip so that the car
// arrives with a chosen reserve.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"ampleway/data/fault"
	"ampleway/data/wording"
)

// Exit codes, listed in the help text.
const (
	exitOK          = 0
	exitFailed      = 1
	exitUsage       = 2
	exitNoPlan      = 3
	exitInterrupted = 130
)

// errNoPlan marks a run that worked but found that the trip cannot be made.
var errNoPlan = errors.New("no plan")

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	ended := context.AfterFunc(ctx, endSoon)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	ended()
	stop()
	os.Exit(code)
}

// endTime is how long work may take to end by itself once it is interrupted.
const endTime = 300 * time.Millisecond

// endSoon ends the program after endTime, whatever it is doing or waiting for.
// Files that are not complete are removed.
func endSoon() {
	time.Sleep(endTime)
	unfinished.remove()
	fmt.Fprintln(os.Stderr, interrupted)
	os.Exit(exitInterrupted)
}

const interrupted = "ampleway: interrupted"

// run is the whole program with its outside handed in.
func run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	understood := false
	root := newRoot(func() { understood = true })
	root.SetArgs(args)
	root.SetIn(in)
	screen := wording.NewScreen(out)
	root.SetOut(screen)
	told := wording.NewScreen(errOut)
	root.SetErr(told)
	err := root.ExecuteContext(ctx)
	if err != nil && !understood {
		err = &usageError{err}
	}
	if unwritten := screen.Flush(); unwritten != nil && (err == nil || errors.Is(err, errNoPlan)) {
		err = fmt.Errorf("cannot write to standard output: %w", unwritten)
	}
	switch {
	case errors.Is(err, context.Canceled) && ctx.Err() != nil:
		fmt.Fprintln(told, interrupted)
	case err != nil && !errors.Is(err, errNoPlan):
		fmt.Fprintln(told, "ampleway: "+err.Error())
	}
	return exitCode(ctx, err)
}

func exitCode(ctx context.Context, err error) int {
	var input *fault.Input
	var usage *usageError
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errNoPlan):
		return exitNoPlan
	case errors.As(err, &input), errors.As(err, &usage):
		return exitUsage
	case ctx.Err() != nil:
		return exitInterrupted
	}
	return exitFailed
}

// usageError is a command line that does not make sense.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

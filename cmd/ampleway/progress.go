package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"
)

// patience is how long work may take before it says what it is doing.
const patience = time.Second

// tell writes one line to errOut if the work is not done within patience, and
// returns what ends the wait.
func tell(errOut io.Writer, doing string) (done func()) {
	timer := time.AfterFunc(patience, func() { fmt.Fprintln(errOut, doing+" …") })
	return func() { timer.Stop() }
}

// remark writes what was left out of the inputs and taken for granted.
func remark(c *cobra.Command, notes []string) {
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "ampleway: "+n)
	}
}

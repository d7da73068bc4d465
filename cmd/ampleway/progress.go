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
// returns what ends the wait: after that nothing is written any more.
func tell(errOut io.Writer, doing string) (done func()) {
	told := make(chan struct{})
	timer := time.AfterFunc(patience, func() {
		defer close(told)
		fmt.Fprintln(errOut, doing+" …")
	})
	return func() {
		if !timer.Stop() {
			<-told
		}
	}
}

// remark writes what was left out of the inputs and taken for granted.
func remark(c *cobra.Command, notes []string) {
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "ampleway: "+n)
	}
}

package main

import (
	"fmt"
	"io"
	"time"
)

// patience is how long work may take before it says what it is doing.
const patience = time.Second

// tell writes one line to errOut if the work is not done within patience, and
// returns what ends the wait.
func tell(errOut io.Writer, doing string) (done func()) {
	timer := time.AfterFunc(patience, func() { fmt.Fprintln(errOut, doing+" …") })
	return func() { timer.Stop() }
}

package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"ampleway/data/wording"
	"ampleway/route/study"

	"golang.org/x/term"
)

// progressLine tells how far a study is: on a terminal on one line that is
// written over, elsewhere a line every logEvery.
type progressLine struct {
	mutex    sync.Mutex
	out      io.Writer
	terminal bool
	every    time.Duration
	last     time.Time
	written  bool
}

const (
	screenEvery = 200 * time.Millisecond
	logEvery    = 10 * time.Second
)

func newProgressLine(out io.Writer, quiet bool) *progressLine {
	p := &progressLine{out: out, every: logEvery, last: time.Now()}
	if file, ok := out.(*os.File); ok && term.IsTerminal(int(file.Fd())) {
		p.terminal, p.every = true, screenEvery
	}
	if quiet {
		p.out = nil
	}
	return p
}

func (p *progressLine) tell(at study.Progress) {
	p.mutex.Lock()
	defer p.mutex.Unlock()
	if p.out == nil || time.Since(p.last) < p.every {
		return
	}
	p.last, p.written = time.Now(), true
	text := fmt.Sprintf("%d of %s, %s, %.0f cases/s, %s left", at.DoneJobs, wording.Count(at.Jobs, "job"), wording.Count(at.Cases, "case"), at.PerSecond(), at.Left().Round(time.Second))
	if p.terminal {
		fmt.Fprint(p.out, "\r\x1b[K"+text)
		return
	}
	fmt.Fprintln(p.out, text)
}

func (p *progressLine) end() {
	if p.terminal && p.written {
		fmt.Fprint(p.out, "\r\x1b[K")
	}
}

package router

import (
	"context"
	"errors"
	"os/exec"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"ampleway/data/fault"
)

// useCommand makes the router run a program.
func (r *Router) useCommand(template string) *fault.Input {
	list, err := words(template)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return &fault.Input{Found: "nothing", Expected: "a program with arguments, or a URL"}
	}
	program, lookErr := exec.LookPath(list[0])
	if lookErr != nil {
		return &fault.Input{Field: "program", Found: list[0], Expected: "a program on this machine", Err: lookErr}
	}
	arguments := make([]text, len(list)-1)
	for i, word := range list[1:] {
		if arguments[i], err = parseText(word); err != nil {
			return err
		}
	}
	if err := bothEnds(arguments...); err != nil {
		return err
	}
	r.name = list[0]
	r.ask = func(ctx context.Context, from, to orb.Point) (answer, *fault.Input) {
		filled := make([]string, len(arguments))
		for i, a := range arguments {
			filled[i] = a.fill(from, to)
		}
		content, err := run(ctx, r.options.MaxBytes, program, filled...)
		return answer{content: content}, err
	}
	return nil
}

// run returns the standard output of a program, which has no standard input.
func run(ctx context.Context, maxBytes int64, program string, arguments ...string) ([]byte, *fault.Input) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	cmd := exec.CommandContext(ctx, program, arguments...)
	out := &limited{most: maxBytes, full: stop}
	said := &tail{}
	cmd.Stdout, cmd.Stderr = out, said
	cmd.WaitDelay = time.Second
	endWithChildren(cmd)
	err := cmd.Run()
	switch {
	case out.over:
		return nil, tooLarge(maxBytes)
	case err != nil:
		if last := said.last(); last != "" {
			err = errors.New(err.Error() + ": " + last)
		}
		return nil, &fault.Input{Expected: "a route on standard output", Err: err}
	}
	return out.kept, nil
}

func tooLarge(maxBytes int64) *fault.Input {
	return &fault.Input{Found: "a longer answer", Expected: "at most " + sizeText(maxBytes)}
}

// limited keeps what is written up to a limit, then calls full.
type limited struct {
	kept []byte
	most int64
	full func()
	over bool
}

func (l *limited) Write(p []byte) (int, error) {
	if int64(len(l.kept)+len(p)) > l.most {
		l.over = true
		l.full()
		return 0, errors.New("the answer is too long")
	}
	l.kept = append(l.kept, p...)
	return len(p), nil
}

// tail keeps the end of what is written.
type tail struct{ end []byte }

func (t *tail) Write(p []byte) (int, error) {
	const most = 4096
	t.end = append(t.end, p...)
	if len(t.end) > most {
		t.end = append([]byte(nil), t.end[len(t.end)-most:]...)
	}
	return len(p), nil
}

// last returns the last line that is not empty.
func (t *tail) last() string {
	lines := strings.Split(strings.TrimSpace(string(t.end)), "\n")
	return strings.TrimSpace(lines[len(lines)-1])
}

package study

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"ampleway/data/wording"
)

// Options say how a study is run. The zero value runs all of it on all cores
// and keeps nothing but the summary.
type Options struct {
	Folder  string // for the results; empty: none are kept
	CSV     bool   // cases.csv as well
	Part    Part
	Workers int  // 0: as many as cores
	Resume  bool // go on where an interrupted run of the same study stopped
	Version string
	Tell    func(Progress) // called now and then, by one goroutine at a time; may be nil
}

// Progress is how far a run has come.
type Progress struct {
	Jobs, DoneJobs int
	Cases          int           // worked out in this run
	Skipped        int           // jobs done by an earlier run
	Elapsed        time.Duration // of this run
}

// PerSecond is the rate of this run, in cases.
func (p Progress) PerSecond() float64 { return float64(p.Cases) / max(p.Elapsed.Seconds(), 1e-9) }

// Left is how long the rest will take at the rate so far; 0 where unknown.
func (p Progress) Left() time.Duration {
	done := p.DoneJobs - p.Skipped
	if done == 0 {
		return 0
	}
	return time.Duration(float64(p.Elapsed) * float64(p.Jobs-p.DoneJobs) / float64(done))
}

// Run runs a study or a part of it. A run that ctx ends leaves whole results of
// what was done by then, says so in the manifest, and can be resumed. Errors
// are about inputs without which nothing can be done, or about writing; what
// else could not be used is counted in the summary's manifest. After an error
// there is no summary, neither returned nor in the folder. While it runs it
// holds the folder for itself; a run that finds it held is refused.
func Run(ctx context.Context, s *Study, o Options) (summary *Summary, err error) {
	if err := o.Part.check(); err != nil {
		return nil, err
	}
	in, err := readInputs(ctx, s, o.Version)
	if err != nil {
		return nil, err
	}
	if o.Folder != "" {
		lock, lockErr := lockFolder(o.Folder)
		if lockErr != nil {
			return nil, lockErr
		}
		defer func() { err = errors.Join(err, lock.release()) }()
	}
	if o.Folder != "" && o.Resume {
		if done, err := finished(o.Folder, in, o.Part); done != nil || err != nil {
			return done, errors.Join(err, sweepOut(o.Folder, ""))
		}
	}
	shop, err := in.workshop(&o)
	if err != nil {
		return nil, err
	}
	if o.Folder == "" {
		defer os.RemoveAll(shop.folder)
	}
	jobs := in.jobsOf(o.Part)
	unwritten := in.workAll(ctx, shop, jobs, &o)
	if len(unwritten) > 0 {
		return nil, fmt.Errorf("%d of %s could not be written, so that there is no summary (with room again, --resume goes on); the first: %w", len(unwritten), wording.Count(len(jobs), "job"), unwritten[0])
	}
	if summary, err = in.assemble(shop, jobs, &o); err != nil {
		return nil, err
	}
	if summary.Manifest.Complete {
		return summary, os.RemoveAll(shop.folder)
	}
	return summary, nil
}

func (in *inputs) jobsOf(p Part) []job {
	mine := p.corridors(in.sources)
	var out []job
	for _, j := range in.study.jobs(len(in.sources)) {
		if mine[j.corridor] {
			out = append(out, j)
		}
	}
	return out
}

// workshopPrefix begins the name of a workshop inside the folder of results.
const workshopPrefix = ".unfinished-"

// workshop makes the folder for finished jobs. What another study or another
// part left there is removed; what this one left stays if it is to be resumed.
func (in *inputs) workshop(o *Options) (workshop, error) {
	if o.Folder == "" {
		folder, err := os.MkdirTemp("", "ampleway-margins-")
		return workshop{folder}, err
	}
	own := fmt.Sprintf("%s%s-%d-%d", workshopPrefix, in.id[:16], o.Part.Index, o.Part.Of)
	keep := ""
	if o.Resume {
		keep = own
	}
	if err := sweepOut(o.Folder, keep); err != nil {
		return workshop{}, err
	}
	shop := workshop{filepath.Join(o.Folder, own)}
	return shop, os.MkdirAll(shop.folder, 0o755)
}

// sweepOut removes the workshops in a folder of results but the one to keep.
func sweepOut(folder, keep string) error {
	entries, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), workshopPrefix) && e.Name() != keep {
			if err := os.RemoveAll(filepath.Join(folder, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// workAll does the jobs that are not done yet and returns what could not be
// written.
func (in *inputs) workAll(ctx context.Context, shop workshop, jobs []job, o *Options) []error {
	var todo []job
	for _, j := range jobs {
		if !o.Resume || !shop.has(j.number) {
			todo = append(todo, j)
		}
	}
	w := &crew{in: in, shop: shop, shelf: newShelf(in, todo), tell: o.Tell, began: time.Now()}
	w.progress = Progress{Jobs: len(jobs), DoneJobs: len(jobs) - len(todo), Skipped: len(jobs) - len(todo)}
	feed := make(chan job)
	var group sync.WaitGroup
	for range workers(o.Workers) {
		group.Go(func() { w.work(ctx, feed) })
	}
	for _, j := range todo {
		if ctx.Err() != nil {
			break
		}
		select {
		case feed <- j:
		case <-ctx.Done():
		}
	}
	close(feed)
	group.Wait()
	return w.unwritten
}

func workers(n int) int {
	if n > 0 {
		return n
	}
	return runtime.GOMAXPROCS(0)
}

// crew is the workers and what they share.
type crew struct {
	in        *inputs
	shop      workshop
	shelf     *shelf
	tell      func(Progress)
	began     time.Time
	mutex     sync.Mutex
	progress  Progress
	unwritten []error
}

func (w *crew) work(ctx context.Context, feed <-chan job) {
	e := &evaluator{study: w.in.study}
	for j := range feed {
		r := w.in.work(ctx, e, w.shelf, j)
		w.shelf.done(j.corridor)
		if r != nil {
			w.note(r, w.shop.save(r))
		}
	}
}

func (w *crew) note(r *result, err error) {
	w.mutex.Lock()
	defer w.mutex.Unlock()
	if err != nil {
		w.unwritten = append(w.unwritten, err)
	}
	w.progress.DoneJobs++
	w.progress.Cases += len(r.Rows)
	w.progress.Elapsed = time.Since(w.began)
	if w.tell != nil {
		w.tell(w.progress)
	}
}

package study

import (
	"context"
	"fmt"
	"math"
	"sync"

	"ampleway/route/trip"
)

// result is what a job came to.
type result struct {
	Job    int
	Rows   []Row
	Strip  *Strip // of the corridor's first job
	Gains  []Gain
	Faults []Fault
	Failed bool // nothing of it could be worked out
}

// Strip is a corridor as a line: where one can charge.
type Strip struct {
	LengthM  float64
	Marks    []StripMark
	Sites    []StripSite // all that the station files have beside the road, in order
	Lon, Lat []float64   // of each candidate for a new station, by Study.Build
	Credits  []string    // see trip.Credits
}

// StripMark is a charger that the first car can use.
type StripMark struct {
	ChainageM, PowerKW float64
	Name               string
}

// StripSite is a station beside the corridor, of use to a car or not.
type StripSite struct {
	ChainageM float64
	ID, Name  string
}

// shelf keeps the corridors that are being worked on.
type shelf struct {
	in    *inputs
	mutex sync.Mutex
	books map[int]*book
}

// book is a corridor, made once for all jobs on it.
type book struct {
	left int // jobs still to come
	once func() (*trip.Corridor, error)
}

func newShelf(in *inputs, jobs []job) *shelf {
	s := &shelf{in: in, books: map[int]*book{}}
	for _, j := range jobs {
		if s.books[j.corridor] == nil {
			source := &in.sources[j.corridor]
			s.books[j.corridor] = &book{once: sync.OnceValues(func() (*trip.Corridor, error) { return in.corridor(source) })}
		}
		s.books[j.corridor].left++
	}
	return s
}

func (s *shelf) corridor(number int) (*trip.Corridor, error) {
	s.mutex.Lock()
	b := s.books[number]
	s.mutex.Unlock()
	return b.once()
}

// done forgets a corridor after its last job.
func (s *shelf) done(number int) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if s.books[number].left--; s.books[number].left == 0 {
		delete(s.books, number)
	}
}

func (in *inputs) corridor(s *source) (*trip.Corridor, error) {
	r, err := in.route(s)
	if err != nil {
		return nil, err
	}
	return trip.NewCorridor(r, in.index, trip.CorridorOptionsOf(&in.study.Request)), nil
}

// work does a job. What fails is named in the result; the rest is done. A job
// that ctx ends has no result.
func (in *inputs) work(ctx context.Context, e *evaluator, s *shelf, j job) *result {
	out := &result{Job: j.number}
	source := &in.sources[j.corridor]
	corridor, err := s.corridor(j.corridor)
	if err != nil {
		out.Faults = append(out.Faults, Fault{j.corridor, "corridor " + source.name, err.Error(), 1})
		out.Failed = true
		return out
	}
	blocks := in.study.blocks()
	if in.study.Build != nil {
		out.Gains = in.study.Build.candidates(corridor.Route.LengthM())
	}
	if j.from == 0 {
		out.Strip = in.strip(corridor)
	}
	for _, b := range blocks[j.from:j.to] {
		q := in.study.request(&b)
		err := in.workBlock(ctx, e, out, corridor, b.base(source.name, &q), &b)
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			out.Faults = append(out.Faults, Fault{j.corridor, "corridor " + source.name + ", " + b.text(&q), err.Error(), 1})
		}
	}
	return out
}

func (in *inputs) workBlock(ctx context.Context, e *evaluator, out *result, c *trip.Corridor, base Row, b *block) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("failed within: %v", r)
		}
	}()
	drive, goal, err := in.drive(c, b)
	if err != nil {
		return err
	}
	if s := out.Strip; s != nil && s.Marks == nil {
		s.mark(drive)
	}
	n := newNumbers(drive, goal)
	sets := outages(b.set.outages, n, in.study.Seed, base.Corridor)
	if err := b.set.checkSize(len(sets)); err != nil {
		return err
	}
	kept := len(out.Rows)
	out.Rows, err = e.block(ctx, n, b.set, sets, base, out.Rows)
	if err != nil {
		out.Rows = out.Rows[:kept]
		return err
	}
	if in.study.Build != nil {
		return e.build(ctx, n, b.set, out.Gains)
	}
	return nil
}

func (in *inputs) strip(c *trip.Corridor) *Strip {
	s := &Strip{LengthM: c.Route.LengthM(), Credits: c.Credits()}
	for i := range c.Passes {
		p := &c.Passes[i]
		s.Sites = append(s.Sites, StripSite{p.ChainageM, p.Site.ID, trip.SiteName(p.Site)})
	}
	if in.study.Build != nil {
		for _, g := range in.study.Build.candidates(s.LengthM) {
			p := c.Route.At(g.ChainageM)
			s.Lon, s.Lat = append(s.Lon, round7(p.Lon)), append(s.Lat, round7(p.Lat))
		}
	}
	return s
}

// mark enters the chargers of a drive.
func (s *Strip) mark(d *trip.Drive) {
	for i := range d.Chargers {
		c := &d.Chargers[i]
		s.Marks = append(s.Marks, StripMark{c.ChainageM, c.Offer.PowerKW, trip.SiteName(c.Site)})
	}
}

func round7(v float64) float64 { return math.Round(v*1e7) / 1e7 }

package trip

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"ampleway/route/stops"
	"ampleway/stations"

	"github.com/paulmach/orb"
)

// Ends are what a road router is asked for the way between, longitude before
// latitude, WGS 84 degrees.
type Ends struct{ From, To orb.Point }

// Way is the road between two places.
type Way struct {
	LengthM float64
	TimeS   float64 // 0: not said
}

// Roads asks a road router many questions and answers in their order. A
// question without an answer has its error in the other list, which is as long.
type Roads func(ctx context.Context, questions []Ends) ([]Way, []error)

// Defaults of AskOptions.
const (
	DefaultQuestions = 150
	DefaultAskWithin = time.Minute
)

// AskOptions bounds what PlanAsking asks of a road router.
type AskOptions struct {
	Questions int           // at most; 0: DefaultQuestions
	Within    time.Duration // from the call on; 0: DefaultAskWithin
}

// Asked is what a road router was asked about the detours of a corridor.
type Asked struct {
	Questions  int   // that were put to it
	Unanswered int   // detours that it was asked for and did not give
	Why        error // of the first of these
	Cut        bool  // more would have been asked but for AskOptions
}

// planAsking is Plan, and Assure where that is asked for, with the detours of a
// road router in the place of estimates, on every drive, wherever the answer names
// a station: the stops, then what the leave rules, fallbacks, harder days and
// choices lead to. It plans with estimates, asks for the detours of the stations named, and plans anew, until
// all that are named have been asked for or the bounds of o are reached. What
// is not asked for, or not given, stays an estimate; Pass.Asked and
// Pass.Unanswered tell. No question is put twice.
//
// A detour is three questions: from a place on the road before the station to
// it, from it to a place on the road behind it, and from the one place to the
// other, which neighbouring stations share. The detour is what the first two
// are longer than the third, so that it does not matter on which side of a
// divided road the station is or how far off the exits are, up to asideM. The
// way there and the way back need not be alike. The detour's time is the
// router's where it says one, else at the detour speed, and its energy that of
// a level road at the speed so found.
//
// The errors are those of Plan and Assure, and that of ctx as soon as it ends.
func (j *Journey) planAsking(ctx context.Context, planner *stops.Planner, o PlanOptions) (*JourneyPlan, error) {
	if planner == nil {
		planner = &stops.Planner{}
	}
	a, end := newAsker(ctx, j, o)
	defer end()
	for {
		plan, err := a.plan(planner)
		next := a.next(a.stopsNamed(plan, err))
		if len(next.passes) == 0 {
			if errors.Is(err, stops.ErrNoPlan) {
				return a.journey.Plan(planner) // for the reason
			}
			if err != nil {
				return nil, err
			}
			if o.Assured {
				if err := plan.Assure(planner, o.Assure); err != nil {
					return nil, err
				}
				next = a.next(plan.othersNamed())
			}
		}
		if len(next.passes) == 0 {
			return plan, ctx.Err()
		}
		if err := a.ask(next); err != nil {
			return nil, err
		}
	}
}

// PlanAsking is Journey.PlanWith for this drive alone, asking roads.
func (d *Drive) PlanAsking(ctx context.Context, planner *stops.Planner, g Goal, roads Roads, o AskOptions, assure AssureOptions) (*Plan, error) {
	p, err := (&Journey{Drives: []*Drive{d}, Goal: g}).planAsking(ctx, planner, PlanOptions{Roads: roads, Asking: o, Assured: true, Assure: assure})
	if err != nil {
		return nil, err
	}
	return p.Plans[0], nil
}

// plan is Journey.Plan without the reason why there is none.
func (a *asker) plan(planner *stops.Planner) (*JourneyPlan, error) {
	terse := *a.journey
	terse.Goal.terse = true
	p, err := terse.Plan(planner)
	if err != nil {
		return nil, err
	}
	for _, plan := range p.Plans {
		plan.Goal.terse = false
	}
	return p, nil
}

// stopsNamed are the stops of a plan or, where there is none, the ends of the
// stretch that cannot be crossed.
func (a *asker) stopsNamed(p *JourneyPlan, err error) (out []*Charger) {
	var gap *stops.Infeasible
	switch {
	case err == nil:
		for _, plan := range p.Plans {
			out = append(out, plan.chargers()...)
		}
		return out
	case !errors.As(err, &gap) || gap.Why != "":
		return nil
	}
	for _, i := range []int{gap.From, gap.To} {
		for _, d := range a.journey.Drives {
			if i >= 0 && i < len(d.Chargers) {
				out = append(out, &d.Chargers[i])
			}
			i -= len(d.Chargers) + 1
		}
	}
	return out
}

func (p *Plan) chargers() []*Charger {
	out := make([]*Charger, len(p.Stops))
	for i := range p.Stops {
		out[i] = p.Stops[i].Charger
	}
	return out
}

// othersNamed are the stations that Assure leads to.
func (p *JourneyPlan) othersNamed() (out []*Charger) {
	for _, plan := range p.Plans {
		for i := range plan.Fallbacks {
			out = append(out, plan.Fallbacks[i].To)
		}
		for i := range plan.Choices {
			out = append(out, plan.Choices[i].Plan.chargers()...)
		}
		for _, rows := range plan.Rules {
			for i := range rows {
				out = append(out, rows[i].Next)
			}
		}
		for i := range plan.Stresses {
			if plan.Stresses[i].Plan != nil {
				out = append(out, plan.Stresses[i].Plan.chargers()...)
			}
		}
	}
	return out
}

// asker puts a router's detours into the drives of a journey, little by little.
type asker struct {
	ctx, limited context.Context // limited ends with AskOptions.Within
	journey      *Journey
	roads        Roads
	options      AskOptions
	*answers
	tried map[passKey]bool
	asked *Asked
}

// answers are those of a router, for as many journeys as they are wanted for.
type answers struct {
	known map[Ends]answer
	put   int // questions that were put to it
}

type answer struct {
	way Way
	err error
}

// passKey is one pass of a site in all drives on a corridor.
type passKey struct {
	site      *stations.Site
	chainageM float64
}

func (p *Pass) key() passKey { return passKey{p.Site, p.ChainageM} }

func newAsker(ctx context.Context, j *Journey, o PlanOptions) (a *asker, end func()) {
	limits := o.Asking
	if limits.Questions == 0 {
		limits.Questions = DefaultQuestions
	}
	if limits.Within == 0 {
		limits.Within = DefaultAskWithin
	}
	limited, end := context.WithTimeout(ctx, limits.Within)
	own := *j
	a = &asker{ctx: ctx, limited: limited, journey: &own, roads: o.Roads, options: limits, answers: o.answers, tried: map[passKey]bool{}, asked: &Asked{}}
	if a.answers == nil {
		a.answers = &answers{known: map[Ends]answer{}}
	}
	own.Drives = slices.Clone(j.Drives)
	for i, d := range own.Drives {
		corridor, drive := *d.Corridor, *d
		corridor.Asked = a.asked
		drive.Corridor = &corridor
		drive.prepare()
		own.Drives[i] = &drive
	}
	return a, end
}

// corridor is that of a pass.
func (a *asker) corridor(p Pass) *Corridor {
	i := slices.IndexFunc(a.journey.Drives, func(d *Drive) bool {
		return slices.ContainsFunc(d.Corridor.Passes, func(q Pass) bool { return q.key() == p.key() })
	})
	return a.journey.Drives[i].Corridor
}

// batch is what is asked for at one go.
type batch struct {
	passes    []Pass
	questions []Ends
}

// next are the passes that can still be asked for, the first of them first.
func (a *asker) next(chargers []*Charger) batch {
	var b batch
	for _, c := range chargers {
		if c == nil || c.Stated || c.Asked || a.tried[c.key()] {
			continue
		}
		b = a.with(b, c.Pass)
	}
	return b
}

// with adds a pass where the bounds allow it.
func (a *asker) with(b batch, p Pass) batch {
	if slices.ContainsFunc(b.passes, func(q Pass) bool { return q.key() == p.key() }) {
		return b
	}
	questions := b.questions
	s := a.corridor(p).nearby(p)
	for _, q := range s.questions() {
		if _, known := a.known[q]; !known && !slices.Contains(questions, q) {
			questions = append(questions, q)
		}
	}
	if a.limited.Err() != nil || a.put+len(questions) > a.options.Questions {
		a.asked.Cut = true
		return b
	}
	return batch{append(b.passes, p), questions}
}

// ask asks for a batch and makes the drives anew with what comes of it.
func (a *asker) ask(b batch) error {
	ways, errs := a.roads(a.limited, b.questions)
	if err := a.ctx.Err(); err != nil {
		return err
	}
	a.asked.Questions += len(b.questions)
	a.put += len(b.questions)
	for i, q := range b.questions {
		a.known[q] = answer{ways[i], errs[i]}
	}
	answered := map[passKey]Pass{}
	for _, p := range b.passes {
		pass, err := a.answered(p)
		if err != nil {
			a.asked.Unanswered++
			if a.asked.Why == nil {
				a.asked.Why = err
			}
			pass.Unanswered = true
		}
		answered[p.key()], a.tried[p.key()] = pass, true
	}
	for i, d := range a.journey.Drives {
		corridor, changed := *d.Corridor, false
		corridor.Passes = slices.Clone(corridor.Passes)
		for k := range corridor.Passes {
			if pass, ok := answered[corridor.Passes[k].key()]; ok {
				corridor.Passes[k], changed = pass, true
			}
		}
		if !changed {
			continue
		}
		var err error
		if a.journey.Drives[i], err = NewDrive(&corridor, d.Car, d.Conditions, d.Options); err != nil {
			return err
		}
	}
	return nil
}

// answered is a pass with its detour as the router gave it, or as it is with
// the reason.
func (a *asker) answered(p Pass) (Pass, error) {
	c := a.corridor(p)
	s := c.nearby(p)
	var ways [3]Way
	for i, q := range s.questions() {
		known := a.known[q]
		switch {
		case a.limited.Err() != nil && errors.Is(known.err, context.DeadlineExceeded):
			return p, fmt.Errorf("no answer in the %s that asking may take", a.options.Within)
		case known.err != nil:
			return p, known.err
		}
		ways[i] = known.way
	}
	return s.detour(p, ways[0], ways[1], ways[2], c.Options)
}

const (
	// asideM is how far before and behind a station the places on the road are
	// between which its detour is asked for: rural exits are as far apart.
	asideM = 10e3
	// asideStepM is the spacing of these places.
	asideStepM = 1000.0
)

// nearby is the road around a pass.
type nearby struct {
	fromM, toM     float64
	from, to, site orb.Point
}

func (c *Corridor) nearby(p Pass) nearby {
	s := nearby{site: orb.Point{p.Site.Lon, p.Site.Lat}}
	s.fromM = math.Max(math.Floor((p.ChainageM-asideM)/asideStepM)*asideStepM, 0)
	s.toM = math.Min(math.Ceil((p.ChainageM+asideM)/asideStepM)*asideStepM, c.Route.LengthM())
	from, to := c.Route.At(s.fromM), c.Route.At(s.toM)
	s.from, s.to = orb.Point{from.Lon, from.Lat}, orb.Point{to.Lon, to.Lat}
	return s
}

// questions are the way to the site, the way from it, and the way past it.
func (s *nearby) questions() [3]Ends {
	return [...]Ends{{s.from, s.site}, {s.site, s.to}, {s.from, s.to}}
}

// detour is a pass with what the ways to the site and from it are longer than
// the way past it. A router that does not go past the site as the route does
// cannot say.
func (s *nearby) detour(p Pass, in, out, past Way, o CorridorOptions) (Pass, error) {
	const otherM, otherShare = 200.0, 0.05
	roadM := s.toM - s.fromM
	if math.Abs(past.LengthM-roadM) > otherM+otherShare*roadM {
		return p, fmt.Errorf("the router goes past %s by another road, %.1f km instead of %.1f km", SiteName(p.Site), past.LengthM/1000, roadM/1000)
	}
	before := (p.ChainageM - s.fromM) / roadM
	inM := math.Max(in.LengthM-before*past.LengthM, 0)
	outM := math.Max(out.LengthM-(1-before)*past.LengthM, 0)
	p.OneWayM, p.LongerInM, p.Asked = (inM+outM)/2, (inM-outM)/2, true
	if p.Site.DetourS > 0 {
		return p, nil
	}
	p.OneWayS = p.OneWayM / o.DetourSpeedMS
	if in.TimeS > 0 && out.TimeS > 0 && past.TimeS > 0 {
		p.OneWayS = math.Max(in.TimeS+out.TimeS-past.TimeS, 0) / 2
	}
	return p, nil
}

package trip

import (
	"encoding/binary"
	"errors"
	"math"
	"sort"
	"time"

	"ampleway/data/fault"
	"ampleway/route/stops"
)

// arriveWithin is how long before a wanted arrival a departure is looked for.
const arriveWithin = 24 * time.Hour

// planArriving finds the latest whole minute of departure from which the plan
// of that departure arrives at or before g.ArriveBy. Every plan that counts is
// made and driven forward from its departure; nothing is interpolated.
//
// No departure later than that of the quickest trip without a clock, by the
// estimate, can do it: waits, hours, a meal and what a confidence demands only
// lengthen a trip. From there on:
//
//   - where time alone counts, a stop no more than its time, and only opening hours and waits bind the trip to
//     the clock, whoever leaves earlier arrives no later, because waiting is
//     allowed at every charger. The minute is found by bisection. This rests on
//     the planner being best at every departure; where hours bind, its plans are
//     searched rather than proven.
//   - with a meal, departures ever further from the latest are tried until one
//     does it, and the minute is found by bisection from there. Whoever leaves
//     earlier can wait for the meal, but what a stop less is worth, or a
//     confidence demands, may now and then lead to a plan that is there later:
//     the departure is then not proven to be the latest.
//   - in every other case the minutes are tried one by one, the latest first. A
//     departure at which the same stations may be shut and the same prices hold
//     as at one tried before takes as long and is not planned again.
//
// The answer is exact to the minute: a minute later, the plan arrives late or
// there is none. It is a *fault.Input where no departure in arriveWithin does
// it, and a *NoPlan where the trip cannot be made at any time.
func (d *Drive) planArriving(planner *stops.Planner, g Goal) (*Plan, error) {
	latest, err := d.latestDeparture(planner, g)
	if err != nil {
		return nil, err
	}
	a := arriving{drive: d, planner: planner, goal: g, latest: latest, seen: map[string]float64{}}
	minutes := int(latest.Sub(g.ArriveBy.Add(-arriveWithin))/time.Minute) + 1
	switch {
	case g.Meal.LeastS > 0:
		a.goal.brief = true
		a.gallop(minutes)
	case d.earlierIsNoLater(g):
		a.bisect(0, minutes)
	default:
		a.tryEach(minutes)
	}
	switch {
	case a.err != nil:
		return nil, a.err
	case a.plan == nil:
		return nil, g.neverThere()
	}
	return a.plan, nil
}

func (g Goal) neverThere() error {
	return &fault.Input{Field: "arrive_by", Found: g.ArriveBy.Format(time.RFC3339), Expected: "a time that a departure in the 24 hours before reaches"}
}

// latestDeparture is a whole minute after which no departure arrives in time.
func (d *Drive) latestDeparture(planner *stops.Planner, g Goal) (time.Time, error) {
	by := g.ArriveBy
	g.ArriveBy, g.Meal, g.Unpolished, g.StopWorthS = time.Time{}, Meal{}, true, 0
	if g.Night != nil {
		g.DepartSoC = math.Max(g.Night.WantSoC, g.Night.ArriveSoC)
	}
	if _, err := d.Plan(planner, g); err != nil {
		return time.Time{}, err
	}
	g.Objective, g.Confidence, g.Excess = stops.Objective{}, 0, 0
	quickest, err := d.Plan(planner, g)
	if err != nil {
		return time.Time{}, err
	}
	return by.Add(-seconds(quickest.TimeS)).Truncate(time.Minute), nil
}

// leaving is the goal of a departure at a time: the night before goes on until
// then.
func (g Goal) leaving(d *Drive, at time.Time) (Goal, error) {
	g.Depart = at
	if g.Night == nil {
		return g, nil
	}
	night := *g.Night
	night.DepartMin, night.EnoughA, night.EarlierMin = 60*at.Hour()+at.Minute(), 0, 0
	if err := night.work(d.Car); err != nil {
		return g, err
	}
	g.Night, g.DepartSoC = &night, night.Result.DepartSoC
	return g, nil
}

// earlierIsNoLater reports whether an earlier departure can never arrive later.
func (d *Drive) earlierIsNoLater(g Goal) bool {
	return g.Objective.Goal == stops.LeastTime && g.StopWorthS == 0 && g.Confidence == 0 && g.Excess == 0 && g.Meal.LeastS == 0 && g.Night == nil
}

// arriving looks for the latest departure.
type arriving struct {
	drive   *Drive
	planner *stops.Planner
	goal    Goal
	latest  time.Time
	seen    map[string]float64 // how long a trip takes, by what the clock does to it
	plan    *Plan              // of the latest departure that was found to do
	err     error
}

// bisect looks from one number of minutes before the latest departure to below
// another.
func (a *arriving) bisect(from, to int) {
	if a.inTime(from) {
		return
	}
	sort.Search(to-from, func(i int) bool { return a.err != nil || a.inTime(from+i) })
}

// gallop doubles the step until a departure does it.
func (a *arriving) gallop(minutes int) {
	before := 0
	for step := 1; before < minutes && a.err == nil; step *= 2 {
		to := min(before+step, minutes)
		if a.inTime(to - 1) {
			a.bisect(before, to-1)
			return
		}
		before = to
	}
}

func (a *arriving) tryEach(minutes int) {
	for i := range minutes {
		if a.inTime(i) || a.err != nil {
			return
		}
	}
}

// inTime plans a departure so many minutes before the latest and keeps the plan
// where it arrives in time.
func (a *arriving) inTime(minutes int) bool {
	g, err := a.goal.leaving(a.drive, a.latest.Add(-time.Duration(minutes)*time.Minute))
	if err != nil {
		a.err = err
		return false
	}
	const slackS = 1e-6
	wantedS := g.ArriveBy.Sub(g.Depart).Seconds() + slackS
	key, known := a.drive.clockKey(g)
	if tookS, ok := a.seen[key]; known && ok && tookS > wantedS {
		return false
	}
	g.terse = true
	p, err := a.drive.Plan(a.planner, g)
	if errors.Is(err, stops.ErrNoPlan) {
		a.seen[key] = math.Inf(1)
		return false
	}
	if err != nil {
		a.err = err
		return false
	}
	a.seen[key] = p.TimeS
	if p.TimeS > wantedS {
		return false
	}
	p.Goal.terse = false
	a.plan = p
	return true
}

// clockKey is all that the time of departure changes about a problem: when
// stations may be shut, and the prices where money counts. It is not known
// where the plan itself follows the clock.
func (d *Drive) clockKey(g Goal) (key string, known bool) {
	if g.Meal.LeastS > 0 || g.Night != nil {
		return "", false
	}
	timed := g.Confidence == 0 && g.Excess == 0
	var text []byte
	for i := range d.Chargers {
		c := &d.Chargers[i]
		periods := d.periods(c, g)
		if timed && periods != nil {
			return "", false
		}
		firstS := d.Profile.TimeS(c.ChainageM)
		for stopS := steadySlackS; stopS <= 2*horizon.Seconds(); stopS *= 2 {
			mark := byte(0)
			if closes(periods, firstS, firstS+stopS+steadySlackS) {
				mark = 1
			}
			text = append(text, mark)
		}
		if g.countsMoney() {
			price := d.plannerPriceAt(c, g, d.passes(c, g))
			for _, v := range []float64{price.PerKWh, price.PerMinute, price.PerSession, price.IdlePerMinute, price.IdleAfterS} {
				text = binary.LittleEndian.AppendUint64(text, math.Float64bits(v))
			}
		}
	}
	return string(text), true
}

package hours

import (
	"slices"
	"time"
)

// State says whether a place is open.
type State uint8

// The states. The zero value is Closed; what cannot be read is Unknown.
const (
	Closed State = iota
	Open
	Unknown
)

// Calendar tells which dates are public and school holidays where the place
// is. A nil function means that they are not known.
type Calendar struct {
	Public func(year int, month time.Month, day int) bool
	School func(year int, month time.Month, day int) bool
}

// Schedule is an expression that was read. The zero value, and what Parse
// returns with an error, is Unknown at every time. A Schedule does not change
// and may be shared between goroutines.
type Schedule struct {
	rules    []rule
	calendar Calendar
}

// Interval is a stretch of time with one state.
type Interval struct {
	From, To time.Time // From inclusive, To exclusive
	State    State
}

// With returns the schedule with a calendar of holidays.
func (s *Schedule) With(c Calendar) *Schedule {
	copied := *s
	copied.calendar = c
	return &copied
}

// At returns the state at t, whose location must be the place's time zone.
func (s *Schedule) At(t time.Time) State {
	if len(s.rules) == 0 {
		return Unknown
	}
	var buf active
	list := s.activeOn(dayOf(t), buf[:0])
	return list.at(s, t.Hour()*60+t.Minute())
}

// Intervals returns the states from one time to another, in order, without
// gaps, neighbours differing. The location of from must be the place's time
// zone. It returns nil where to is not after from.
func (s *Schedule) Intervals(from, to time.Time) []Interval {
	if !to.After(from) {
		return nil
	}
	if s.constant() {
		return []Interval{{From: from, To: to, State: s.At(from)}}
	}
	out := []Interval{{From: from, To: to, State: s.At(from)}}
	for d := dayOf(from); d.clock(0, from.Location()).Before(to); d = d.add(1) {
		for _, p := range s.pieces(d) {
			start := d.clock(p.from, from.Location())
			last := &out[len(out)-1]
			if p.state == last.State || !start.After(last.From) || !start.Before(to) {
				continue
			}
			last.To = start
			out = append(out, Interval{From: start, To: to, State: p.state})
		}
	}
	return out
}

// constant reports whether the state never changes.
func (s *Schedule) constant() bool {
	return !slices.ContainsFunc(s.rules, func(r rule) bool { return r.dated() || r.spans != nil })
}

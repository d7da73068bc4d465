package hours

import "time"

// State says whether a place is open.
type State uint8

// The states. The zero value is Closed; what cannot be read is Unknown.
const (
	Closed State = iota
	Open
	Unknown
)

// String gives "closed", "open" or "unknown".
func (s State) String() string {
	switch s {
	case Open:
		return "open"
	case Closed:
		return "closed"
	}
	return "unknown"
}

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
	text     string
	rules    []rule
	calendar Calendar
}

// Interval is a stretch of time with one state.
type Interval struct {
	From, To time.Time // From inclusive, To exclusive
	State    State
}

// horizonDays limits how far NextChange looks ahead.
const horizonDays = 400

// Text returns the expression as it was given.
func (s *Schedule) Text() string { return s.text }

// With returns the schedule with a calendar of holidays.
func (s *Schedule) With(c Calendar) *Schedule {
	copied := *s
	copied.calendar = c
	return &copied
}

// Warnings says what the verdicts cannot take into account.
func (s *Schedule) Warnings() []string {
	var out []string
	if len(s.rules) == 0 {
		out = append(out, "opening hours not understood: counted as unknown")
	}
	if s.calendar.Public == nil && s.names(publicHoliday) {
		out = append(out, "opening hours name public holidays, which are not known: every day counts as an ordinary day")
	}
	if s.calendar.School == nil && s.names(schoolHoliday) {
		out = append(out, "opening hours name school holidays, which are not known: every day counts as an ordinary day")
	}
	if s.variable() {
		out = append(out, "opening hours follow the sun: counted as unknown from their earliest to their latest time")
	}
	return out
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

// NextChange returns the first time after t at which the state differs from
// the state at t, and that state. It looks 400 days ahead; ok is false where
// nothing changes until then.
func (s *Schedule) NextChange(t time.Time) (when time.Time, state State, ok bool) {
	now := s.At(t)
	if s.constant() {
		return time.Time{}, now, false
	}
	for i, d := 0, dayOf(t); i <= horizonDays; i, d = i+1, d.add(1) {
		for _, p := range s.pieces(d) {
			start := d.clock(p.from, t.Location())
			if p.state != now && start.After(t) {
				return start, p.state, true
			}
		}
	}
	return time.Time{}, now, false
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
	for i := range s.rules {
		if r := &s.rules[i]; r.dated() || r.spans != nil {
			return false
		}
	}
	return true
}

func (s *Schedule) names(k dayKind) bool {
	for i := range s.rules {
		for _, group := range s.rules[i].days {
			for _, d := range group {
				if d.kind == k {
					return true
				}
			}
		}
	}
	return false
}

func (s *Schedule) variable() bool {
	for i := range s.rules {
		if s.rules[i].sun {
			return true
		}
	}
	return false
}

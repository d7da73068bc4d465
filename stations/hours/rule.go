package hours

import (
	"slices"
	"time"
)

type join uint8

const (
	replaces join = iota // after ";"
	adds                 // after ","
	fallback             // after "||", and after "," behind such a rule
)

// rule is one rule of an expression. Empty selectors match everything; those
// that are given must all match.
type rule struct {
	join  join
	years []stepRange
	dates []dateRange
	weeks []stepRange
	days  [][]daySelector // all groups, any selector of a group
	spans []span          // nil means the whole day
	state State
}

// stepRange matches from, from+step, ... up to to.
type stepRange struct{ from, to, step int }

func (r stepRange) has(n int) bool {
	return n >= r.from && n <= r.to && (n-r.from)%r.step == 0
}

// span is a time range in minutes from the start of its date; to may lie on
// the next date.
type span struct {
	from, to int
	unknown  bool // after an open end, or following the sun
}

type dayKind uint8

const (
	weekday dayKind = iota
	publicHoliday
	schoolHoliday
)

type daySelector struct {
	kind     dayKind
	from, to int   // weekdays, Sunday = 0, wrapping
	nth      []int // which of the month; nil means each
	offset   int   // days to move the match by
}

// anchor is one end of a date range.
type anchor struct {
	easter  bool
	month   time.Month
	date    int // 0 means the whole month
	weekday int
	nth     int // of weekday; 0 means that date holds
	offset  int // days
}

type dateRange struct {
	fromYear, toYear int // 0 means every year
	from, to         anchor
}

func (r *rule) dated() bool {
	return r.years != nil || r.dates != nil || r.weeks != nil || r.days != nil
}

// on reports whether the rule's selectors match a date.
func (r *rule) on(d day, c Calendar) bool {
	return anyStep(r.years, d.year) && anyDate(r.dates, d) &&
		(r.weeks == nil || anyStep(r.weeks, d.week())) && r.onDays(d, c)
}

func (r *rule) onDays(d day, c Calendar) bool {
	for _, group := range r.days {
		if !slices.ContainsFunc(group, func(s daySelector) bool { return s.on(d, c) }) {
			return false
		}
	}
	return true
}

func (r *rule) pastMidnight() bool {
	return slices.ContainsFunc(r.spans, func(s span) bool { return s.to > dayMinutes })
}

// at returns the rule's state at a minute and whether it says anything then.
func (r *rule) at(minute int) (State, bool) {
	if r.spans == nil {
		return r.state, minute < dayMinutes
	}
	for i := len(r.spans) - 1; i >= 0; i-- {
		s := r.spans[i]
		if minute < s.from || minute >= s.to {
			continue
		}
		if s.unknown && r.state == Open {
			return Unknown, true
		}
		return r.state, true
	}
	return Closed, false
}

func anyStep(ranges []stepRange, n int) bool {
	return ranges == nil || slices.ContainsFunc(ranges, func(r stepRange) bool { return r.has(n) })
}

func anyDate(ranges []dateRange, d day) bool {
	return ranges == nil || slices.ContainsFunc(ranges, func(r dateRange) bool { return r.on(d) })
}

func (s daySelector) on(d day, c Calendar) bool {
	d = d.add(-s.offset)
	switch s.kind {
	case publicHoliday:
		return c.Public != nil && c.Public(d.year, d.month, d.date)
	case schoolHoliday:
		return c.School != nil && c.School(d.year, d.month, d.date)
	}
	if (d.weekday-s.from+7)%7 > (s.to-s.from+7)%7 {
		return false
	}
	isNth := func(n int) bool { return nthWeekday(d.year, d.month, d.weekday, n).n == d.n }
	return s.nth == nil || slices.ContainsFunc(s.nth, isNth)
}

// on looks for the range that starts in the year before, of or after the date,
// because an offset may cross a year's end.
func (r dateRange) on(d day) bool {
	if r.fromYear != 0 {
		from, to := r.from.start(r.fromYear), r.to.end(r.toYear)
		return d.n >= from && d.n <= to
	}
	for y := d.year - 1; y <= d.year+1; y++ {
		from, to := r.from.start(y), r.to.end(y)
		if to < from {
			to = r.to.end(y + 1)
		}
		if d.n >= from && d.n <= to {
			return true
		}
	}
	return false
}

func (a anchor) start(y int) int {
	if a.date == 0 && !a.easter && a.nth == 0 {
		return newDay(y, a.month, 1).n + a.offset
	}
	return a.end(y)
}

func (a anchor) end(y int) int {
	switch {
	case a.easter:
		return easter(y).n + a.offset
	case a.nth != 0:
		return nthWeekday(y, a.month, a.weekday, a.nth).n + a.offset
	case a.date == 0:
		return newDay(y, a.month, monthDays(y, a.month)).n + a.offset
	}
	return newDay(y, a.month, a.date).n + a.offset
}

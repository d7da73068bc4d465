package hours

import (
	"strings"
	"time"
)

var weekdays = names("su mo tu we th fr sa", "sunday monday tuesday wednesday thursday friday saturday")

var months = names("x jan feb mar apr may jun jul aug sep oct nov dec",
	"x january february march april may june july august september october november december")

// names numbers words from zero; the long ones count by their first three
// letters too.
func names(short, long string) map[string]int {
	out := map[string]int{}
	for i, w := range strings.Fields(short) {
		out[w] = i
	}
	for i, w := range strings.Fields(long) {
		out[w] = i
		out[w[:min(3, len(w))]] = i
	}
	delete(out, "x")
	return out
}

const (
	leastYear = 1900
	mostYear  = 9999
)

// dates reports whether a year, a month or easter stands here.
func (p *parser) dates() bool { return p.year() || p.monthOrEaster() }

func (p *parser) year() bool {
	t := p.peek()
	return t.kind == number && len(t.text) == 4 && atoi(t) >= leastYear && p.ahead(1).text != ":"
}

func (p *parser) monthOrEaster() bool {
	_, ok := months[p.peek().text]
	return ok || p.peek().text == "easter"
}

// readDates reads a list of years or a list of dates and date ranges.
func (p *parser) readDates(r *rule) error {
	if p.year() && !p.monthAfterYear() {
		years, err := p.steps(leastYear, mostYear)
		r.years = append(r.years, years...)
		return err
	}
	if r.dates != nil {
		return p.fail("a separator before another date")
	}
	for {
		d, err := p.dateRange()
		if err != nil {
			return err
		}
		r.dates = append(r.dates, d)
		for p.listedDay() {
			p.pos++
			if d, err = p.dayInMonth(d); err != nil {
				return err
			}
			r.dates = append(r.dates, d)
		}
		if !p.another(p.dates) {
			return nil
		}
	}
}

// monthAfterYear reports whether the year here belongs to a date.
func (p *parser) monthAfterYear() bool {
	next := p.ahead(1).text
	_, ok := months[next]
	return ok || next == "easter"
}

// listedDay reports whether ", 6" of a list such as "Jan 1,6" stands here.
func (p *parser) listedDay() bool {
	n := p.ahead(1)
	after := p.ahead(2).text
	return p.peek().text == "," && n.kind == number && len(n.text) <= 2 && after != ":" && after != "."
}

func (p *parser) dayInMonth(like dateRange) (dateRange, error) {
	if like.from.date == 0 || like.from.month != like.to.month {
		return like, p.fail("a month before the day")
	}
	n, err := p.number(1, monthDays(leapYear, like.from.month))
	if err != nil {
		return like, err
	}
	like.from.date, like.to.date = n, n
	if p.peek().text == "-" && p.ahead(1).kind == number && p.ahead(2).text != ":" {
		p.pos++
		like.to.date, err = p.number(n, monthDays(leapYear, like.from.month))
	}
	return like, err
}

// leapYear is a year in which every date exists.
const leapYear = 2024

func (p *parser) dateRange() (dateRange, error) {
	var d dateRange
	var err error
	if p.year() {
		d.fromYear = atoi(p.peek())
		p.pos++
	}
	if d.from, err = p.anchor(begins); err != nil {
		return d, err
	}
	d.to, d.toYear = d.from, d.fromYear
	if p.peek().text != "-" || p.ahead(1).kind == mark {
		return d, nil
	}
	p.pos++
	end := ends
	if d.from.nth != 0 {
		end = endsNth
	}
	switch {
	case p.year():
		if d.fromYear == 0 {
			return d, p.fail("a year at the start of the range too")
		}
		d.toYear = atoi(p.peek())
		p.pos++
		d.to, err = p.anchor(end)
	case p.monthOrEaster():
		d.to, err = p.anchor(end)
		if err == nil && d.fromYear != 0 && d.to.end(d.toYear) < d.from.start(d.fromYear) {
			d.toYear++
		}
	case d.from.date != 0 && p.peek().kind == number:
		d.to.date, err = p.number(d.from.date, monthDays(leapYear, d.from.month))
	default:
		err = p.fail("the end of the date range")
	}
	if err == nil && (d.from.date == 0) != (d.to.date == 0) && d.from.nth == 0 && d.to.nth == 0 && !d.from.easter && !d.to.easter {
		err = p.fail("a day at both ends of the date range or at none")
	}
	return d, err
}

// place says where in a date range an anchor stands.
type place uint8

const (
	begins  place = iota
	ends          // after a month or a date
	endsNth       // after the nth weekday of a month
)

// anchor reads one end of a date range: "Dec 24", "Mar Su[-1]", "easter",
// each perhaps with an offset, or "Dec". A weekday counts as an end of a range
// only where a range follows or was begun with one.
func (p *parser) anchor(where place) (anchor, error) {
	var a anchor
	if p.peek().text == "easter" {
		p.pos++
		a.easter = true
		a.offset = p.offset()
		return a, nil
	}
	month, ok := months[p.peek().text]
	if !ok {
		return a, p.fail("a month")
	}
	p.pos++
	a.month = time.Month(month)
	if p.peek().text == "." {
		p.pos++
	}
	if t := p.peek(); t.kind == number && len(t.text) <= 2 && !p.clockHere() {
		var err error
		if a.date, err = p.number(1, monthDays(leapYear, a.month)); err != nil {
			return a, err
		}
		a.offset = p.offset()
		return a, nil
	}
	begin := p.pos
	if where == ends {
		return a, nil
	}
	if w, n, ok := p.nthDay(); ok {
		a.weekday, a.nth = w, n
		a.offset = p.offset()
		if _, isMonth := months[p.ahead(1).text]; where == begins && (p.peek().text != "-" || !isMonth) {
			p.pos = begin
			return anchor{month: a.month}, nil
		}
	}
	return a, nil
}

// clockHere reports whether the number here is a time, not a day.
func (p *parser) clockHere() bool {
	next, after := p.ahead(1).text, p.ahead(2)
	return next == ":" && len(after.text) == 2 && after.kind == number || next == "." && after.kind == number
}

// nthDay takes a weekday with one number in brackets.
func (p *parser) nthDay() (weekday, n int, ok bool) {
	begin := p.pos
	w, ok := weekdays[p.peek().text]
	if !ok || p.ahead(1).text != "[" {
		return 0, 0, false
	}
	p.pos += 2
	sign := 1
	if p.take("-") {
		sign = -1
	}
	n, err := p.number(1, 5)
	if err != nil || !p.take("]") {
		p.pos = begin
		return 0, 0, false
	}
	return w, sign * n, true
}

package hours

import "strconv"

// Ranges that follow the sun are unknown between these minutes of the day, the
// earliest and latest at which each event can be.
var sunEvents = map[string][2]int{
	"dawn": {0, dayMinutes / 2}, "sunrise": {0, dayMinutes / 2},
	"sunset": {dayMinutes / 2, dayMinutes}, "dusk": {dayMinutes / 2, dayMinutes},
}

// clock is one end of a time range: between its earliest and latest minute.
type clock struct{ earliest, latest int }

func (c clock) sun() bool { return c.earliest != c.latest }

// times reports whether a time stands here.
func (p *parser) times() bool {
	t := p.peek()
	if _, ok := sunEvents[t.text]; ok || t.text == "(" {
		return true
	}
	return t.kind == number && len(t.text) <= 2
}

// readTimes reads a list of time ranges.
func (p *parser) readTimes(r *rule) error {
	for {
		if err := p.timeRange(r); err != nil {
			return err
		}
		if !p.another(p.times) {
			return nil
		}
	}
}

// another takes a comma where one of a list's kind stands behind it.
func (p *parser) another(here func() bool) bool {
	if !p.take(",") {
		return false
	}
	if here() {
		return true
	}
	p.pos--
	return false
}

func (p *parser) timeRange(r *rule) error {
	begin := p.pos
	from, err := p.clock()
	if err != nil {
		return err
	}
	if from.latest > dayMinutes || !from.sun() && from.latest == dayMinutes {
		p.pos = begin
		return p.fail("a time from 00:00 to 23:59")
	}
	if p.take("+") {
		r.spans = append(r.spans, span{from.earliest, openEnd(from.latest), true})
		return nil
	}
	if !p.take("-") {
		return p.fail(`"-" and the end of the range, or "+"`)
	}
	begin = p.pos
	to, err := p.clock()
	if err != nil {
		return err
	}
	if to.latest > 2*dayMinutes {
		p.pos = begin
		return p.fail("a time up to 48:00")
	}
	if from.sun() || to.sun() {
		if to.latest <= from.earliest || to.sun() && to.earliest < from.latest {
			to.latest += dayMinutes
		}
		r.spans = append(r.spans, span{from.earliest, to.latest, true})
		return nil
	}
	if to.latest <= from.latest {
		to.latest += dayMinutes
	}
	r.spans = append(r.spans, span{from.latest, to.latest, false})
	if p.take("+") {
		r.spans = append(r.spans, span{to.latest, openEnd(to.latest), true})
	}
	return nil
}

// openEnd is how long an open end leaves a place perhaps open.
func openEnd(minute int) int {
	switch {
	case minute >= 22*60:
		return minute + 8*60
	case minute >= 17*60:
		return minute + 10*60
	}
	return dayMinutes
}

// clock reads "8", "08:00", "8.30", "5:30 pm", "sunset" or "(sunset+01:00)".
func (p *parser) clock() (clock, error) {
	if e, ok := sunEvents[p.peek().text]; ok {
		p.pos++
		return clock{e[0], e[1]}, nil
	}
	if p.take("(") {
		return p.shifted()
	}
	minute, err := p.minute()
	return clock{minute, minute}, err
}

func (p *parser) minute() (int, error) {
	begin := p.pos
	hour, err := p.number(0, 48)
	if err != nil {
		return 0, err
	}
	minute := 0
	if p.peek().text == ":" || p.peek().text == "." {
		if len(p.ahead(1).text) != 2 {
			return 0, p.fail("minutes of two digits")
		}
		p.pos++
		if minute, err = p.number(0, 59); err != nil {
			return 0, err
		}
	}
	half := p.peek().text
	if half != "am" && half != "pm" {
		return hour*60 + minute, nil
	}
	if hour < 1 || hour > 12 {
		p.pos = begin
		return 0, p.fail("an hour from 1 to 12 before am or pm")
	}
	p.pos++
	hour %= 12
	if half == "pm" {
		hour += 12
	}
	return hour*60 + minute, nil
}

func (p *parser) shifted() (clock, error) {
	e, ok := sunEvents[p.peek().text]
	if !ok {
		return clock{}, p.fail("sunrise, sunset, dawn or dusk")
	}
	p.pos++
	sign := 1
	switch {
	case p.take("-"):
		sign = -1
	case !p.take("+"):
		return clock{}, p.fail(`"+" or "-" and hours:minutes`)
	}
	shift, err := p.minute()
	if err != nil {
		return clock{}, err
	}
	if !p.take(")") {
		return clock{}, p.fail(`")"`)
	}
	return clock{max(0, e[0]+sign*shift), min(dayMinutes, e[1]+sign*shift)}, nil
}

// atoi reads a token that is known to be a short number.
func atoi(t token) int {
	n, _ := strconv.Atoi(t.text)
	return n
}

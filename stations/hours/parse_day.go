package hours

import "slices"

// days reports whether a weekday or a kind of holiday stands here.
func (p *parser) days() bool {
	t := p.peek().text
	_, ok := weekdays[t]
	return ok || t == "ph" || t == "sh"
}

// readDays reads a list of days of which one must match. A second list after a
// space must match too: "SH Mo-Fr".
func (p *parser) readDays(r *rule) error {
	var group []daySelector
	for {
		d, err := p.daySelector()
		if err != nil {
			return err
		}
		if group = append(group, d); !p.another(p.days) {
			break
		}
	}
	if r.days = append(r.days, group); len(r.days) > 1 && !r.holidayAndDays() {
		return p.fail(`"," between days`)
	}
	return nil
}

// holidayAndDays allows two lists, of holidays and of weekdays.
func (r *rule) holidayAndDays() bool {
	if len(r.days) != 2 {
		return false
	}
	isWeekday := func(d daySelector) bool { return d.kind == weekday }
	return slices.ContainsFunc(r.days[0], isWeekday) != slices.ContainsFunc(r.days[1], isWeekday)
}

func (p *parser) daySelector() (daySelector, error) {
	var d daySelector
	switch p.peek().text {
	case "ph":
		d.kind = publicHoliday
	case "sh":
		d.kind = schoolHoliday
	default:
		d.from = weekdays[p.peek().text]
	}
	p.pos++
	d.to = d.from
	if d.kind != weekday {
		d.offset = p.offset()
		return d, nil
	}
	p.take(".") // of an abbreviation
	var err error
	switch {
	case p.peek().text == "[":
		d.nth, err = p.nths()
	case p.peek().text == "-" && p.ahead(1).kind == word:
		p.pos++
		to, ok := weekdays[p.peek().text]
		if !ok {
			return d, p.fail("a weekday")
		}
		d.to = to
		p.pos++
	}
	if err == nil {
		d.offset = p.offset()
	}
	return d, err
}

// nths reads "[1]", "[-1]", "[1,3]" or "[1-2]".
func (p *parser) nths() ([]int, error) {
	p.pos++
	var out []int
	for {
		sign := 1
		if p.take("-") {
			sign = -1
		}
		n, err := p.number(1, 5)
		if err != nil {
			return nil, err
		}
		out = append(out, sign*n)
		if sign > 0 && p.take("-") {
			to, err := p.number(n, 5)
			if err != nil {
				return nil, err
			}
			for i := n + 1; i <= to; i++ {
				out = append(out, i)
			}
		}
		switch {
		case p.take("]"):
			return out, nil
		case !p.take(","):
			return nil, p.fail(`"]"`)
		}
	}
}

package hours

import (
	"cmp"
	"fmt"
	"strconv"

	"ampleway/data/fault"
)

// The longest expression that is read, in bytes, and the most rules in it.
// OpenStreetMap allows 255 characters a value.
const (
	maxBytes = 4096
	maxRules = 128
)

// parser walks over the tokens of an expression.
type parser struct {
	text   string
	tokens []token
	pos    int
}

// Parse reads an expression. With an error it returns a schedule that is
// Unknown at every time, so that a caller may go on with it.
func Parse(text string) (*Schedule, error) {
	s := &Schedule{}
	if len(text) > maxBytes {
		return s, &fault.Input{Field: "opening_hours", Found: text[:32], Expected: fmt.Sprintf("at most %d bytes", maxBytes)}
	}
	tokens, ok := lex(text)
	p := &parser{text: text, tokens: tokens}
	if !ok {
		p.pos = len(tokens) - 1
		return s, p.fail("a day, a time, a state or a comment in double quotes")
	}
	rules, err := p.rules()
	if err == nil {
		s.rules = rules
	}
	return s, err
}

func (p *parser) rules() ([]rule, error) {
	var rules []rule
	joined := replaces
	for {
		for p.take(";") {
		}
		if p.peek().kind == end && len(rules) > 0 && !p.after("||") {
			return rules, nil
		}
		r, err := p.rule()
		if err != nil {
			return nil, err
		}
		r.join = joined
		if rules = append(rules, r); len(rules) > maxRules {
			return nil, p.fail(fmt.Sprintf("at most %d rules", maxRules))
		}
		switch {
		case p.take(";"):
			joined = replaces
		case p.take(","):
			if joined != fallback {
				joined = adds
			}
		case p.take("||"):
			joined = fallback
		case p.peek().kind == end:
			return rules, nil
		default:
			return nil, p.fail("the end of the rule")
		}
	}
}

// rule reads the selectors of a rule, which may be given in any order as long
// as times come last, and its state.
func (p *parser) rule() (rule, error) {
	var r rule
	var err error
	said, noted, timed, always, start := false, false, false, false, p.pos
	for err == nil {
		switch {
		case p.peek().kind == comment:
			noted = true
			p.pos++
		case p.state(&r):
			if said {
				p.pos--
				return r, p.fail("one state in a rule")
			}
			said = true
		case said || noted:
			return finish(r, said, noted), p.ruleEnd()
		case p.always():
			always = true
		case p.times():
			if timed || always {
				return r, p.fail("a separator before another time")
			}
			timed = true
			err = p.readTimes(&r)
		case p.peek().text == "daily" && !timed:
			p.pos++
		case p.dates() && !timed:
			err = p.readDates(&r)
		case p.peek().text == "week" && !timed:
			p.pos++
			r.weeks, err = p.steps(1, 53)
		case p.days() && !timed:
			err = p.readDays(&r)
		case p.peek().text == ":" && p.pos > start && !timed && p.tokens[p.pos-1].text != ":":
			p.pos++
		default:
			if p.pos == start || p.peek().text == "," && !timed && !always {
				return r, p.fail("a day, a date, a time or a state")
			}
			return finish(r, said, noted), p.ruleEnd()
		}
	}
	return r, err
}

func (p *parser) ruleEnd() error {
	switch t := p.peek(); {
	case t.kind == end, t.text == ";", t.text == ",", t.text == "||":
		return nil
	}
	return p.fail(`";", ",", "||" or the end`)
}

// finish gives a rule its state: open, but unknown where only a comment
// stands.
func finish(r rule, said, noted bool) rule {
	switch {
	case said:
	case noted:
		r.state = Unknown
	default:
		r.state = Open
	}
	return r
}

func (p *parser) state(r *rule) bool {
	if p.peek().kind != word {
		return false
	}
	switch p.peek().text {
	case "open":
		r.state = Open
	case "closed", "off":
		r.state = Closed
	case "unknown":
		r.state = Unknown
	default:
		return false
	}
	p.pos++
	return true
}

// always takes "24/7".
func (p *parser) always() bool {
	if p.peek().text != "24" || p.ahead(1).text != "/" || p.ahead(2).text != "7" || p.ahead(3).text == "/" {
		return false
	}
	p.pos += 3
	return true
}

// steps reads years or weeks: numbers, ranges, "+" for without end, and "/n".
func (p *parser) steps(least, most int) ([]stepRange, error) {
	var out []stepRange
	for {
		from, err := p.number(least, most)
		if err != nil {
			return nil, err
		}
		r := stepRange{from, from, 1}
		switch {
		case p.take("+"):
			r.to = most
		case p.take("-"):
			if r.to, err = p.number(from, most); err != nil {
				return nil, err
			}
		}
		if p.take("/") {
			if r.step, err = p.number(1, most); err != nil {
				return nil, err
			}
		}
		out = append(out, r)
		next := p.ahead(1)
		if p.peek().text != "," || next.kind != number || len(next.text) != len(strconv.Itoa(most)) && most > 99 || p.ahead(2).text == ":" {
			return out, nil
		}
		p.pos++
	}
}

func (p *parser) number(least, most int) (int, error) {
	n, err := strconv.Atoi(p.peek().text)
	if p.peek().kind != number || err != nil || n < least || n > most {
		return 0, p.fail(fmt.Sprintf("a number from %d to %d", least, most))
	}
	p.pos++
	return n, nil
}

// offset reads "+1 day" or "-2 days", if it stands here.
func (p *parser) offset() int {
	sign, n, unit := p.peek().text, p.ahead(1), p.ahead(2).text
	if sign != "+" && sign != "-" || n.kind != number || len(n.text) > 3 || unit != "day" && unit != "days" {
		return 0
	}
	p.pos += 3
	days, _ := strconv.Atoi(n.text)
	if sign == "-" {
		return -days
	}
	return days
}

func (p *parser) peek() token { return p.ahead(0) }

func (p *parser) ahead(n int) token {
	if p.pos+n >= len(p.tokens) {
		return token{}
	}
	return p.tokens[p.pos+n]
}

func (p *parser) take(text string) bool {
	if t := p.peek(); t.kind != mark || t.text != text {
		return false
	}
	p.pos++
	return true
}

// after reports whether the token before this one is a mark.
func (p *parser) after(text string) bool {
	return p.pos > 0 && p.tokens[p.pos-1].kind == mark && p.tokens[p.pos-1].text == text
}

func (p *parser) fail(expected string) error {
	at := p.peek().start
	found := p.text[at:]
	found = cmp.Or(found, "the end")
	return &fault.Input{Where: fmt.Sprintf("character %d", at+1), Field: "opening_hours", Found: found, Expected: expected}
}

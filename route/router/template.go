package router

import (
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"ampleway/data/fault"
)

// text is a template cut into literal pieces and placeholders.
type text []piece

type piece struct {
	literal     string
	placeholder string // "from.lon" and so on; empty for a literal
}

const placeholderList = "{from.lon} {from.lat} {from.lonlat} {from.latlon} {to.lon} {to.lat} {to.lonlat} {to.latlon}"

func parseText(s string) (text, *fault.Input) {
	var t text
	var literal strings.Builder
	flush := func() {
		if literal.Len() > 0 {
			t = append(t, piece{literal: literal.String()})
			literal.Reset()
		}
	}
	for len(s) > 0 {
		switch {
		case strings.HasPrefix(s, "{{"), strings.HasPrefix(s, "}}"):
			literal.WriteByte(s[0])
			s = s[2:]
		case s[0] == '{':
			name, rest, closed := strings.Cut(s[1:], "}")
			if !closed || !isPlaceholder(name) {
				return nil, &fault.Input{Field: "placeholder", Found: "{" + name, Expected: "one of " + placeholderList + ", or {{ for a brace"}
			}
			flush()
			t = append(t, piece{placeholder: name})
			s = rest
		case s[0] == '}':
			return nil, &fault.Input{Field: "placeholder", Found: "} without {", Expected: "}} for a brace"}
		default:
			literal.WriteByte(s[0])
			s = s[1:]
		}
	}
	flush()
	return t, nil
}

func isPlaceholder(name string) bool {
	return strings.Contains(placeholderList, "{"+name+"}") && !strings.ContainsAny(name, "{ ")
}

// fill puts the ends in.
func (t text) fill(from, to orb.Point) string {
	var b strings.Builder
	for _, p := range t {
		b.WriteString(p.literal)
		end, what, _ := strings.Cut(p.placeholder, ".")
		at := from
		if end == "to" {
			at = to
		}
		switch what {
		case "lon":
			b.WriteString(degrees(at.Lon()))
		case "lat":
			b.WriteString(degrees(at.Lat()))
		case "lonlat":
			b.WriteString(degrees(at.Lon()) + "," + degrees(at.Lat()))
		case "latlon":
			b.WriteString(degrees(at.Lat()) + "," + degrees(at.Lon()))
		}
	}
	return b.String()
}

// degrees writes 7 decimals, a centimetre, without an exponent.
func degrees(x float64) string {
	s := strconv.FormatFloat(x, 'f', 7, 64)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// bothEnds checks that the placeholders of the templates give a longitude
// and a latitude of each end.
func bothEnds(texts ...text) *fault.Input {
	has := map[string]bool{}
	for _, t := range texts {
		for _, p := range t {
			end, what, _ := strings.Cut(p.placeholder, ".")
			has[end+".lon"] = has[end+".lon"] || strings.Contains(what, "lon")
			has[end+".lat"] = has[end+".lat"] || strings.Contains(what, "lat")
		}
	}
	for _, need := range []string{"from.lon", "from.lat", "to.lon", "to.lat"} {
		if !has[need] {
			return &fault.Input{Field: "placeholder", Found: "no {" + need + "}", Expected: "longitude and latitude of both ends, of " + placeholderList}
		}
	}
	return nil
}

// words parts a command at blanks; quotation marks hold a word together.
func words(command string) ([]string, *fault.Input) {
	var list []string
	var word strings.Builder
	var quote rune
	inWord := false
	for _, c := range command {
		switch {
		case quote != 0 && c == quote:
			quote = 0
		case quote != 0:
			word.WriteRune(c)
		case c == '\'' || c == '"':
			quote, inWord = c, true
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			if inWord {
				list = append(list, word.String())
				word.Reset()
			}
			inWord = false
		default:
			word.WriteRune(c)
			inWord = true
		}
	}
	if quote != 0 {
		return nil, &fault.Input{Found: "an open quotation mark " + string(quote), Expected: "it closed"}
	}
	if inWord {
		list = append(list, word.String())
	}
	return list, nil
}

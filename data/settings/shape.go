package settings

import (
	"bytes"
	"encoding/json"
	"strconv"

	"ampleway/data/fault"
)

const (
	// mostDepth is far more than any file for this program nests.
	mostDepth = 100
	// mostOpen bounds the brackets of a YAML line that may be open at once,
	// counted without those that quotes or comments may hide. The library's
	// memory grows with the square of the nesting: at 1,000 it takes 2 MB.
	mostOpen = 1000
	// mostEmpty bounds the lines that hold nothing but the dash of a list, for
	// which the library takes time with the square of their number.
	mostEmpty = 10_000
	// longLine is a length from which a line is not shown: the library takes
	// memory and time with the square of its length to show it.
	longLine = 2000
)

// checkShape refuses, before the library sees it, what it would take memory or
// time for with the square of the length.
func checkShape(text []byte, name, kind string) error {
	if n := bytes.Count(text, []byte("\n-\n")); n > mostEmpty {
		return &fault.Input{File: name, Found: strconv.Itoa(n) + " empty entries of lists", Expected: kind}
	}
	line := deepLine(text)
	if line == 0 {
		return nil
	}
	return &fault.Input{File: name, Where: "line " + strconv.Itoa(line), Found: "lists or keys nested too deeply", Expected: kind + " nested to at most " + strconv.Itoa(mostDepth) + " levels"}
}

// deepLine is the line at which text nests too deeply, 0 for none. In JSON the
// depth is exact. In YAML a closing bracket counts only on a line without
// quotes and comments, which might hide it, and a block is as deep as the
// column it begins at, at most.
func deepLine(text []byte) int {
	if json.Valid(text) {
		return deepJSON(text)
	}
	open, number := 0, 0
	for line := range bytes.Lines(text) {
		number++
		open += bytes.Count(line, []byte("[")) + bytes.Count(line, []byte("{"))
		if open > mostOpen || blockColumn(line) > 2*mostDepth {
			return number
		}
		if !bytes.ContainsAny(line, `"'#`) {
			open = max(0, open-bytes.Count(line, []byte("]"))-bytes.Count(line, []byte("}")))
		}
	}
	return 0
}

func deepJSON(text []byte) int {
	depth, quoted, number := 0, false, 1
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\n':
			number++
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			if depth++; depth > mostDepth {
				return number
			}
		case c == ']' || c == '}':
			depth--
		}
	}
	return 0
}

// blockColumn is the column of a line's last leading "- " or "? ", or of a
// lone one at its end; 0 where it begins with something else.
func blockColumn(line []byte) (column int) {
	for i := 0; i < len(line); i++ {
		switch line[i] {
		case ' ', '\t':
		case '-', '?':
			if i+1 < len(line) && !bytes.ContainsAny(line[i+1:i+2], " \t\r\n") {
				return column
			}
			column = i + 1
		default:
			return column
		}
	}
	return column
}

// Showable tells whether the lines of a text are short enough to be shown.
func Showable(text []byte) bool {
	for line := range bytes.Lines(text) {
		if len(line) > longLine {
			return false
		}
	}
	return true
}

// Package wording writes counts and the texts of data files so that they can be
// put into a sentence, a terminal and a table.
package wording

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Count is a number with its thing: "1 pass", "2 passes", "0 stations". The
// plural follows English spelling; a thing of several words has it on the last.
func Count[N ~int | ~int64](n N, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %s", n, plural(thing))
}

// CountIs is Count with its verb: "1 job is", "2 jobs are".
func CountIs[N ~int | ~int64](n N, thing string) string {
	if n == 1 {
		return "1 " + thing + " is"
	}
	return Count(n, thing) + " are"
}

// The puts the article before an end of a road that has no name.
func The(name string) string {
	if name == "start" || name == "destination" {
		return "the " + name
	}
	return name
}

func plural(thing string) string {
	for _, hiss := range []string{"s", "x", "ch", "sh"} {
		if strings.HasSuffix(thing, hiss) {
			return thing + "es"
		}
	}
	if stem, ok := strings.CutSuffix(thing, "y"); ok && stem != "" && !strings.ContainsAny(stem[len(stem)-1:], "aeiou") {
		return stem + "ies"
	}
	return thing + "s"
}

// Plain is a text of somebody else's file without what steers a terminal or
// turns the order of what stands around it: control characters (C0, C1, DEL)
// become spaces, marks of direction (Unicode Standard Annex 9: U+061C, U+200E,
// U+200F, U+202A to U+202E, U+2066 to U+2069) and byte order marks are left
// out, bytes that are no UTF-8 become U+FFFD.
func Plain(text string) string {
	if clean(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		switch {
		case turns(r):
			return -1
		case steers(r):
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

func clean(text string) bool {
	for _, r := range text {
		if r == unicode.ReplacementChar || steers(r) || turns(r) {
			return false
		}
	}
	return true
}

func steers(r rune) bool {
	return unicode.IsControl(r) || r == '\u2028' || r == '\u2029'
}

func turns(r rune) bool {
	return unicode.Is(unicode.Bidi_Control, r) || r == '\uFEFF'
}

// A is a thing with "a" or "an" before it, but for a name that begins with a
// word that takes neither: "a small hatch", "an estate", "our car", "Ida's van".
func A(name string) string {
	first, _, _ := strings.Cut(strings.ToLower(name), " ")
	switch {
	case slices.Contains([]string{"a", "an", "the", "my", "our", "your", "his", "her", "their", "this"}, first), strings.HasSuffix(first, "'s"), strings.HasSuffix(first, "’s"):
		return name
	case first != "" && strings.Contains("aeio", first[:1]):
		return "an " + name
	}
	return "a " + name
}

// Span is a length of time in seconds: "45 min", "6 h 05 min".
func Span(timeS float64) string {
	minutes := int(math.Round(timeS / 60))
	if minutes < 60 {
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d h %02d min", minutes/60, minutes%60)
}

package wording_test

import (
	"strings"
	"testing"

	"ampleway/data/wording"
)

func TestCount(t *testing.T) {
	for want, got := range map[string]string{
		"1 pass": wording.Count(1, "pass"), "2 passes": wording.Count(2, "pass"), "0 stations": wording.Count(0, "station"),
		"3 entries": wording.Count(int64(3), "entry"), "2 bays": wording.Count(2, "bay"), "2 different outages": wording.Count(2, "different outage"),
		"1 job is": wording.CountIs(1, "job"), "2 jobs are": wording.CountIs(2, "job"),
	} {
		if got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}

// The marks of direction are those of Unicode Standard Annex 9, table 4 and
// section 2; control characters are those of ISO/IEC 6429 (C0, C1).
func TestPlain(t *testing.T) {
	for text, want := range map[string]string{
		"Höfn Süd 充電":                                           "Höfn Süd 充電",
		"a\x1b[31mb\x07\u009b2Jc\x7f\td\r\ne":                   "a [31mb  2Jc  d  e",
		"\u202eevil\u202c\u2066x\u2069\u200e\u200f\u061c\ufeff": "evilx",
		"a\xffb": "a\uFFFDb",
		"👩‍👧":    "👩‍👧", // joined by U+200D, which stays
	} {
		if got := wording.Plain(text); got != want {
			t.Errorf("%q becomes %q, not %q", text, got, want)
		}
	}
}

// A screen leaves what Plain leaves, however the text is cut.
func TestScreen(t *testing.T) {
	const text = "\x1b[1mbold\x1b[0m\tHöfn\r\n\x1b[31m\u202eevil 充電\u009b\x9f"
	const want = "\x1b[1mbold\x1b[0m\tHöfn\r\n [31mevil 充電 \uFFFD"
	var whole strings.Builder
	s := wording.NewScreen(&whole)
	if n, err := s.Write([]byte(text)); n != len(text) || err != nil || s.Flush() != nil || whole.String() != want {
		t.Errorf("%q, %v", whole.String(), err)
	}
	for cut := range len(text) {
		if strings.HasSuffix(text[:cut], "\x1b") || strings.HasSuffix(text[:cut], "\x1b[") || strings.HasSuffix(text[:cut], "\x1b[1") || strings.HasSuffix(text[:cut], "\x1b[0") {
			continue // bold type is written in one piece
		}
		var out strings.Builder
		s := wording.NewScreen(&out)
		s.Write([]byte(text[:cut]))
		s.Write([]byte(text[cut:]))
		if err := s.Flush(); err != nil || out.String() != want {
			t.Errorf("cut at %d: %q, %v", cut, out.String(), err)
		}
	}
}

func TestCell(t *testing.T) {
	for text, want := range map[string]string{"": "", "Höfn": "Höfn", "=1+1": "'=1+1", "+x": "'+x", "-x": "'-x", "@x": "'@x", "\tx": "'\tx", "\rx": "'\rx", "a=1": "a=1"} {
		if got := wording.Cell(text); got != want {
			t.Errorf("%q becomes %q", text, got)
		}
	}
}

func TestA(t *testing.T) {
	for _, want := range []string{"a small hatch", "an estate", "our car", "Ida's van", "My car", "a van"} {
		name := strings.TrimPrefix(strings.TrimPrefix(want, "an "), "a ")
		if got := wording.A(name); got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}

package wording_test

import (
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

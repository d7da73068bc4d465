package stations

import (
	"strings"

	"ampleway/data/fault"
)

// Status says whether a site or stall works.
type Status uint8

// The states, the zero value first.
const (
	StatusUnknown    Status = iota // the source does not say; used, as most open data says nothing
	StatusOperating                // in service, free or busy
	StatusPlanned                  // not built yet
	StatusClosed                   // removed for good
	StatusOutOfOrder               // there, but not working now
)

var statusText = []string{"unknown", "operating", "planned", "closed", "out of order"}

// Access says who may charge at a site.
type Access uint8

// The kinds of access, the zero value first.
const (
	AccessUnknown   Access = iota // the source does not say
	AccessPublic                  // anyone, at the opening hours
	AccessCustomers               // customers or guests of the place, or by arrangement
	AccessPrivate                 // residents, staff, a fleet
)

var accessText = []string{"unknown", "public", "customers", "private"}

// working reports whether nothing is known against using a site or stall.
func (s Status) working() bool { return s == StatusUnknown || s == StatusOperating }

// String gives the word used in files.
func (s Status) String() string { return word(statusText, int(s)) }

// MarshalText gives the word used in files.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the word used in files.
func (s *Status) UnmarshalText(text []byte) error {
	n, err := wordIndex("status", statusText, string(text))
	*s = Status(n)
	return err
}

// String gives the word used in files.
func (a Access) String() string { return word(accessText, int(a)) }

// MarshalText gives the word used in files.
func (a Access) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads the word used in files.
func (a *Access) UnmarshalText(text []byte) error {
	n, err := wordIndex("access", accessText, string(text))
	*a = Access(n)
	return err
}

func word(words []string, n int) string {
	if n < len(words) {
		return words[n]
	}
	return words[0]
}

func wordIndex(field string, words []string, text string) (int, error) {
	want := strings.ToLower(strings.TrimSpace(text))
	if want == "" {
		return 0, nil
	}
	for n, w := range words {
		if w == want || strings.ReplaceAll(w, " ", "_") == want {
			return n, nil
		}
	}
	return 0, &fault.Input{Field: field, Found: text, Expected: "one of " + strings.Join(words, ", ")}
}

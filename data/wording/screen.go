package wording

import (
	"io"
	"sync"
	"unicode/utf8"
)

// Screen is a writer for what a person reads, on a terminal perhaps: texts of
// data files that steer one come out as [Plain] leaves them. Line ends, tabs and
// bold type (SGR 1 and 0 of ISO/IEC 6429) stay. It remembers the first error, and may be written to by several at once.
type Screen struct {
	mutex sync.Mutex
	to    io.Writer
	rest  []byte // the beginning of a character whose end has not come yet
	out   []byte
	err   error
}

// NewScreen writes to a writer.
func NewScreen(to io.Writer) *Screen { return &Screen{to: to} }

// Unwrap is the writer behind it.
func (s *Screen) Unwrap() io.Writer { return s.to }

// Write writes text, but for a last character that is not whole yet.
func (s *Screen) Write(text []byte) (int, error) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if s.err != nil {
		return 0, s.err
	}
	all := append(s.rest, text...)
	s.out = s.out[:0]
	for len(all) > 0 && utf8.FullRune(all) {
		if n := boldType(all); n > 0 {
			s.out, all = append(s.out, all[:n]...), all[n:]
			continue
		}
		r, n := utf8.DecodeRune(all)
		s.out, all = appendPlain(s.out, r), all[n:]
	}
	s.rest = append([]byte(nil), all...)
	if _, s.err = s.to.Write(s.out); s.err != nil {
		return 0, s.err
	}
	return len(text), nil
}

// Flush writes what never became a whole character and gives the first error.
func (s *Screen) Flush() error {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if len(s.rest) > 0 && s.err == nil {
		s.rest = nil
		_, s.err = s.to.Write(utf8.AppendRune(nil, utf8.RuneError))
	}
	return s.err
}

// boldType is the length of a switch of bold type at the beginning of text.
func boldType(text []byte) int {
	for _, on := range []string{"\x1b[1m", "\x1b[0m"} {
		if len(text) >= len(on) && string(text[:len(on)]) == on {
			return len(on)
		}
	}
	return 0
}

func appendPlain(to []byte, r rune) []byte {
	switch {
	case r == '\n', r == '\r', r == '\t':
	case turns(r):
		return to
	case steers(r):
		r = ' '
	}
	return utf8.AppendRune(to, r)
}

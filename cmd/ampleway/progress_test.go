package main

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// slowly is a writer that takes its time.
type slowly struct{ strings.Builder }

func (s *slowly) Write(text []byte) (int, error) {
	time.Sleep(time.Second)
	return s.Builder.Write(text)
}

// Work that ends while it is being told what is done waits until that is said:
// no line comes after what the work itself says.
func TestNothingIsToldAfterTheWork(t *testing.T) {
	for took, want := range map[time.Duration]string{patience / 2: "", patience + time.Second/2: "reading …\n", 5 * patience: "reading …\n"} {
		synctest.Test(t, func(t *testing.T) {
			var out slowly
			done := tell(&out, "reading")
			time.Sleep(took)
			done()
			if out.String() != want {
				t.Errorf("after %s: %q, want %q", took, out.String(), want)
			}
		})
	}
}

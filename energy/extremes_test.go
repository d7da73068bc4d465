package energy

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestExtremesAgainstLookingAtEveryValue(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 600).Draw(r, "n")
		seed := rapid.Uint32().Draw(r, "seed")
		values := make([]float64, n)
		for i := range values {
			seed = seed*1664525 + 1013904223 // Numerical Recipes' generator
			values[i] = float64(seed>>8) - 1<<23
		}
		e := newExtremes(values)
		for range 50 {
			from := rapid.IntRange(0, n-1).Draw(r, "from")
			to := rapid.IntRange(from+1, n).Draw(r, "to")
			low, high := e.between(from, to)
			if part := values[from:to]; low != slices.Min(part) || high != slices.Max(part) {
				r.Fatalf("of %d, %d to %d: %v and %v, want %v and %v", n, from, to, low, high, slices.Min(part), slices.Max(part))
			}
		}
	})
}

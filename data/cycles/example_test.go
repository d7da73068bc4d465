package cycles_test

import (
	"fmt"

	"ampleway/data/cycles"
)

// The highway cycle of 40 CFR Part 86: 765 s, 10.26 miles.
func ExampleHWFET() {
	metres := 0.0
	speeds := cycles.HWFET()
	for i := 1; i < len(speeds); i++ {
		metres += (speeds[i-1] + speeds[i]) / 2
	}
	fmt.Printf("%d s, %.2f miles\n", len(speeds)-1, metres/1609.344)
	// Output: 765 s, 10.26 miles
}

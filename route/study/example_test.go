package study_test

import (
	"context"
	"fmt"

	"ampleway/route/study"
)

// A small study of the demo: two reserves on one road, in summer and in frost.
func Example() {
	s, err := study.Parse([]byte(`format: ampleway-study-2
corridors: [demo:pass]
stations: [demo]
cars: [van]
temp_c: [20, -10]
reserve_pct: [10, 20]
`), "small.yaml", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	summary, err := study.Run(context.Background(), s, study.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("cases:", summary.Cases)
	// Output: cases: 4
}

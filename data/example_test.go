package data_test

import (
	"fmt"

	"ampleway/data"
)

// The corridors of the demo, an invented island.
func ExampleCorridors() {
	for _, name := range data.Corridors() {
		text, err := data.Corridor(name)
		fmt.Println(name, len(text) > 0, err)
	}
	// Output:
	// north true <nil>
	// pass true <nil>
	// upland true <nil>
}

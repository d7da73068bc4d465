package year_test

import (
	"bytes"
	"fmt"
	"slices"

	"ampleway/data"
	"ampleway/route/year"
)

// The households of the demo, all of them invented.
func ExampleReadHouseholds() {
	file, err := year.ReadHouseholds(bytes.NewReader(data.Households()), "households.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	var names []string
	for name := range file.Households {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Println(name)
	}
	fmt.Println("says that it is invented:", file.Note != "")
	// Output:
	// outlet in the shed
	// two cars on one feed
	// wall charger
	// says that it is invented: true
}

package fault_test

import (
	"fmt"

	"ampleway/data/fault"
)

func ExampleInput() {
	err := &fault.Input{File: "stations.csv", Where: "row 3", Field: "lat", Found: "95", Expected: "degrees from -90 to 90"}
	fmt.Println(err)
	// Output: stations.csv, row 3, lat: found 95: expected degrees from -90 to 90
}

package cars_test

import (
	"fmt"

	"ampleway/data/cars"
)

func ExampleNames() {
	for _, name := range cars.Names() {
		file, _, ok := cars.File(name)
		fmt.Println(name, file, ok)
	}
	// Output:
	// crossover crossover.yaml true
	// large-suv large-suv.yaml true
	// light-truck-with-trailer light-truck-with-trailer.yaml true
	// mid-size-sedan mid-size-sedan.yaml true
	// small-hatch small-hatch.yaml true
	// van van.yaml true
}

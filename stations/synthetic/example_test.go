package synthetic_test

import (
	"fmt"
	"reflect"

	"ampleway/stations/synthetic"
)

// The same seed gives the same stations.
func ExampleSites() {
	sites := synthetic.Sites(1000, 7)
	fmt.Println(len(sites), reflect.DeepEqual(sites, synthetic.Sites(1000, 7)))
	line, chainageM := synthetic.Route(100_000, 500, 7)
	fmt.Printf("%d points, %.0f km\n", len(line), chainageM[len(chainageM)-1]/1000)
	// Output:
	// 1000 true
	// 500 points, 100 km
}

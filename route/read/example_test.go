package read_test

import (
	"fmt"
	"strings"

	"ampleway/route/read"
)

func ExampleRead() {
	text := `{"type": "Feature",
	 "properties": {"name": "to the coast", "speed_kmh": [50, 90]},
	 "geometry": {"type": "LineString", "coordinates": [[7, 45, 310], [7, 45.1, 250], [7.1, 45.2, 5]]}}`
	r, err := read.Read(strings.NewReader(text), "coast.geojson", read.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d points, %.1f km, starts at %.0f km/h\n", r.Name, r.Len(), r.LengthM()/1000, r.Point(0).SpeedMS*3.6)

	_, err = read.Read(strings.NewReader(`{"type": "LineString", "coordinates": [[45, 107], [45, 108]]}`), "swapped.geojson", read.Options{})
	fmt.Println(err)
	// Output:
	// to the coast: 3 points, 24.7 km, starts at 50 km/h
	// swapped.geojson, position 1, latitude: found 107 beside longitude 45: expected degrees within ±90 (longitude and latitude look swapped)
}

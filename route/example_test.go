package route_test

import (
	"fmt"
	"math"

	"ampleway/route"
)

func Example() {
	r, err := route.New("over the hill", []route.Point{
		{Lon: 10.00, Lat: 50.00, ElevationM: 200, SpeedMS: 25},
		{Lon: 10.05, Lat: 50.00, ElevationM: 300, SpeedMS: 20},
		{Lon: 10.10, Lat: 50.00, ElevationM: 150, SpeedMS: 0},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f km, half way at %.2f° east\n", r.LengthM()/1000, r.At(r.LengthM()/2).Lon)
	climb := r.Climb(route.DefaultSmoothingM)
	fmt.Printf("%.0f m up, %.0f m down\n", climb.AscentM, climb.DescentM)
	for i, s := range r.Steps(route.StepOptions{}) {
		fmt.Printf("piece %d: %.0f m at %.0f m/s, rising %.0f m\n", i, s.LengthM, s.SpeedMS, s.RiseM)
	}
	// Output:
	// 7.2 km, half way at 10.05° east
	// 98 m up, 148 m down
	// piece 0: 3585 m at 25 m/s, rising 98 m
	// piece 1: 3585 m at 20 m/s, rising -148 m
}

func ExampleRoute_Part() {
	r, err := route.New("line", []route.Point{
		{Lon: 10, Lat: 50, ElevationM: math.NaN()},
		{Lon: 10, Lat: 51, ElevationM: math.NaN()},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	part, ok := r.Part(10e3, 60e3)
	fmt.Printf("%t, %.0f km from %.2f° to %.2f° north\n", ok, part.LengthM()/1000, part.Point(0).Lat, part.Point(1).Lat)
	// Output: true, 50 km from 50.09° to 50.54° north
}

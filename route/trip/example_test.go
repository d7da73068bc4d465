package trip_test

import (
	"bytes"
	"fmt"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
)

// One trip from files to stops: here the demo's, an invented place.
func Example() {
	text, err := data.Corridor("pass")
	if err != nil {
		fmt.Println(err)
		return
	}
	road, err := read.Read(bytes.NewReader(text), "pass.geojson", read.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	sites, _, err := open.Read(bytes.NewReader(data.Stations()), "stations.geojson", open.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	file, carText, _ := cars.File("van")
	car, err := energy.ReadCar(bytes.NewReader(carText), file)
	if err != nil {
		fmt.Println(err)
		return
	}
	ask := question.New()
	drive, goal, err := trip.Prepare(road, stations.NewIndex(stations.Sites(sites)), car, ask)
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f km, stops: %d, reserve kept: %v\n", road.LengthM()/1000, len(plan.Stops), plan.ArriveSoC >= goal.ArriveReserveSoC)
	// Output: 587 km, stops: 5, reserve kept: true
}

package trip_test

import (
	"bytes"
	"testing"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/read"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
)

func demoRoute(t testing.TB, name string) *route.Route {
	t.Helper()
	text, err := data.Corridor(name)
	if err != nil {
		t.Fatal(err)
	}
	r, err := read.Read(bytes.NewReader(text), name, read.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func demoStations(t testing.TB) *stations.Index {
	t.Helper()
	sites, _, err := open.Read(bytes.NewReader(data.Stations()), "demo", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return stations.NewIndex(stations.Sites(sites))
}

func car(t testing.TB, name string) *energy.Car {
	t.Helper()
	file, text, ok := cars.File(name)
	if !ok {
		t.Fatalf("no car %q", name)
	}
	c, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// prepare plans on a demo corridor with the built-in mid-size car.
func prepare(t testing.TB, corridor string, ask question.Question) (*trip.Drive, trip.Goal) {
	t.Helper()
	return prepareCar(t, corridor, "mid-size-sedan", ask)
}

func prepareCar(t testing.TB, corridor, name string, ask question.Question) (*trip.Drive, trip.Goal) {
	t.Helper()
	drive, goal, err := trip.Prepare(demoRoute(t, corridor), demoStations(t), car(t, name), ask)
	if err != nil {
		t.Fatal(err)
	}
	return drive, goal
}

// byEstimate is a request planned by the estimate alone.
func byEstimate() question.Question {
	ask := question.New()
	ask.ConfidencePct = 0
	return ask
}

// percent makes 0 of what would be taken for a fraction.
func percent(v float64) float64 {
	if v < 1 {
		return 0
	}
	return v
}

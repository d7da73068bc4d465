package route_test

import (
	"testing"

	"ampleway/route"
)

// thousandKm is a winding route of 1,000 km and 20,000 points.
func thousandKm() []route.Point {
	points := make([]route.Point, 20000)
	for i := range points {
		points[i] = route.Point{
			Lon:        10 + float64(i%40)*1e-5,
			Lat:        45 + float64(i)*4.5e-4,
			ElevationM: float64(i % 300),
		}
	}
	return points
}

func BenchmarkNew(b *testing.B) {
	points := thousandKm()
	for b.Loop() {
		if _, err := route.New("", points); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSteps(b *testing.B) {
	r, err := route.New("", thousandKm())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		n := 0
		for range r.Steps(route.StepOptions{}) {
			n++
		}
		if n != r.Len()-1 {
			b.Fatal(n)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	r, err := route.New("", thousandKm())
	if err != nil {
		b.Fatal(err)
	}
	s := 0.0
	for b.Loop() {
		if s += 777; s > r.LengthM() {
			s = 0
		}
		r.At(s)
	}
}

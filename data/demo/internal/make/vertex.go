package main

import (
	"math"
	"slices"
)

// Vertices are picked where the road has turned this far or run this long
// since the one before, but no closer than the least spacing.
const (
	turnDeg = 6.0
	longM   = 250.0
	shortM  = 40.0
)

// vertices picks the indexes of the road's points that are written; every
// place is among them.
func (r *road) vertices() []int {
	picked := []int{0}
	last, turned := 0, 0.0
	for i := 1; i < len(r.line)-1; i++ {
		turned += turnRad(r.line, i) * 180 / math.Pi
		runM := r.alongM[i] - r.alongM[last]
		if slices.Contains(r.knots, i) || runM >= longM || turned >= turnDeg && runM >= shortM {
			picked = append(picked, i)
			last, turned = i, 0
		}
	}
	return append(picked, len(r.line)-1)
}

// vertex is a point as it is written: 5 decimals are about a metre.
type vertex struct {
	lon, lat   float64
	elevationM float64
}

func (r *road) vertexAt(i int) vertex {
	lon, lat := r.line[i].lonLat()
	return vertex{round(lon, 5), round(lat, 5), round(r.elevationM[i], 1)}
}

func round(v float64, digits int) float64 {
	k := math.Pow10(digits)
	return math.Round(v*k) / k
}

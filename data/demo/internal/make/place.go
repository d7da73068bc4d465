package main

import (
	"math"

	"ampleway/route/earth"
)

// The island's origin: 41.5 N 150 W, open water more than 1,000 km from any
// land. Positions in the tables are kilometres east and north of it.
const (
	originLon = -150.0
	originLat = 41.5
)

// xy is a position in metres east and north of the origin.
type xy struct{ x, y float64 }

func (p xy) plus(q xy) xy           { return xy{p.x + q.x, p.y + q.y} }
func (p xy) minus(q xy) xy          { return xy{p.x - q.x, p.y - q.y} }
func (p xy) times(k float64) xy     { return xy{p.x * k, p.y * k} }
func (p xy) lengthM() float64       { return math.Hypot(p.x, p.y) }
func (p xy) leftNormal() xy         { return xy{-p.y, p.x} }
func (p xy) distanceM(q xy) float64 { return q.minus(p).lengthM() }

func (p xy) unit() xy { return p.times(1 / p.lengthM()) }

// lonLat puts a position on the ellipsoid: metres north along the meridian,
// then metres east along the parallel reached.
func (p xy) lonLat() (lon, lat float64) {
	_, perLat := earth.DegreeM(originLat)
	lat = originLat + p.y/perLat
	perLon, _ := earth.DegreeM(lat)
	return originLon + p.x/perLon, lat
}

// place is a named point that roads pass through.
type place struct {
	name       string
	eastKm     float64
	northKm    float64
	elevationM float64
	kind       string  // city, town, village, pass, locality
	slowM      float64 // roads within this distance run at town speed
}

func (p place) at() xy { return xy{p.eastKm * 1000, p.northKm * 1000} }

var places = []place{
	// The way over the pass and down the coast.
	{"Velmouth", -247, -17, 12, "city", 4200},
	{"Ostrey", -200, -4, 45, "town", 0},
	{"Kelderwick", -140, 8, 140, "town", 0},
	{"Marl Cross", -102, 17, 230, "village", 0},
	{"Tharn Foot", -64, 30, 430, "village", 700},
	{"Tharn Pass", -40, 40, 1720, "pass", 0},
	{"Grethel Bridge", -10, 34, 560, "village", 800},
	{"Yarrel", 30, 26, 320, "town", 0},
	{"Lowen Strand", 92, 9, 15, "village", 900},
	{"Pellavane", 127, -46, 8, "town", 4500},
	{"Quarrel Head", 157, -102, 30, "village", 600},
	{"Corrowen", 225, -128, 25, "city", 4200},
	// Across the uplands.
	{"Dunmarrow", -140, -75, 210, "town", 2500},
	{"Brennock", -85, -58, 430, "town", 1200},
	{"Hollin Gate", -30, -66, 640, "village", 700},
	{"Wyvenholt", 22, -38, 350, "town", 1400},
	{"Fennish", 52, 66, 520, "village", 700},
	{"Skarrow", 95, 85, 240, "town", 2200},
	// Round the north.
	{"Ansgrove", -225, 45, 20, "town", 1600},
	{"Norrin Bay", -170, 95, 10, "town", 1500},
	{"Cape Weir", -100, 130, 35, "village", 900},
	{"Long Barrens", 0, 150, 90, "locality", 400},
	{"Hasp Point", 80, 140, 25, "village", 900},
	{"Easterlow", 170, 105, 12, "town", 1500},
	{"Merrin Sound", 215, 50, 15, "town", 1200},
	{"Tollen", 235, -20, 30, "village", 800},
	{"Sallow Reach", 122, -172, 20, "town", 1500},
}

func placeNamed(name string) place {
	for _, p := range places {
		if p.name == name {
			return p
		}
	}
	panic("make: no place named " + name)
}

package earth

import (
	"math"

	"github.com/umahmood/haversine"
)

// GreatCircleM returns the great-circle distance in metres between two
// positions on the sphere of MeanRadiusM (haversine formula). Against the
// WGS 84 geodesic it is off by up to 0.57 %.
func GreatCircleM(lon1, lat1, lon2, lat2 float64) float64 {
	_, km := haversine.Distance(
		haversine.Coord{Lat: lat1, Lon: lon1},
		haversine.Coord{Lat: lat2, Lon: lon2})
	if math.IsNaN(km) { // rounding took the sine past 1: opposite points
		return math.Pi * MeanRadiusM
	}
	return km * 1000
}

// shortM is the distance up to which the ellipsoid bends so little that its
// radii at the middle latitude stand for it.
const shortM = 100e3

// DistanceM returns the distance in metres between two positions: the great
// circle, corrected for the ellipsoid. Against the WGS 84 geodesic it is off
// by less than 3e-7 of the distance plus a hundredth of a millimetre up to
// 100 km and less than 2e-6 up to 10,000 km; towards the opposite side of the
// earth the error grows to 0.6 %.
func DistanceM(lon1, lat1, lon2, lat2 float64) float64 {
	greatM := GreatCircleM(lon1, lat1, lon2, lat2)
	switch {
	case greatM == 0:
		return 0
	case greatM > shortM:
		return longDistanceM(lon1, lat1, lon2, lat2)
	}
	mid := (lat1 + lat2) / 2
	perLonM, perLatM := DegreeM(mid)
	dLon, dLat := LonDelta(lon1, lon2), lat2-lat1
	sphereM := math.Hypot(dLon*math.Cos(mid*radiansPerUnit), dLat) * MeanRadiusM * radiansPerUnit
	if sphereM == 0 {
		return greatM
	}
	return greatM * math.Hypot(dLon*perLonM, dLat*perLatM) / sphereM
}

// longDistanceM is Lambert's formula for long lines: the great circle between
// the reduced latitudes, corrected to the first order of the flattening
// (W. D. Lambert, J. Wash. Acad. Sci. 32 (5), 1942; the form from memory, its
// error from the tests here).
func longDistanceM(lon1, lat1, lon2, lat2 float64) float64 {
	reduced := func(lat float64) float64 { return math.Atan(math.Sqrt(1-Eccentricity2) * math.Tan(lat*radiansPerUnit)) }
	beta1, beta2 := reduced(lat1), reduced(lat2)
	sigma := GreatCircleM(lon1, beta1/radiansPerUnit, lon2, beta2/radiansPerUnit) / MeanRadiusM
	sinP, cosP := math.Sincos((beta1 + beta2) / 2)
	sinQ, cosQ := math.Sincos((beta2 - beta1) / 2)
	sinHalf, cosHalf := math.Sincos(sigma / 2)
	x := (sigma - math.Sin(sigma)) * squareOfSine(sinP*cosQ/cosHalf)
	y := (sigma + math.Sin(sigma)) * squareOfSine(cosP*sinQ/sinHalf)
	flattening := 1 - math.Sqrt(1-Eccentricity2)
	return SemiMajorM * (sigma - flattening/2*(x+y))
}

// squareOfSine keeps a sine within 1, which it leaves by rounding where the
// positions are opposite and it is a quotient of two small numbers.
func squareOfSine(sine float64) float64 { return min(1, sine*sine) }

// Package earth is the one place that knows the planet: the distance between
// two positions, the length of a degree, a bearing. Positions are WGS 84
// longitude and latitude in degrees, always in that order (RFC 7946).
package earth

import (
	"math"

	"github.com/umahmood/haversine"
)

// WGS 84 defining constants (NIMA TR8350.2): semi-major axis in metres and
// first eccentricity squared. MeanRadiusM is the sphere of the haversine
// library, on which great circles are measured before they are corrected.
const (
	SemiMajorM     = 6378137.0
	Eccentricity2  = 6.69437999014e-3
	MeanRadiusM    = 6371000.0
	radiansPerUnit = math.Pi / 180
)

// GreatCircleM returns the great-circle distance in metres between two
// positions on the sphere of MeanRadiusM (haversine formula). Against the
// WGS 84 geodesic it is off by up to 0.56 %.
func GreatCircleM(lon1, lat1, lon2, lat2 float64) float64 {
	_, km := haversine.Distance(
		haversine.Coord{Lat: lat1, Lon: lon1},
		haversine.Coord{Lat: lat2, Lon: lon2})
	return km * 1000
}

// DistanceM returns the distance in metres between two positions: the great
// circle, stretched by the ratio of ellipsoid to sphere in the direction
// travelled at the middle latitude. Against the WGS 84 geodesic it is off by
// less than 1e-5 of the distance up to 100 km and less than 0.6 % at any
// distance; route points are metres to kilometres apart.
func DistanceM(lon1, lat1, lon2, lat2 float64) float64 {
	great := GreatCircleM(lon1, lat1, lon2, lat2)
	mid := (lat1 + lat2) / 2
	perLon, perLat := DegreeM(mid)
	dLon, dLat := LonDelta(lon1, lon2), lat2-lat1
	sphere := math.Hypot(dLon*MeanRadiusM*radiansPerUnit*math.Cos(mid*radiansPerUnit), dLat*MeanRadiusM*radiansPerUnit)
	if sphere == 0 {
		return great
	}
	return great * math.Hypot(dLon*perLon, dLat*perLat) / sphere
}

// DegreeM returns the length in metres of one degree of longitude and of one
// degree of latitude at the given latitude, from the ellipsoid's radii of
// curvature (prime vertical and meridian).
func DegreeM(latDeg float64) (perLonM, perLatM float64) {
	sin, cos := math.Sincos(latDeg * radiansPerUnit)
	w2 := 1 - Eccentricity2*sin*sin
	w := math.Sqrt(w2)
	perLonM = SemiMajorM / w * cos * radiansPerUnit
	perLatM = SemiMajorM * (1 - Eccentricity2) / (w2 * w) * radiansPerUnit
	return perLonM, perLatM
}

// LonDelta returns lon2 − lon1 in degrees taken the short way round, in
// (−180, 180], so that a step across the antimeridian stays short.
func LonDelta(lon1, lon2 float64) float64 {
	d := math.Mod(lon2-lon1, 360)
	switch {
	case d > 180:
		d -= 360
	case d <= -180:
		d += 360
	}
	return d
}

// BearingDeg returns the initial bearing from the first position to the
// second, clockwise from true north in [0, 360). Two equal positions give 0.
func BearingDeg(lon1, lat1, lon2, lat2 float64) float64 {
	sin1, cos1 := math.Sincos(lat1 * radiansPerUnit)
	sin2, cos2 := math.Sincos(lat2 * radiansPerUnit)
	sinD, cosD := math.Sincos(LonDelta(lon1, lon2) * radiansPerUnit)
	deg := math.Atan2(sinD*cos2, cos1*sin2-sin1*cos2*cosD) / radiansPerUnit
	return math.Mod(deg+360, 360)
}

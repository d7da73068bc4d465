// Package earth is the one place that knows the planet: the distance between
// two positions, the length of a degree, a bearing. Positions are WGS 84
// longitude and latitude in degrees, always in that order (RFC 7946).
package earth

import "math"

// WGS 84 defining constants (NIMA TR8350.2): semi-major axis in metres and
// first eccentricity squared. MeanRadiusM is the sphere of the haversine
// library, on which great circles are measured before they are corrected.
const (
	SemiMajorM     = 6378137.0
	Eccentricity2  = 6.69437999014e-3
	MeanRadiusM    = 6371000.0
	radiansPerUnit = math.Pi / 180
)

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
// second, clockwise from true north in [0, 360): the direction of the great
// circle, within 0.2 degrees of the WGS 84 geodesic's up to 100 km. Two equal
// positions give 0.
func BearingDeg(lon1, lat1, lon2, lat2 float64) float64 {
	sin1, cos1 := math.Sincos(lat1 * radiansPerUnit)
	sin2, cos2 := math.Sincos(lat2 * radiansPerUnit)
	sinD, cosD := math.Sincos(LonDelta(lon1, lon2) * radiansPerUnit)
	deg := math.Atan2(sinD*cos2, cos1*sin2-sin1*cos2*cosD) / radiansPerUnit
	return math.Mod(deg+360, 360)
}

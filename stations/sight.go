package stations

import (
	"math"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
)

// sight measures from one position: metres east and north of it, with the
// length of a degree taken midway as earth.DistanceM takes it. That length is
// a parabola through three values, so a look costs no trigonometry; within
// 100 km and below 85 degrees of latitude it agrees with earth.DistanceM to
// 1e-4, and any order of near and far is decided with it. What is reported is
// measured again with earth.DistanceM.
type sight struct {
	lon, lat float64
	east     parabola // metres a degree of longitude, by degrees of latitude away
	north    parabola // metres a degree of latitude
}

// parabola is c0 + c1·h + c2·h².
type parabola struct{ c0, c1, c2 float64 }

func (p parabola) at(h float64) float64    { return p.c0 + h*(p.c1+h*p.c2) }
func (p parabola) slope(h float64) float64 { return p.c1 + 2*h*p.c2 }

// sightStepDeg is where the parabolas are fitted, in degrees to either side.
const sightStepDeg = 0.2

func newSight(lon, lat float64) sight {
	south, southM := earth.DegreeM(lat - sightStepDeg/2)
	here, hereM := earth.DegreeM(lat)
	north, northM := earth.DegreeM(lat + sightStepDeg/2)
	return sight{lon: lon, lat: lat, east: throughThree(south, here, north), north: throughThree(southM, hereM, northM)}
}

func throughThree(before, here, after float64) parabola {
	return parabola{here, (after - before) / (2 * sightStepDeg), (after - 2*here + before) / (2 * sightStepDeg * sightStepDeg)}
}

// turned returns the same sight with its longitude counted so that it is at
// most half a turn from refLon, which may be any number of turns away.
func (s sight) turned(refLon float64) sight {
	s.lon = refLon + earth.LonDelta(refLon, s.lon)
	return s
}

func (s *sight) distance2(p orb.Point) float64 {
	h := p[1] - s.lat
	x, y := (p[0]-s.lon)*s.east.at(h), h*s.north.at(h)
	return x*x + y*y
}

func (s *sight) distanceM(p orb.Point) float64 { return math.Sqrt(s.distance2(p)) }

// nearest returns the share t of the segment from a to b at which it is
// nearest, and the square of the distance there in m²: the foot of the
// perpendicular at a fixed scale, then one Gauss-Newton step at the true one.
func (s *sight) nearest(a, b orb.Point) (t, distance2 float64) {
	u, v := a[0]-s.lon, a[1]-s.lat
	du, dv := b[0]-a[0], b[1]-a[1]
	e, n := s.east.c0, s.north.c0
	x, y, dx, dy := u*e, v*n, du*e, dv*n
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return 0, s.distance2(a)
	}
	t = unit(-(x*dx + y*dy) / length2)
	t = s.step(t, u, v, du, dv)
	return t, s.at2(t, u, v, du, dv)
}

func (s *sight) step(t, u, v, du, dv float64) float64 {
	h, w := v+t*dv, u+t*du
	e, n := s.east.at(h), s.north.at(h)
	dx := du*e + w*s.east.slope(h)*dv
	dy := dv * (n + h*s.north.slope(h))
	return unit(t - (w*e*dx+h*n*dy)/(dx*dx+dy*dy))
}

func (s *sight) at2(t, u, v, du, dv float64) float64 {
	h := v + t*dv
	x, y := (u+t*du)*s.east.at(h), h*s.north.at(h)
	return x*x + y*y
}

func unit(t float64) float64 { return min(1, max(0, t)) }

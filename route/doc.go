// Package route holds the road ahead as a polyline with a linear reference:
// every place on it has a chainage, the distance in metres from the start
// along the line.
//
//	point     0 ------ 1 ------------ 2 ---- 3
//	piece         0           1          2
//	chainage  0       c1             c2      LengthM
//
// Point i starts piece i. A piece has a length, a travel speed (0 where it is
// unknown), a bearing and a rise. Elevations are smoothed before a rise is
// taken from them, because the noise of a height model or a receiver invents
// climb; the smoothing length is the caller's, and Climb tells what it
// changed.
//
// Positions are WGS 84 longitude and latitude in degrees, in that order. A
// Route never changes after New; every method that returns another route
// copies, so that a route may be shared between goroutines.
package route

package read

import (
	"cmp"
	"fmt"
	"math"
	"strconv"

	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/earth"
)

// sample is a position as a file gives it.
type sample struct {
	lon, lat   float64
	elevationM float64 // NaN where unknown
	speedMS    float64 // of the piece that starts here; 0 where unknown
	timeS      float64 // since the Unix epoch; NaN where unknown
}

// part is a line that the file gives in one piece.
type part struct {
	place   string // "track 1 segment 2"
	name    string
	samples []sample
}

// file gathers what a reader finds.
type file struct {
	name      string
	credit    string
	notes     []string
	parts     []part
	points    int
	maxPoints int
	strangeM  int // how many elevations were out of bounds
}

// note adds a sentence to the notes of the route.
func (f *file) note(format string, args ...any) {
	f.notes = append(f.notes, fmt.Sprintf(format, args...))
}

// count takes n more points, up to the limit.
func (f *file) count(n int) *fault.Input {
	f.points += n
	if f.points > f.maxPoints {
		return &fault.Input{Field: "points", Found: "more", Expected: fmt.Sprintf("at most %d points", f.maxPoints)}
	}
	return nil
}

// lowestM and highestM bound the height of a road, in metres.
const lowestM, highestM = -1000, 9000

// elevation returns a height that a road can have, or NaN.
func (f *file) elevation(m float64) float64 {
	if m < lowestM || m > highestM {
		f.strangeM++
		return math.NaN()
	}
	return m
}

// position makes a sample of a longitude and a latitude. Longitudes up to a
// turn off, as some files write across the antimeridian, are brought into
// ±180.
func position(lon, lat float64) (sample, *fault.Input) {
	s := sample{lon: lon, lat: lat, elevationM: math.NaN(), timeS: math.NaN()}
	if !(math.Abs(lat) <= 90) {
		err := &fault.Input{Field: "latitude", Found: number(lat), Expected: "degrees within ±90"}
		switch {
		case math.Abs(lat) <= 180 && math.Abs(lon) <= 90:
			err.Found += " beside longitude " + number(lon)
			err.Expected += " (longitude and latitude look swapped)"
		case math.Abs(lat) > 1000:
			err.Expected += " of WGS 84 (this looks like a projected coordinate)"
		}
		return s, err
	}
	if !(math.Abs(lon) <= 360) {
		return s, &fault.Input{Field: "longitude", Found: number(lon), Expected: "degrees within ±180"}
	}
	switch {
	case lon > 180:
		s.lon -= 360
	case lon < -180:
		s.lon += 360
	}
	return s, nil
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// route makes one route of the parts.
func (f *file) route(fallbackName string, o Options) (*route.Route, *fault.Input) {
	if o.JoinM < 0 {
		o.JoinM = 0
	}
	parts, err := f.chosen(o.Part)
	if err != nil {
		return nil, err
	}
	points, err := f.join(parts, o.JoinM)
	if err != nil {
		return nil, err
	}
	name := f.name
	if len(parts) == 1 && parts[0].name != "" {
		name = parts[0].name
	}
	name = cmp.Or(name, fallbackName)
	r, newErr := route.New(name, points)
	if newErr != nil {
		in, ok := newErr.(*fault.Input)
		if !ok {
			in = &fault.Input{Err: newErr}
		}
		return nil, in
	}
	if f.strangeM > 0 {
		f.note("Elevations taken as unknown, as they are below %d m or above %d m: %d.", lowestM, highestM, f.strangeM)
	}
	f.noteLongest(r)
	r.Notes, r.Credit = f.notes, f.credit
	return r, nil
}

// chosen returns the parts to use: those with at least one position, or the
// one asked for.
func (f *file) chosen(which int) ([]part, *fault.Input) {
	var parts []part
	for _, p := range f.parts {
		if len(p.samples) > 0 {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		return nil, &fault.Input{Found: "no line", Expected: "a line of at least two different positions"}
	}
	if which == 0 {
		return parts, nil
	}
	if which < 1 || which > len(parts) {
		return nil, &fault.Input{Field: "part", Found: strconv.Itoa(which), Expected: fmt.Sprintf("1 to %d, the parts of this file", len(parts))}
	}
	return parts[which-1 : which], nil
}

// join puts the parts one after the other.
func (f *file) join(parts []part, joinM float64) ([]route.Point, *fault.Input) {
	var points []route.Point
	for i, p := range parts {
		samples := f.pace(p)
		if i > 0 {
			from, to := points[len(points)-1], samples[0]
			gapM := earth.DistanceM(from.Lon, from.Lat, to.lon, to.lat)
			if gapM > joinM {
				return nil, &fault.Input{
					Where:    fmt.Sprintf("%s to %s", parts[i-1].place, p.place),
					Found:    fmt.Sprintf("a gap of %.0f m between the %d parts of the line", gapM, len(parts)),
					Expected: fmt.Sprintf("parts in driving order with gaps up to %.0f m (choose one part, or allow a wider gap)", joinM),
				}
			}
			if gapM > 1 {
				f.note("Joined across a gap of %.0f m: %s and %s.", gapM, parts[i-1].place, p.place)
			}
		}
		for k, s := range samples {
			if err := f.nullIsland(p, samples, k); err != nil {
				return nil, err
			}
			points = append(points, route.Point{Lon: s.lon, Lat: s.lat, ElevationM: s.elevationM, SpeedMS: s.speedMS})
		}
	}
	return points, nil
}

// nullIsland rejects a position at exactly 0, 0 far from its neighbours: the
// mark of a receiver without a fix.
func (f *file) nullIsland(p part, samples []sample, k int) *fault.Input {
	s := samples[k]
	if s.lon != 0 || s.lat != 0 || len(samples) < 2 {
		return nil
	}
	neighbour := samples[max(k-1, 0)]
	if k == 0 {
		neighbour = samples[1]
	}
	const farM = 1e6
	if earth.DistanceM(0, 0, neighbour.lon, neighbour.lat) < farM {
		return nil
	}
	return &fault.Input{
		Where:    p.place,
		Field:    "position",
		Found:    "longitude 0, latitude 0 far from its neighbours",
		Expected: "a real position (0, 0 is what a receiver writes without a fix)",
	}
}

// noteLongest says so where the line is too coarse to be a road.
func (f *file) noteLongest(r *route.Route) {
	const coarseM = 20e3
	longestM, at := 0.0, 0
	for i := 1; i < r.Len(); i++ {
		if m := r.ChainageM(i) - r.ChainageM(i-1); m > longestM {
			longestM, at = m, i
		}
	}
	if longestM > coarseM {
		f.note("Between points %d and %d the line runs straight for %.0f km; a road is longer than that.", at, at+1, longestM/1000)
	}
}

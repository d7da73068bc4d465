// Package read reads a route from a file: GPX 1.0 and 1.1, GeoJSON
// (RFC 7946) and encoded polylines of precision 5 and 6. Only this package
// knows the axis order of a format; what it returns is longitude before
// latitude.
//
// The format is told from the content, never from the file's name. Every
// reader yields parts (a track segment, a route, a line string); parts that
// follow each other within Options.JoinM metres become one route, and what
// was joined, left out or assumed is written to the route's Notes.
//
// GPX times become travel speeds. A recording is first cleaned: single
// positions that would need more than 70 m/s in and out are left out, and so
// are positions recorded while the car stood (less than 1 m/s over 20 s), so
// that pauses take neither distance nor time. The speed of a piece is then
// the mean over the 10 s of driving around it, or over the piece itself where
// that takes longer, and all are scaled by one factor so that the whole takes
// the recorded driving time. Times that run backwards, stand still or are
// faster than 70 m/s on the whole are not used, and a note says so.
//
// A GeoJSON feature may carry speeds of its own in the property "speed_kmh":
// one number for the whole line, or a list with one number a piece (one per
// position is accepted, the last then means nothing), or for a
// MultiLineString a list with one of either a line. 0 and null mean unknown.
//
// What cannot be read is a *fault.Input that names the file, the place, the
// field, what was found and what was expected. No input panics.
package read

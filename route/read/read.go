package read

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ampleway/data/fault"
	"ampleway/route"
)

// Format names the format of a route file.
type Format string

// The formats. Detect, the zero value, tells the format from the content.
const (
	Detect    Format = ""
	GPX       Format = "gpx"
	GeoJSON   Format = "geojson"
	Polyline5 Format = "polyline5" // encoded polyline, 1e-5 degrees
	Polyline6 Format = "polyline6" // encoded polyline, 1e-6 degrees
)

// Defaults of Options.
const (
	DefaultJoinM     = 1000.0
	DefaultMaxBytes  = 256 << 20
	DefaultMaxPoints = 2_000_000
)

// Options says how a route is read. The zero value detects the format and
// joins all parts.
type Options struct {
	Format    Format
	Part      int     // which part to take, from 1; 0 takes all and joins them
	JoinM     float64 // widest gap between two parts that is joined, metres; 0 means DefaultJoinM, negative joins none
	MaxBytes  int64   // 0 means DefaultMaxBytes
	MaxPoints int     // 0 means DefaultMaxPoints
}

func (o Options) withDefaults() Options {
	o.JoinM = cmp.Or(o.JoinM, DefaultJoinM)
	o.MaxBytes = cmp.Or(o.MaxBytes, DefaultMaxBytes)
	o.MaxPoints = cmp.Or(o.MaxPoints, DefaultMaxPoints)
	return o
}

// Read reads a route from r. The name stands in errors and, without folder
// and extension, names a route whose file does not; "-" is standard input.
// Every error is a *fault.Input.
func Read(r io.Reader, name string, o Options) (*route.Route, error) {
	o = o.withDefaults()
	rt, err := read(r, name, o)
	if err != nil {
		err.File = name
		return nil, err
	}
	return rt, nil
}

func read(r io.Reader, name string, o Options) (*route.Route, *fault.Input) {
	raw, readErr := io.ReadAll(io.LimitReader(r, o.MaxBytes+1))
	if readErr != nil {
		return nil, &fault.Input{Expected: "a file that can be read to its end", Err: readErr}
	}
	if int64(len(raw)) > o.MaxBytes {
		return nil, &fault.Input{Found: "more", Expected: fmt.Sprintf("at most %d bytes", o.MaxBytes)}
	}
	text, err := decode(raw)
	if err != nil {
		return nil, err
	}
	format := o.Format
	if format == Detect {
		if format, err = detect(text); err != nil {
			return nil, err
		}
	}
	f := &file{maxPoints: o.MaxPoints}
	switch format {
	case GPX:
		err = f.readGPX(text)
	case GeoJSON:
		err = f.readGeoJSON(text)
	case Polyline5, Polyline6:
		err = f.readPolyline(text, format, o.Format == Detect)
	default:
		err = &fault.Input{Field: "format", Found: string(format), Expected: "gpx, geojson, polyline5 or polyline6"}
	}
	if err != nil {
		return nil, err
	}
	return f.route(nameOf(name), o)
}

func nameOf(file string) string {
	base := filepath.Base(file)
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" && file != "-" {
		return name
	}
	return "route"
}

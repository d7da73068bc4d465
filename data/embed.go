// Package data holds the demo: an invented place with roads, charging
// stations, homes and weather, embedded in the program.
//
// The place is Orrelund, an island that does not exist, set down in the open
// North Pacific around 41.5 N 150 W, more than 1,000 km from any land. Every
// town, road, operator, station, price and household in it is invented, and
// every file says so. Nothing was copied from open data.
//
//	demo/corridors/*.geojson  roads driven from end to end: one Feature each, with
//	                          elevation (m) as the third coordinate and speed_kmh, the
//	                          travel speed of each piece (one value fewer than positions)
//
// The generated files are made by demo/internal/make; `go generate ./data`
// makes them again, byte for byte.
package data

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"
)

//go:generate go run ./demo/internal/make -o demo

//go:embed demo/corridors
var files embed.FS

// Demo returns the demo's files, with paths as they are named in the package
// comment but without the leading "demo/".
func Demo() fs.FS {
	sub, err := fs.Sub(files, "demo")
	if err != nil {
		panic("data: " + err.Error())
	}
	return sub
}

// Corridors returns the names of the demo's corridors in alphabetical order.
func Corridors() []string {
	entries, err := fs.ReadDir(Demo(), "corridors")
	if err != nil {
		panic("data: " + err.Error())
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = strings.TrimSuffix(e.Name(), path.Ext(e.Name()))
	}
	return names
}

// Corridor returns a corridor's GeoJSON by its name. The error for a name that
// is not among Corridors wraps fs.ErrNotExist and lists the names there are.
func Corridor(name string) ([]byte, error) {
	content, err := fs.ReadFile(Demo(), "corridors/"+name+".geojson")
	if err != nil {
		return nil, fmt.Errorf("no demo corridor %q (there are %s): %w", name, strings.Join(Corridors(), ", "), fs.ErrNotExist)
	}
	return content, nil
}

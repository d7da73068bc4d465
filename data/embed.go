// Package data holds the demo: an invented place with roads, charging
// stations, homes and weather, embedded in the program.
//
// The place is Orrelund, an island that does not exist, set down in the open
// North Pacific around 41.5 N 150 W, more than 1,000 km from any land. Every
// town, road, operator, station, price and household in it is invented, and
// every file says so. Nothing was copied from open data. Prices are in euros
// (EUR), because a price without a known currency reads badly; they are
// invented too. Local time is ten hours behind UTC all year (Etc/GMT+10).
//
//	demo/corridors/*.geojson  roads driven from end to end: one Feature each, with
//	                          elevation (m) as the third coordinate and speed_kmh, the
//	                          travel speed of each piece (one value fewer than positions)
//	    pass.geojson          587 km from Velmouth over the Tharn Pass (1,720 m) and
//	                          down the windy coast to Corrowen; many stations
//	    upland.geojson        361 km of hills from Dunmarrow to Skarrow; few
//	    north.geojson         922 km round the north from Velmouth to Sallow Reach;
//	                          fewer, and no fast one on 200 km of the Long Barrens
//	demo/stations.geojson     charging sites: Point features whose properties are the
//	                          fields of stations.Site
//	demo/places.geojson       places: Point features with name, kind, elevation_m
//	demo/roads.osm            the same roads, the links between them and the lanes to
//	                          stations in the OSM XML format, for a road router; not
//	                          embedded
//	demo/trip.yaml            the demo trip: corridor, car, weather, reserves
//	demo/climate.yaml         the year's weather by month
//	demo/tariffs.yaml         electricity at home by the hour
//	demo/households.yaml      homes, circuits, cars and a year's driving
//
// The YAML files are written by hand and explain their own fields. The others
// are made by demo/internal/make; `go generate ./data` makes them again, byte
// for byte.
package data

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"
)

//go:generate go run ./demo/internal/make -o demo

//go:embed demo/corridors demo/*.geojson demo/*.yaml
var files embed.FS

// Demo returns the demo's embedded files, with paths as the package comment
// has them but without the leading "demo/".
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

// Stations returns the charging sites as GeoJSON.
func Stations() []byte { return file("stations.geojson") }

// Places returns the place list as GeoJSON.
func Places() []byte { return file("places.geojson") }

// Trip returns the demo trip as YAML.
func Trip() []byte { return file("trip.yaml") }

// Climate returns the weather by month as YAML.
func Climate() []byte { return file("climate.yaml") }

// Tariffs returns the prices of electricity at home as YAML.
func Tariffs() []byte { return file("tariffs.yaml") }

// Households returns the sample households as YAML.
func Households() []byte { return file("households.yaml") }

func file(name string) []byte {
	content, err := fs.ReadFile(Demo(), name)
	if err != nil {
		panic("data: " + err.Error())
	}
	return content
}

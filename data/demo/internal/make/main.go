package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	folder := flag.String("o", "demo", "folder to write the demo's files into")
	flag.Parse()
	for name, content := range files() {
		if err := write(filepath.Join(*folder, name), content); err != nil {
			fmt.Fprintln(os.Stderr, "make:", err)
			os.Exit(1)
		}
	}
}

func write(path string, content []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return os.WriteFile(path, content, 0o644)
}

// files makes every generated file, by its path in the demo folder.
func files() map[string][]byte {
	roads := drawRoads()
	all := placeSites(roads)
	out := map[string][]byte{
		"stations.geojson": stationFile(all),
		"places.geojson":   placeFile(),
		"roads.osm":        roadExtract(roads, all),
	}
	for i := range roads {
		if r := &roads[i]; r.plan.corridor {
			out["corridors/"+r.plan.id+".geojson"] = corridorFile(r)
		}
	}
	return out
}

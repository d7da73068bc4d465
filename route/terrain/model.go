package terrain

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"sync"

	"ampleway/data/fault"
)

// mostTiles is how many tiles are kept in memory: 26 MB each at 1 arc-second.
// A route visits them one after the other.
const mostTiles = 8

// Model gives the elevation of places from a set of tiles, which are read
// when they are first needed. It may be used from several goroutines.
type Model struct {
	files map[corner]string

	mu     sync.Mutex
	tiles  map[corner]*tile
	loaded []corner // in the order they were read
}

// Open makes a model of tile files and of folders with tiles, which are
// searched to their depths; other files in a folder are passed over. Of two
// files for one tile the first is used. The tiles are not read yet. Errors
// are *fault.Input.
func Open(paths ...string) (*Model, error) {
	m := &Model{files: map[corner]string{}, tiles: map[corner]*tile{}}
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return nil, &fault.Input{File: path, Expected: "an .hgt tile or a folder of tiles", Err: err}
		}
		if !info.IsDir() {
			if !isTile(path) {
				return nil, &fault.Input{File: path, Field: "file name", Found: filepath.Base(path), Expected: "a tile named for its south-west corner, such as N42E001.hgt, .hgt.gz or .zip"}
			}
			m.add(path)
			continue
		}
		before := len(m.files)
		err = filepath.WalkDir(path, func(file string, entry fs.DirEntry, err error) error {
			if err == nil && !entry.IsDir() && isTile(file) {
				m.add(file)
			}
			return err
		})
		if err != nil {
			return nil, &fault.Input{File: path, Expected: "a folder that can be read", Err: err}
		}
		if len(m.files) == before {
			return nil, &fault.Input{File: path, Found: "no new tile", Expected: "tiles named for their south-west corners, such as N42E001.hgt"}
		}
	}
	return m, nil
}

func (m *Model) add(path string) {
	at, _ := cornerOf(path)
	if _, ok := m.files[at]; !ok {
		m.files[at] = path
	}
}

// ElevationM returns the elevation of a place in metres above sea level, NaN
// where it is void or outside all tiles. The error, a *fault.Input, is that of
// a tile that cannot be read.
func (m *Model) ElevationM(lon, lat float64) (float64, error) {
	if !(math.Abs(lon) <= 180 && math.Abs(lat) <= 90) {
		return math.NaN(), nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	t, err := m.tileAt(lon, lat)
	if err != nil || t == nil {
		return math.NaN(), err
	}
	return t.elevationM(lon, lat), nil
}

// tileAt returns the tile that holds a place, or nil. A place on the edge of
// a tile that is not there is on the edge of its neighbour too.
func (m *Model) tileAt(lon, lat float64) (*tile, error) {
	west, south := int(math.Floor(lon)), int(math.Floor(lat))
	for _, at := range edgeCorners(west, south, lon == float64(west), lat == float64(south)) {
		if t, err := m.tile(at); t != nil || err != nil {
			return t, err
		}
	}
	return nil, nil
}

func edgeCorners(west, south int, onWest, onSouth bool) []corner {
	corners := []corner{{west, south}}
	if onWest {
		corners = append(corners, corner{west - 1, south})
	}
	if onSouth {
		corners = append(corners, corner{west, south - 1})
	}
	if onWest && onSouth {
		corners = append(corners, corner{west - 1, south - 1})
	}
	return corners
}

func (m *Model) tile(at corner) (*tile, error) {
	if t := m.tiles[at]; t != nil {
		return t, nil
	}
	path, ok := m.files[at]
	if !ok {
		return nil, nil
	}
	t, err := readTile(path)
	if err != nil {
		return nil, err
	}
	if len(m.loaded) == mostTiles {
		delete(m.tiles, m.loaded[0])
		m.loaded = m.loaded[1:]
	}
	m.tiles[at] = t
	m.loaded = append(m.loaded, at)
	return t, nil
}

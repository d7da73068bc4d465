package terrain

import (
	"archive/zip"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

const void = math.MinInt16

// corner is the south-west corner of a tile in whole degrees.
type corner struct{ lon, lat int }

var tileName = regexp.MustCompile(`(?i)^([NS])(\d{2})([EW])(\d{3})`)

// cornerOf reads the corner from a file name such as N42E001.hgt.
func cornerOf(path string) (corner, bool) {
	m := tileName.FindStringSubmatch(filepath.Base(path))
	if m == nil {
		return corner{}, false
	}
	lat, _ := strconv.Atoi(m[2])
	lon, _ := strconv.Atoi(m[4])
	if strings.EqualFold(m[1], "S") {
		lat = -lat
	}
	if strings.EqualFold(m[3], "W") {
		lon = -lon
	}
	return corner{lon, lat}, lat >= -90 && lat < 90 && lon >= -180 && lon < 180
}

// isTile tells by its name whether a file may hold a tile.
func isTile(path string) bool {
	_, named := cornerOf(path)
	lower := strings.ToLower(path)
	return named && (strings.HasSuffix(lower, ".hgt") || strings.HasSuffix(lower, ".hgt.gz") || strings.HasSuffix(lower, ".zip"))
}

// tile is a square of heights.
type tile struct {
	at      corner
	side    int // posts a side
	heights []int16
}

// heightM returns the height of a post, counted from the north-west corner,
// and whether it is known.
func (t *tile) heightM(row, column int) (float64, bool) {
	h := t.heights[row*t.side+column]
	return float64(h), h != void
}

// elevationM interpolates at a place inside the tile.
func (t *tile) elevationM(lon, lat float64) float64 {
	last := float64(t.side - 1)
	x := clamp((lon-float64(t.at.lon))*last, last)
	y := clamp((float64(t.at.lat)+1-lat)*last, last)
	column, row := min(int(x), t.side-2), min(int(y), t.side-2)
	fx, fy := x-float64(column), y-float64(row)
	if _, known := t.heightM(row+int(math.Round(fy)), column+int(math.Round(fx))); !known {
		return math.NaN()
	}
	sumM, weights := 0.0, 0.0
	for _, post := range [4]struct {
		row, column int
		weight      float64
	}{
		{row, column, (1 - fx) * (1 - fy)},
		{row, column + 1, fx * (1 - fy)},
		{row + 1, column, (1 - fx) * fy},
		{row + 1, column + 1, fx * fy},
	} {
		if m, known := t.heightM(post.row, post.column); known {
			sumM += post.weight * m
			weights += post.weight
		}
	}
	return sumM / weights
}

func clamp(x, most float64) float64 { return math.Max(0, math.Min(x, most)) }

// readTile reads the tile in a file: plain, zip or gzip by its content.
func readTile(path string) (*tile, error) {
	at, named := cornerOf(path)
	if !named {
		return nil, &fault.Input{File: path, Field: "file name", Found: filepath.Base(path), Expected: "the south-west corner, such as N42E001.hgt"}
	}
	raw, err := readHeights(path)
	if err != nil {
		var in *fault.Input
		if errors.As(err, &in) {
			in.File = path
			return nil, in
		}
		return nil, &fault.Input{File: path, Expected: "an .hgt tile, plain, zipped or gzipped", Err: err}
	}
	side, ok := sides[len(raw)]
	if !ok {
		return nil, &fault.Input{File: path, Found: sizeText(len(raw)), Expected: expectedSizes}
	}
	t := &tile{at: at, side: side, heights: make([]int16, side*side)}
	for i := range t.heights {
		t.heights[i] = int16(binary.BigEndian.Uint16(raw[2*i:]))
	}
	return t, nil
}

const (
	bytes1           = 3601 * 3601 * 2 // 1 arc-second
	bytes3           = 1201 * 1201 * 2 // 3 arc-seconds
	largestArchiveMB = 64
)

var sides = map[int]int{bytes1: 3601, bytes3: 1201}

var expectedSizes = fmt.Sprintf("%d bytes (3 arc-seconds) or %d bytes (1 arc-second)", bytes3, bytes1)

func sizeText(n int) string {
	if n > bytes1 {
		return fmt.Sprintf("more than %d bytes", bytes1)
	}
	return fmt.Sprintf("%d bytes", n)
}

// readHeights returns the heights as they are stored, one byte more than the
// largest tile at most.
func readHeights(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	var magic [4]byte
	if _, err := f.ReadAt(magic[:], 0); err != nil && err != io.EOF {
		return nil, err
	}
	switch {
	case string(magic[:]) == "PK\x03\x04":
		return readZip(f, info.Size())
	case string(magic[:2]) == "\x1f\x8b":
		z, err := gzip.NewReader(f)
		if err != nil {
			return nil, err
		}
		return io.ReadAll(io.LimitReader(z, bytes1+1))
	}
	return io.ReadAll(io.LimitReader(f, bytes1+1))
}

// readZip returns the only .hgt file in an archive.
func readZip(f io.ReaderAt, size int64) ([]byte, error) {
	if size > largestArchiveMB<<20 {
		return nil, &fault.Input{Found: fmt.Sprintf("an archive of %d MB", size>>20), Expected: "one tile an archive"}
	}
	archive, err := zip.NewReader(f, size)
	if err != nil {
		return nil, err
	}
	var found *zip.File
	for _, entry := range archive.File {
		if !strings.EqualFold(filepath.Ext(entry.Name), ".hgt") {
			continue
		}
		if found != nil {
			return nil, &fault.Input{Found: found.Name + " and " + entry.Name, Expected: "one tile an archive"}
		}
		found = entry
	}
	if found == nil {
		return nil, &fault.Input{Found: fmt.Sprintf("%d entries", len(archive.File)), Expected: "an archive with an .hgt file in it"}
	}
	in, err := found.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(io.LimitReader(in, bytes1+1))
}

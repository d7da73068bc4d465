package snapshot

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"

	"ampleway/stations"
	"github.com/parquet-go/parquet-go"
	"github.com/paulmach/orb"
)

// The keys of the file's metadata, and the only value ours can have.
const (
	geoKey    = "geo" // GeoParquet 1.1.0, "File metadata"
	formKey   = "ampleway"
	form      = "stations 1"
	groupRows = 131072
	dictBytes = 8 << 20
)

// Write writes a set as a snapshot. Sites must have passed Validate; one that
// JSON cannot hold is an error.
func Write(w io.Writer, set stations.Set) error {
	order := curveOrder(set)
	buffered := bufio.NewWriterSize(w, 1<<20)
	file := parquet.NewGenericWriter[row](buffered,
		parquet.Compression(&parquet.Snappy),
		parquet.CreatedBy("ampleway", "1", "0"),
		parquet.DictionaryMaxBytes(dictBytes),
		parquet.KeyValueMetadata(formKey, form))
	var box *orb.Bound
	for len(order) > 0 {
		n := min(groupRows, len(order))
		if err := writeGroup(file, set, order[:n], &box); err != nil {
			return err
		}
		order = order[n:]
	}
	geo, err := geoMetadata(box)
	if err != nil {
		return err
	}
	file.SetKeyValueMetadata(geoKey, geo)
	if err := file.Close(); err != nil {
		return fmt.Errorf("cannot finish the snapshot: %w", err)
	}
	return buffered.Flush()
}

func writeGroup(file *parquet.GenericWriter[row], set stations.Set, order []int, box **orb.Bound) error {
	const batch = 1024
	rows := make([]row, 0, batch)
	for len(order) > 0 {
		n := min(batch, len(order))
		rows = rows[:0]
		for _, i := range order[:n] {
			site := set.Site(i)
			r, err := toRow(&site)
			if err != nil {
				return fmt.Errorf("site %q cannot be written: %w", site.ID, err)
			}
			rows = append(rows, r)
			*box = grown(*box, orb.Point{site.Lon, site.Lat})
		}
		if _, err := file.Write(rows); err != nil {
			return fmt.Errorf("cannot write the snapshot: %w", err)
		}
		order = order[n:]
	}
	return file.Flush()
}

// curveOrder numbers the sites along a Hilbert curve, then by source and ID
// and, of records that share these, by all that they say.
func curveOrder(set stations.Set) []int {
	type place struct {
		site     int
		distance uint64
	}
	places := make([]place, set.Len())
	for i := range places {
		lon, lat := set.Position(i)
		places[i] = place{i, hilbert(cell(lon/360), cell(lat/180))}
	}
	slices.SortStableFunc(places, func(a, b place) int {
		if a.distance != b.distance {
			return cmp.Compare(a.distance, b.distance)
		}
		return compareSites(set.Site(a.site), set.Site(b.site))
	})
	order := make([]int, len(places))
	for i, p := range places {
		order[i] = p.site
	}
	return order
}

func compareSites(a, b stations.Site) int {
	if c := cmp.Or(cmp.Compare(a.Source, b.Source), cmp.Compare(a.ID, b.ID)); c != 0 {
		return c
	}
	textA, _ := json.Marshal(a)
	textB, _ := json.Marshal(b)
	return slices.Compare(textA, textB)
}

const curveBits = 20

func cell(share float64) uint32 {
	return uint32(math.Min(math.Max((share+0.5)*(1<<curveBits), 0), 1<<curveBits-1))
}

// hilbert returns the distance along the curve of a cell, by quadrants from
// the largest down.
func hilbert(x, y uint32) uint64 {
	var distance uint64
	for side := uint32(1) << (curveBits - 1); side > 0; side /= 2 {
		right, upper := x&side != 0, y&side != 0
		switch {
		case right && !upper:
			distance += 3 * uint64(side) * uint64(side)
		case right:
			distance += 2 * uint64(side) * uint64(side)
		case upper:
			distance += uint64(side) * uint64(side)
		}
		if !upper {
			if right {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return distance
}

func grown(box *orb.Bound, p orb.Point) *orb.Bound {
	if box == nil {
		return &orb.Bound{Min: p, Max: p}
	}
	b := box.Extend(p)
	return &b
}

// geoMetadata is the value of the "geo" key; box is nil where there is no site.
func geoMetadata(box *orb.Bound) (string, error) {
	type column struct {
		Encoding string      `json:"encoding"`
		Types    []string    `json:"geometry_types"`
		BBox     *[4]float64 `json:"bbox,omitempty"`
	}
	geometry := column{Encoding: "WKB", Types: []string{"Point"}}
	if box != nil {
		geometry.BBox = &[4]float64{box.Min[0], box.Min[1], box.Max[0], box.Max[1]}
	}
	text, err := json.Marshal(struct {
		Version string            `json:"version"`
		Primary string            `json:"primary_column"`
		Columns map[string]column `json:"columns"`
	}{"1.1.0", "geometry", map[string]column{"geometry": geometry}})
	return string(text), err
}

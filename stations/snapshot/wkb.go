package snapshot

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// wkbSize is the length of a point: byte order, type, longitude, latitude.
const wkbSize = 21

// wkb writes a point as little-endian well-known binary (OGC 06-103r4, 8.2).
func wkb(lon, lat float64) []byte {
	b := make([]byte, 0, wkbSize)
	b = append(b, 1)
	b = binary.LittleEndian.AppendUint32(b, 1)
	b = binary.LittleEndian.AppendUint64(b, math.Float64bits(lon))
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(lat))
}

// point reads a WKB point of either byte order.
func point(b []byte) (orb.Point, error) {
	if len(b) != wkbSize || b[0] > 1 {
		return orb.Point{}, fmt.Errorf("not a WKB point")
	}
	var order binary.ByteOrder = binary.LittleEndian
	if b[0] == 0 {
		order = binary.BigEndian
	}
	if order.Uint32(b[1:]) != 1 {
		return orb.Point{}, fmt.Errorf("not a WKB point")
	}
	p := orb.Point{math.Float64frombits(order.Uint64(b[5:])), math.Float64frombits(order.Uint64(b[13:]))}
	if !(math.Abs(p[0]) <= 180) || !(math.Abs(p[1]) <= 90) {
		return orb.Point{}, fmt.Errorf("position %g, %g is not on the globe", p[0], p[1])
	}
	return p, nil
}

package web

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"sync"

	"ampleway/data/fault"
	"ampleway/route"

	"github.com/twpayne/go-polyline"
)

const (
	filePrefix = "file-"
	linePrefix = "line-"
)

// store keeps dropped routes in memory, the least recently used going first.
// A route's name is the hash of its file, so that dropping the same file again
// brings an old address back to life.
type store struct {
	mu         sync.Mutex
	most       int
	mostPoints int
	points     int
	routes     map[string]*route.Route
	order      []string // least recently used first
}

func newStore(most, mostPoints int) *store {
	return &store{most: most, mostPoints: mostPoints, routes: map[string]*route.Route{}}
}

// put keeps a route under the hash of the bytes it was read from.
func (s *store) put(content []byte, r *route.Route) string {
	sum := sha256.Sum256(content)
	id := filePrefix + hex.EncodeToString(sum[:8])
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, known := s.routes[id]; known {
		s.touch(id)
		return id
	}
	s.routes[id] = r
	s.order = append(s.order, id)
	s.points += r.Len()
	for len(s.order) > 1 && (len(s.order) > s.most || s.points > s.mostPoints) {
		oldest := s.order[0]
		s.points -= s.routes[oldest].Len()
		delete(s.routes, oldest)
		s.order = s.order[1:]
	}
	return id
}

func (s *store) get(id string) (*route.Route, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.routes[id]
	if ok {
		s.touch(id)
	}
	return r, ok
}

func (s *store) touch(id string) {
	for i, other := range s.order {
		if other == id {
			s.order = append(append(s.order[:i:i], s.order[i+1:]...), id)
			return
		}
	}
}

func (s *store) len() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.order)
}

// lineCodec writes positions to a millionth of a degree, 0.1 m.
var lineCodec = polyline.Codec{Dim: 2, Scale: 1e6}

// mostLine is the longest polyline that an address may carry.
const mostLine = 2000

// asLine writes a route into an address, if all there is of it fits: a short
// line without elevations, speeds or notes.
func asLine(r *route.Route) (string, bool) {
	if r.HasElevation() || len(r.Notes) > 0 {
		return "", false
	}
	coords := make([][]float64, 0, r.Len())
	for _, p := range r.All() {
		if p.SpeedMS > 0 {
			return "", false
		}
		coords = append(coords, []float64{p.Lat, p.Lon})
	}
	if text := lineCodec.EncodeCoords(nil, coords); len(text) <= mostLine {
		return linePrefix + string(text), true
	}
	return "", false
}

// fromLine reads what asLine wrote.
func fromLine(text, name string) (*route.Route, error) {
	bad := &fault.Input{Field: "route", Found: text, Expected: "an encoded polyline of precision 6 after " + linePrefix}
	if len(text) > mostLine {
		return nil, bad
	}
	coords, rest, err := lineCodec.DecodeCoords([]byte(text))
	if err != nil || len(rest) > 0 {
		return nil, bad
	}
	points := make([]route.Point, len(coords))
	for i, c := range coords {
		points[i] = route.Point{Lon: c[1], Lat: c[0], ElevationM: math.NaN()}
	}
	if name == "" {
		name = "dropped line"
	}
	return route.New(name, points)
}

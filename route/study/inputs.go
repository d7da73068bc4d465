package study

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"runtime"
	"strings"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/earth"
	"ampleway/route/input"
	"ampleway/stations"
	"ampleway/stations/open"
)

// inputs are what a study reads besides its corridors, which are read when
// their turn comes.
type inputs struct {
	study   *Study
	sources []source
	index   *stations.Index
	cars    map[string]*energy.Car
	files   []FileHash
	faults  []Fault // of the station files
	id      string
}

// source is where a corridor comes from.
type source struct {
	name    string
	path    string
	between *Between
	hash    string
	cost    float64 // in bytes of its file, or what they would be
	err     error
}

// FileHash names an input and its SHA-256.
type FileHash struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// Fault is something that could not be used, and how often.
type Fault struct {
	Corridor int    `json:"corridor"` // its number; −1 for what is not about one
	What     string `json:"what"`
	Reason   string `json:"reason"`
	Count    int    `json:"count"`
}

func readInputs(ctx context.Context, s *Study, version string) (*inputs, error) {
	in := &inputs{study: s, cars: map[string]*energy.Car{}}
	in.files = append(in.files, FileHash{"study", hashOf(s.text)})
	for _, set := range s.sets {
		for _, name := range set.cars {
			if err := in.car(name); err != nil {
				return nil, err
			}
		}
	}
	if err := in.stations(ctx); err != nil {
		return nil, err
	}
	in.corridors()
	in.id = in.identity(version)
	return in, nil
}

// identity is a hash over all that decides the results.
func (in *inputs) identity(version string) string {
	type corridor struct{ Name, Hash string }
	var all []corridor
	for _, s := range in.sources {
		all = append(all, corridor{s.name, s.hash})
	}
	text, err := json.Marshal(struct {
		Version, Processor string
		Files              []FileHash
		Corridors          []corridor
	}{version, runtime.GOARCH, in.files, all})
	if err != nil {
		panic("study: " + err.Error())
	}
	return hashOf(text)
}

func hashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func (in *inputs) car(name string) error {
	if in.cars[name] != nil {
		return nil
	}
	car, err := in.study.folder.Car(name)
	if err != nil {
		return err
	}
	in.cars[name] = car
	return in.hash(input.Cars, "car ", name)
}

func (in *inputs) hash(of input.Kind, what, name string) error {
	sum, _, err := in.study.folder.Hash(of, name)
	in.files = append(in.files, FileHash{what + name, sum})
	return err
}

func (in *inputs) stations(ctx context.Context) error {
	aliases, err := stations.ParseAliases(in.study.Aliases)
	if err != nil {
		return err
	}
	for _, name := range in.study.Stations {
		if err := in.hash(input.Stations, "stations ", name); err != nil {
			return err
		}
	}
	network, err := in.study.folder.Stations(ctx, in.study.Stations, open.Options{Aliases: aliases}, "")
	if err != nil {
		return err
	}
	in.index = network.Index
	for _, r := range network.Reports {
		if text := r.Unusable(); text != "" {
			in.faults = append(in.faults, Fault{-1, r.File, text, r.RejectCount})
		}
	}
	return nil
}

// corridors lists the sources. One that cannot be read stays in the list, so
// that the others keep their numbers.
func (in *inputs) corridors() {
	for _, name := range in.study.Corridors {
		in.sources = append(in.sources, in.expand(name)...)
	}
	for i := range in.study.Between {
		b := &in.study.Between[i]
		text := fmt.Sprintf("%s %v %v %v", b.Name, b.From, b.To, b.SpeedKMH)
		km := earth.DistanceM(b.From[0], b.From[1], b.To[0], b.To[1]) / 1000
		in.sources = append(in.sources, source{name: b.Name, between: b, hash: hashOf([]byte(text)), cost: 1000 * km})
	}
}

func (in *inputs) expand(name string) []source {
	names := []string{name}
	if strings.ContainsAny(name, "*?[") {
		found, err := in.study.folder.Glob(name)
		if err != nil || len(found) == 0 {
			return []source{{name: name, path: name, err: &fault.Input{File: name, Expected: "a pattern that some route file fits"}}}
		}
		names = found
	}
	out := make([]source, len(names))
	for i, path := range names {
		s := source{name: strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)), path: path}
		if demo, ok := strings.CutPrefix(path, input.Demo+":"); ok {
			s.name = demo
		}
		var bytes int64
		s.hash, bytes, s.err = in.study.folder.Hash(input.Routes, path)
		s.cost = float64(bytes)
		out[i] = s
	}
	return out
}

// route reads a corridor's road.
func (in *inputs) route(s *source) (*route.Route, error) {
	switch {
	case s.err != nil:
		return nil, s.err
	case s.between != nil:
		return s.between.route()
	}
	return in.study.folder.Route(s.path)
}

// betweenPieceM is the length of the pieces of a made corridor.
const betweenPieceM = 500.0

// route is a great circle in pieces of at most betweenPieceM.
func (b *Between) route() (*route.Route, error) {
	from, to := sphere(b.From), sphere(b.To)
	cos := min(max(from[0]*to[0]+from[1]*to[1]+from[2]*to[2], -1), 1)
	angle := math.Acos(cos)
	pieces := int(math.Ceil(angle * earth.MeanRadiusM / betweenPieceM))
	if pieces < 1 || angle > math.Pi-1e-6 {
		return nil, &fault.Input{Field: "between " + b.Name, Expected: "two different points that are not opposite"}
	}
	points := make([]route.Point, pieces+1)
	for i := range points {
		t := float64(i) / float64(pieces)
		p, q := math.Sin((1-t)*angle)/math.Sin(angle), math.Sin(t*angle)/math.Sin(angle)
		x, y, z := p*from[0]+q*to[0], p*from[1]+q*to[1], p*from[2]+q*to[2]
		points[i] = route.Point{
			Lon: math.Atan2(y, x) * 180 / math.Pi, Lat: math.Atan2(z, math.Hypot(x, y)) * 180 / math.Pi,
			ElevationM: math.NaN(), SpeedMS: b.SpeedKMH / 3.6,
		}
	}
	return route.New(b.Name, points)
}

func sphere(p [2]float64) [3]float64 {
	lon, lat := p[0]*math.Pi/180, p[1]*math.Pi/180
	return [3]float64{math.Cos(lat) * math.Cos(lon), math.Cos(lat) * math.Sin(lon), math.Sin(lat)}
}

package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

const (
	zone    = "Etc/GMT+10" // nautical time at 150 W: ten hours behind UTC, no summer time
	updated = "2026-09-01T00:00:00Z"
	licence = "Apache-2.0"
)

// placed is a site with the point of the road it is reached from.
type placed struct {
	site
	id       string
	road     int // index among the drawn roads
	junction int // index of the road's point
	at       xy
}

// placeSites stands every site beside its road.
func placeSites(roads []road) []placed {
	byID := make(map[string]int)
	for i, r := range roads {
		byID[r.plan.id] = i
	}
	out := make([]placed, len(sites))
	for i, s := range sites {
		n, ok := byID[s.road]
		if !ok {
			panic("make: no road " + s.road)
		}
		r := &roads[n]
		junction := r.sampleAt(r.placeAlongM(s.place) + s.pastKm*1000)
		side := direction(r.line, junction).leftNormal()
		out[i] = placed{s, fmt.Sprintf("ORR%03d", i+1), n, junction, r.line[junction].plus(side.times(s.leftKm * 1000))}
	}
	return out
}

func (r *road) placeAlongM(name string) float64 {
	for k, n := range r.plan.placeNames() {
		if n == name {
			return r.alongM[r.knots[k]]
		}
	}
	panic("make: " + r.plan.id + " does not pass " + name)
}

// siteRecord is a site as the project's own GeoJSON form has it.
type siteRecord struct {
	Name      string        `json:"name"`
	Operator  string        `json:"operator"`
	Network   string        `json:"network"`
	Access    string        `json:"access"`
	Status    string        `json:"status"`
	Hours     string        `json:"hours"`
	Zone      string        `json:"zone"`
	Stalls    []stallRecord `json:"stalls"`
	SharedKW  float64       `json:"shared_kw,omitempty"`
	Price     *price        `json:"price,omitempty"`
	Amenities []string      `json:"amenities,omitempty"`
	Updated   string        `json:"updated"`
	Source    string        `json:"source"`
	Licence   string        `json:"licence"`
	Note      string        `json:"note,omitempty"`
}

// stallRecord is so many stalls alike.
type stallRecord struct {
	Count      int         `json:"count"`
	Status     string      `json:"status,omitempty"`
	Connectors []connector `json:"connectors"`
	Group      int         `json:"group,omitempty"`
	GroupKW    float64     `json:"group_kw,omitempty"`
}

func (p placed) record() siteRecord {
	known, ok := prices[p.price]
	if !ok {
		panic("make: no price " + p.price)
	}
	r := siteRecord{
		Name: p.name, Operator: p.operator, Network: p.operator,
		Access: or(p.access, "public"), Status: or(p.status, "operating"), Hours: or(p.hours, "24/7"), Zone: zone,
		SharedKW: p.sharedKW, Price: known, Updated: updated, Source: "Orrelund demo (invented)", Licence: licence, Note: p.note,
	}
	if p.amenities != "" {
		r.Amenities = strings.Split(p.amenities, ";")
	}
	r.Stalls = p.stalls.records(p.firstDown)
	return r
}

func (s stalls) records(firstDown bool) []stallRecord {
	alike := stallRecord{Count: s.count, Connectors: s.unit.connectors}
	var out []stallRecord
	if firstDown {
		down := alike
		down.Count, down.Status = 1, "out of order"
		out, alike.Count = append(out, down), alike.Count-1
	}
	if s.pairKW == 0 {
		return append(out, alike)
	}
	for pair := range s.count / 2 {
		shared := alike
		shared.Count, shared.Group, shared.GroupKW = 2, pair+1, s.pairKW
		out = append(out, shared)
	}
	return out
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

// feature is a GeoJSON point.
type feature struct {
	Type       string `json:"type"`
	ID         string `json:"id"`
	Properties any    `json:"properties"`
	Geometry   point  `json:"geometry"`
}

type point struct {
	Type        string    `json:"type"`
	Coordinates []float64 `json:"coordinates"`
}

func pointAt(id string, p xy, properties any) feature {
	lon, lat := p.lonLat()
	return feature{"Feature", id, properties, point{"Point", []float64{round(lon, 5), round(lat, 5)}}}
}

func stationFile(all []placed) []byte {
	features := make([]feature, len(all))
	for i, p := range all {
		features[i] = pointAt(p.id, p.at, p.record())
	}
	return collection(features)
}

// placeRecord is a place as the place list writes it.
type placeRecord struct {
	Name       string  `json:"name"`
	Kind       string  `json:"kind"`
	ElevationM float64 `json:"elevation_m"`
}

func placeFile() []byte {
	features := make([]feature, len(places))
	for i, p := range places {
		features[i] = pointAt(fmt.Sprintf("place%02d", i+1), p.at(), placeRecord{p.name, p.kind, p.elevationM})
	}
	return collection(features)
}

// collection writes a FeatureCollection, one feature a line.
func collection(features []feature) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "{\"type\": \"FeatureCollection\",\n\"note\": %q,\n\"features\": [\n", invented)
	for i, f := range features {
		line, err := json.Marshal(f)
		if err != nil {
			panic("make: " + err.Error())
		}
		separate(&b, i, 1)
		b.Write(line)
	}
	b.WriteString("\n]}\n")
	return []byte(b.String())
}

// sideRoad is the way from the road to a site that stands off it: a few bends,
// no more.
func (p placed) sideRoad(from xy) []xy {
	run := p.at.minus(from)
	side := run.unit().leftNormal()
	steps := max(1, int(math.Round(run.lengthM()/300)))
	line := []xy{from}
	for i := 1; i < steps; i++ {
		f := float64(i) / float64(steps)
		line = append(line, from.plus(run.times(f)).plus(side.times(0.06*run.lengthM()*math.Sin(2*math.Pi*f))))
	}
	return append(line, p.at)
}

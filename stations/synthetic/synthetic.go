// Package synthetic draws station sets and routes of any size from a seed, for
// benchmarks and proofs. Nothing in them exists: places, names and operators
// are made of syllables.
package synthetic

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"ampleway/route/earth"
	"ampleway/stations"
	"github.com/paulmach/orb"
)

// The continent the sets cover, degrees: about 1,800 km by 1,550 km.
const (
	West, East   = -5.0, 20.0
	South, North = 42.0, 56.0
	towns        = 4000
	operators    = 60
)

// Sites draws n sites: two thirds round towns of very different size, the rest
// anywhere. The same n and seed give the same sites.
func Sites(n int, seed uint64) stations.Sites {
	d := newDraw(seed)
	sites := make(stations.Sites, n)
	for i := range sites {
		sites[i] = d.site(i)
	}
	return sites
}

type draw struct {
	rng       *rand.Rand
	town      [towns]orb.Point
	spreadDeg [towns]float64
	operator  [operators]string
}

func newDraw(seed uint64) *draw {
	d := &draw{rng: rand.New(rand.NewPCG(seed, 1))}
	for i := range d.town {
		d.town[i] = d.anywhere()
		d.spreadDeg[i] = 0.01 + 0.1*d.rng.Float64()
	}
	for i := range d.operator {
		d.operator[i] = d.word() + " Charge"
	}
	return d
}

func (d *draw) anywhere() orb.Point {
	return orb.Point{West + (East-West)*d.rng.Float64(), South + (North-South)*d.rng.Float64()}
}

func (d *draw) position() orb.Point {
	if d.rng.Float64() < 1.0/3 {
		return d.anywhere()
	}
	u := d.rng.Float64()
	t := int(u * u * towns)
	return orb.Point{
		d.town[t][0] + d.rng.NormFloat64()*d.spreadDeg[t]*1.5,
		d.town[t][1] + d.rng.NormFloat64()*d.spreadDeg[t],
	}
}

var syllables = []string{"ba", "do", "fen", "gar", "hol", "ka", "lim", "mor", "nu", "pel", "ro", "sen", "ta", "vik", "wes", "zu"}

func (d *draw) word() string {
	text := ""
	for range 2 + d.rng.IntN(3) {
		text += syllables[d.rng.IntN(len(syllables))]
	}
	return string(text[0]-'a'+'A') + text[1:]
}

func (d *draw) site(i int) stations.Site {
	p := d.position()
	place := d.word()
	return stations.Site{
		ID:       fmt.Sprintf("S%07d", i),
		Name:     place + " " + d.word(),
		Operator: d.operator[d.rng.IntN(operators)],
		Address:  fmt.Sprintf("%d %s Road, %s", 1+d.rng.IntN(200), d.word(), place),
		Country:  "ZZ",
		Lon:      math.Round(p[0]*1e6) / 1e6,
		Lat:      math.Round(p[1]*1e6) / 1e6,
		Access:   d.access(),
		Status:   stations.StatusOperating,
		Hours:    []string{"24/7", "24/7", "24/7", "Mo-Sa 06:00-22:00", ""}[d.rng.IntN(5)],
		Zone:     "Etc/UTC",
		Stalls:   d.stalls(i),
		Price:    d.price(),
		Updated:  time.Date(2026, 1, 1+d.rng.IntN(300), 0, 0, 0, 0, time.UTC),
		Source:   "synthetic",
		Licence:  "CC0-1.0",
	}
}

func (d *draw) access() stations.Access {
	if d.rng.IntN(10) == 0 {
		return stations.AccessCustomers
	}
	return stations.AccessPublic
}

var fastPowerKW = []float64{50, 75, 100, 120, 150, 175, 200, 250, 300, 350, 400}

func (d *draw) stalls(site int) []stations.Stall {
	stalls := make([]stations.Stall, 1+d.rng.IntN(4))
	fast := d.rng.IntN(4) == 0
	powerKW := fastPowerKW[d.rng.IntN(len(fastPowerKW))]
	old := d.rng.IntN(5) == 0
	for i := range stalls {
		stalls[i].ID = fmt.Sprintf("S%07d-%d", site, i+1)
		if !fast {
			stalls[i].Connectors = []stations.Connector{{Type: stations.Type2, PowerKW: 22, MaxA: 32, MaxV: 400, Phases: 3}}
			continue
		}
		stalls[i].Connectors = []stations.Connector{{Type: stations.CCS2, DC: true, PowerKW: powerKW, MaxA: 500, MaxV: 920}}
		if old {
			stalls[i].Connectors = append(stalls[i].Connectors, stations.Connector{Type: stations.CHAdeMO, DC: true, PowerKW: 50, MaxA: 125, MaxV: 500})
		}
		if powerKW > 200 && len(stalls) > 1 {
			stalls[i].Group, stalls[i].GroupKW = 1+i/2, powerKW
		}
	}
	return stalls
}

func (d *draw) price() *stations.Price {
	if d.rng.IntN(3) == 0 {
		return nil
	}
	perKWh := float64(30+d.rng.IntN(50)) / 100
	return &stations.Price{Currency: "XTS", Rates: stations.Rates{PerKWh: perKWh}}
}

// Route draws a winding line of the given length and number of points, at
// least two, from the west of the continent towards the east, with the
// distance along it at each point.
func Route(lengthM float64, points int, seed uint64) (orb.LineString, []float64) {
	rng := rand.New(rand.NewPCG(seed, 2))
	line := make(orb.LineString, points)
	chainageM := make([]float64, points)
	line[0] = orb.Point{West + 2 + 5*rng.Float64(), South + 4 + 6*rng.Float64()}
	stepM := lengthM / float64(points-1)
	heading, bend := math.Pi/2, 0.0
	for k := 1; k < points; k++ {
		bend = 0.95*bend + 0.006*rng.NormFloat64()
		heading += bend*stepM/50 - 0.02*(heading-math.Pi/2)
		perLon, perLat := earth.DegreeM(line[k-1][1])
		line[k] = orb.Point{
			line[k-1][0] + stepM*math.Sin(heading)/perLon,
			line[k-1][1] + stepM*math.Cos(heading)/perLat,
		}
		chainageM[k] = chainageM[k-1] + earth.DistanceM(line[k-1][0], line[k-1][1], line[k][0], line[k][1])
	}
	return line, chainageM
}

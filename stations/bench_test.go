package stations_test

import (
	"cmp"
	"math"
	"slices"
	"sync"
	"syscall"
	"testing"

	"ampleway/route/earth"
	"ampleway/stations"
	"ampleway/stations/synthetic"
	"ampleway/testdata"
	"github.com/paulmach/orb"
)

// country is a set and a route of the scale proof: 1,000,000 stations on a
// continent, 1,000 km of road in 20,000 points.
type country struct {
	index     *stations.Index
	line      orb.LineString
	chainageM []float64
}

func newCountry(sites int) country {
	var c country
	c.index = stations.NewIndex(synthetic.Sites(sites, 1))
	c.line, c.chainageM = synthetic.Route(1_000_000, 20_000, 1)
	return c
}

var million = sync.OnceValue(func() country { return newCountry(1_000_000) })

const halfWidthM = 5000

// cpuTime reports the processor time of each round beside the time on the
// wall, which on a busy machine says little.
func cpuTime(b *testing.B, start syscall.Rusage) {
	var end syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &end) == nil {
		ns := end.Utime.Nano() + end.Stime.Nano() - start.Utime.Nano() - start.Stime.Nano()
		b.ReportMetric(float64(ns)/1e6/float64(b.N), "cpu-ms/op")
	}
}

func cpuNow() (now syscall.Rusage) {
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &now)
	return now
}

// The corridor, route made ready included.
func BenchmarkCorridor(b *testing.B) {
	c := million()
	b.ReportAllocs()
	hits, start := 0, cpuNow()
	for b.Loop() {
		hits = len(c.index.Corridor(c.line, c.chainageM, halfWidthM))
	}
	cpuTime(b, start)
	b.ReportMetric(float64(hits), "hits")
}

// The same without the tree.
func BenchmarkCorridorWithoutTree(b *testing.B) {
	c := million()
	hits, start := 0, cpuNow()
	for b.Loop() {
		hits = len(c.index.WithoutTree(c.line, c.chainageM, halfWidthM))
	}
	cpuTime(b, start)
	b.ReportMetric(float64(hits), "hits")
}

// Every segment seen from 200 stations; brute force does so from every one.
func BenchmarkCorridorBruteForceOf200(b *testing.B) {
	c := million()
	some := every(c.index.Set(), c.index.Len()/200)
	start := cpuNow()
	for b.Loop() {
		stations.WholeWalk(some, c.line, c.chainageM, halfWidthM)
	}
	cpuTime(b, start)
}

func BenchmarkNewIndex(b *testing.B) {
	set := million().index.Set()
	b.ReportAllocs()
	start := cpuNow()
	for b.Loop() {
		stations.NewIndex(set)
	}
	cpuTime(b, start)
}

func every(set stations.Set, nth int) stations.Sites {
	var some stations.Sites
	for i := 0; i < set.Len(); i += nth {
		some = append(some, set.Site(i))
	}
	return some
}

// At scale the corridor finds the sites that a plain scan finds: one that looks
// from each site at every tenth point of the route, throws away what is
// further off than the road between two such points can make up for, and looks
// from the rest at every segment.
func TestCorridorAtScale(t *testing.T) {
	n := 20_000
	if testdata.Slow() {
		n = 1_000_000
	}
	c := newCountry(n)
	var tenth []orb.Point
	for k := 0; k < len(c.line); k += 10 {
		tenth = append(tenth, c.line[k])
	}
	tenth = append(tenth, c.line[len(c.line)-1])
	const slackM = 10*50 + 100
	var near stations.Sites
	var numbers []int
	for i := range n {
		lon, lat := c.index.Set().Position(i)
		perLon, perLat := earth.DegreeM(lat)
		for _, p := range tenth {
			if math.Hypot((p[0]-lon)*perLon, (p[1]-lat)*perLat) < halfWidthM+slackM {
				near, numbers = append(near, c.index.Set().Site(i)), append(numbers, i)
				break
			}
		}
	}
	want := stations.WholeWalk(near, c.line, c.chainageM, halfWidthM)
	for i := range want {
		want[i].Site = numbers[want[i].Site]
	}
	got := c.index.Corridor(c.line, c.chainageM, halfWidthM)
	bySite := func(a, b stations.Hit) int {
		return cmp.Or(cmp.Compare(a.Site, b.Site), cmp.Compare(a.ChainageM, b.ChainageM))
	}
	slices.SortFunc(got, bySite)
	slices.SortFunc(want, bySite)
	same := func(a, b stations.Hit) bool {
		return a.Site == b.Site && math.Abs(a.ChainageM-b.ChainageM) < 0.5 && math.Abs(a.OffsetM-b.OffsetM) < 1e-5
	}
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("%d hits, a plain scan finds %d", len(got), len(want))
	}
	if len(want) < n/2000 {
		t.Errorf("%d hits: too few to mean anything", len(want))
	}
	t.Logf("%d stations, %d looked at closely, %d hits", n, len(near), len(got))
}

package stations_test

import (
	"sync"
	"testing"

	"ampleway/stations"
	"ampleway/stations/synthetic"
	"github.com/paulmach/orb"
)

// country is the set and the route of the scale proof: 1,000,000 stations on
// a continent, 1,000 km of road in 20,000 points.
var country = sync.OnceValue(func() (c struct {
	index     *stations.Index
	line      orb.LineString
	chainageM []float64
}) {
	c.index = stations.NewIndex(synthetic.Sites(1_000_000, 1))
	c.line, c.chainageM = synthetic.Route(1_000_000, 20_000, 1)
	return c
})

func BenchmarkCorridor(b *testing.B) {
	c := country()
	b.ReportAllocs()
	for b.Loop() {
		hits := c.index.Corridor(c.line, c.chainageM, 5000)
		b.ReportMetric(float64(len(hits)), "hits")
	}
}

func BenchmarkNewIndex(b *testing.B) {
	set := country().index.Set()
	b.ReportAllocs()
	for b.Loop() {
		stations.NewIndex(set)
	}
}

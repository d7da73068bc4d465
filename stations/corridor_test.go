package stations

import (
	"cmp"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// wholeWalk finds hits without index, boxes, chords or blocks: every site
// looks at every segment.
func wholeWalk(set Set, line orb.LineString, chainageM []float64, halfWidthM float64) []Hit {
	var s strip
	s.lay(line, chainageM, halfWidthM)
	var hits []Hit
	for i := range set.Len() {
		lon, lat := set.Position(i)
		from := newSight(lon, lat)
		walk := passWalk{riseM: s.riseM}
		for k := 0; k+1 < len(s.points); k++ {
			look := from.turned(s.points[k][0])
			t, d2 := look.nearest(s.points[k], s.points[k+1])
			walk.peak(look.distanceM(s.points[k]))
			walk.near(approach{k, t, math.Sqrt(d2)})
		}
		for _, a := range walk.finish() {
			look := from.turned(s.points[a.segment][0])
			hits = s.hit(hits, i, &look, a)
		}
	}
	return hits
}

// inside drops the hits that lie on the corridor's edge to a micrometre, where
// rounding decides.
func inside(hits []Hit, halfWidthM float64) []Hit {
	return slices.DeleteFunc(hits, func(h Hit) bool { return h.OffsetM > halfWidthM-1e-6 })
}

// bySite orders hits so that two lists of the same hits compare one by one
// even where chainages differ by a rounding.
func bySite(hits []Hit) []Hit {
	slices.SortStableFunc(hits, func(a, b Hit) int { return cmp.Compare(a.Site, b.Site) })
	return hits
}

// drawLine draws a line that goes on, doubles back, stands still and jumps.
func drawLine(t *rapid.T, lon, lat float64) (orb.LineString, []float64) {
	n := rapid.SampledFrom([]int{1, 2, 5, 40, 120, 300}).Draw(t, "points")
	stepM := rapid.SampledFrom([]float64{5, 50, 500, 20000}).Draw(t, "step")
	line := make(orb.LineString, n)
	chainageM := make([]float64, n)
	line[0] = orb.Point{lon, lat}
	heading := rapid.Float64Range(0, 2*math.Pi).Draw(t, "heading")
	bend := rapid.SampledFrom([]float64{0, 0.02, 0.3}).Draw(t, "bend")
	turns := rapid.SliceOfN(rapid.IntRange(-10, 10), n, n).Draw(t, "turns")
	back := rapid.SampledFrom([]int{0, n / 4, n / 2, 3 * n / 4}).Draw(t, "back")
	for k := 1; k < n; k++ {
		heading += bend * float64(turns[k]) / 10
		if k == back {
			heading += math.Pi
		}
		perLon, perLat := earth.DegreeM(line[k-1][1])
		next := orb.Point{
			line[k-1][0] + stepM*math.Sin(heading)/perLon,
			math.Max(-86, math.Min(86, line[k-1][1]+stepM*math.Cos(heading)/perLat)),
		}
		next[0] = earth.LonDelta(0, next[0])
		line[k] = next
		chainageM[k] = chainageM[k-1] + earth.DistanceM(line[k-1][0], line[k-1][1], next[0], next[1])
	}
	return line, chainageM
}

func drawPlace(t *rapid.T) (lon, lat float64) {
	lon = rapid.SampledFrom([]float64{0, 13, -120, 180, -180, 179.99}).Draw(t, "lon")
	lat = rapid.SampledFrom([]float64{0, 48, -33, 65, 78, -82}).Draw(t, "lat")
	return lon, lat
}

// sitesNear scatters sites round the points of a line.
func sitesNear(t *rapid.T, line orb.LineString, halfWidthM float64) Sites {
	n := rapid.IntRange(1, 40).Draw(t, "sites")
	sites := make(Sites, n)
	for i := range sites {
		p := line[rapid.IntRange(0, len(line)-1).Draw(t, "at")]
		perLon, perLat := earth.DegreeM(p[1])
		east := rapid.Float64Range(-2, 2).Draw(t, "east") * 0.73 * halfWidthM / perLon
		north := rapid.Float64Range(-2, 2).Draw(t, "north") * 0.73 * halfWidthM / perLat
		sites[i].Lon = earth.LonDelta(0, p[0]+east)
		sites[i].Lat = math.Max(-88, math.Min(88, p[1]+north))
	}
	return sites
}

func TestCorridorFindsWhatEverySegmentFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon, lat := drawPlace(t)
		line, chainageM := drawLine(t, lon, lat)
		halfWidthM := rapid.SampledFrom([]float64{100, 1000, 5000, 40000}).Draw(t, "half width")
		if rapid.Bool().Draw(t, "narrow") {
			halfWidthM = max(10, min(50000, chainageM[len(chainageM)-1]/20))
		}
		sites := sitesNear(t, line, halfWidthM)
		got := inside(bySite(NewIndex(sites).Corridor(line, chainageM, halfWidthM)), halfWidthM)
		want := inside(wholeWalk(sites, line, chainageM, halfWidthM), halfWidthM)
		sameHits(t, got, want)
	})
}

func sameHits(t interface{ Fatalf(string, ...any) }, got, want []Hit) {
	if len(got) != len(want) {
		t.Fatalf("%d hits, every segment gives %d\n got %v\nwant %v", len(got), len(want), got, want)
	}
	for i := range got {
		if got[i].Site != want[i].Site || math.Abs(got[i].ChainageM-want[i].ChainageM) > 0.5 || math.Abs(got[i].OffsetM-want[i].OffsetM) > 1e-6 {
			t.Fatalf("hit %d is %+v, every segment gives %+v", i, got[i], want[i])
		}
	}
}

// A corridor that is worth several goroutines has the hits of every segment
// too, in order.
func TestCorridorOnAllCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(4))
	const halfWidthM = 5000
	rng := rand.New(rand.NewPCG(1, 2))
	line, chainageM := make(orb.LineString, 3000), make([]float64, 3000)
	for k := range line {
		line[k] = orb.Point{10 + 0.002*float64(k), 48 + 0.3*math.Sin(float64(k)/90)}
		if k > 0 {
			chainageM[k] = chainageM[k-1] + earth.DistanceM(line[k-1][0], line[k-1][1], line[k][0], line[k][1])
		}
	}
	sites := make(Sites, 3000)
	for i := range sites {
		p := line[rng.IntN(len(line))]
		sites[i].Lon, sites[i].Lat = p[0]+0.1*(rng.Float64()-0.5), p[1]+0.1*(rng.Float64()-0.5)
	}
	x := NewIndex(sites)
	var s strip
	s.lay(line, chainageM, halfWidthM)
	x.pair(&s)
	if p := cores(len(s.pieces), sharePieces); p < 2 {
		t.Fatalf("%d pieces are searched in one goroutine", len(s.pieces))
	}
	if p := cores(len(s.pairs), sharePairs); p < 2 {
		t.Fatalf("%d pairs are walked in %d goroutines", len(s.pairs), p)
	}
	got := x.Corridor(line, chainageM, halfWidthM)
	if !slices.IsSortedFunc(got, inOrder) {
		t.Error("hits are out of order")
	}
	sameHits(t, inside(bySite(got), halfWidthM), inside(wholeWalk(sites, line, chainageM, halfWidthM), halfWidthM))
}

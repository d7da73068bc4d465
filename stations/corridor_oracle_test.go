package stations

import (
	"math"
	"slices"
	"testing"

	"ampleway/route/earth"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// The nearest point of a segment against a search by thirds over
// earth.DistanceM itself.
func TestNearestAgainstSearchByThirds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.SampledFrom([]float64{0, 179.99, -75}).Draw(t, "lon")
		lat := rapid.Float64Range(-80, 80).Draw(t, "lat")
		perLon, perLat := earth.DegreeM(lat)
		place := func(label string) orb.Point {
			return orb.Point{
				lon + rapid.Float64Range(-20000, 20000).Draw(t, label+" east")/perLon,
				lat + rapid.Float64Range(-20000, 20000).Draw(t, label+" north")/perLat,
			}
		}
		a, b := place("a"), place("b")
		at := func(share float64) float64 {
			return earth.DistanceM(lon, lat, a[0]+share*(b[0]-a[0]), a[1]+share*(b[1]-a[1]))
		}
		low, high := 0.0, 1.0
		for range 100 {
			if third := (high - low) / 3; at(low+third) < at(high-third) {
				high -= third
			} else {
				low += third
			}
		}
		look := newSight(lon, lat)
		share, d2 := look.nearest(a, b)
		want := at((low + high) / 2)
		if got := at(share); got > want+1e-3 {
			t.Fatalf("share %g is %g m away, the search found %g m at %g", share, got, want, (low+high)/2)
		}
		if math.Abs(math.Sqrt(d2)-want) > 1e-4*want+1e-3 {
			t.Fatalf("the sight says %g m, earth.DistanceM %g m", math.Sqrt(d2), want)
		}
	})
}

// sampled is a line cut into short steps.
type sampled struct {
	points    []orb.Point
	chainageM []float64
}

func sample(line orb.LineString, chainageM []float64, stepM float64) sampled {
	s := sampled{points: []orb.Point{line[0]}, chainageM: []float64{chainageM[0]}}
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		dLon := earth.LonDelta(a[0], b[0])
		n := int((chainageM[k]-chainageM[k-1])/stepM) + 1
		for i := 1; i <= n; i++ {
			share := float64(i) / float64(n)
			s.points = append(s.points, orb.Point{a[0] + share*dLon, a[1] + share*(b[1]-a[1])})
			s.chainageM = append(s.chainageM, chainageM[k-1]+share*(chainageM[k]-chainageM[k-1]))
		}
	}
	return s
}

// basin is a pass as topology sees it: a minimum of the distance along the
// line, with how far the water must rise before it runs into a deeper one.
type basin struct{ chainageM, depthM, riseM float64 }

// basins floods the samples from the lowest up and joins neighbours; where two
// basins meet, the shallower ends there.
func (s sampled) basins(lon, lat float64) []basin {
	distance := make([]float64, len(s.points))
	order := make([]int, len(s.points))
	for i, p := range s.points {
		distance[i], order[i] = earth.DistanceM(lon, lat, p[0], p[1]), i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if distance[a] < distance[b] {
			return -1
		} else if distance[a] > distance[b] {
			return 1
		}
		return a - b
	})
	lowest := make([]int, len(order)) // lowest sample of the basin that a sample is in, by union-find
	for i := range lowest {
		lowest[i] = -1
	}
	var find func(int) int
	find = func(i int) int {
		if lowest[i] != i {
			lowest[i] = find(lowest[i])
		}
		return lowest[i]
	}
	var all []basin
	end := func(low int, atM float64) {
		all = append(all, basin{s.chainageM[low], distance[low], atM - distance[low]})
	}
	for _, i := range order {
		lowest[i] = i
		for _, next := range []int{i - 1, i + 1} {
			if next < 0 || next >= len(order) || lowest[next] < 0 {
				continue
			}
			a, b := find(i), find(next)
			if distance[a] > distance[b] || distance[a] == distance[b] && a > b {
				a, b = b, a
			}
			if a != b {
				end(b, distance[i])
				lowest[b] = a
			}
		}
	}
	end(find(order[0]), math.Inf(1))
	return all
}

// The hits of a site are the basins that reach into the corridor and hold
// until the water has risen by PassRise half widths: found by flooding samples
// of earth.DistanceM, without any of the corridor's own geometry. Cases that
// the sampling step cannot tell are left out and counted.
func TestCorridorAgainstFlooding(t *testing.T) {
	told, severalPasses := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		lon, lat := drawPlace(t)
		line, chainageM := drawLine(t, lon, lat)
		halfWidthM := max(50, min(50000, chainageM[len(chainageM)-1]/rapid.SampledFrom([]float64{4, 12, 40}).Draw(t, "half widths long")))
		sites := sitesNear(t, line, halfWidthM)
		stepM := halfWidthM / 100
		if chainageM[len(chainageM)-1] > 20000*stepM {
			t.Skip("too long to flood")
		}
		samples := sample(line, chainageM, stepM)
		byNumber := make(map[int][]Hit)
		for _, h := range NewIndex(sites).Corridor(line, chainageM, halfWidthM) {
			byNumber[h.Site] = append(byNumber[h.Site], h)
		}
		for i, s := range sites {
			var want []basin
			clear := true
			for _, b := range samples.basins(s.Lon, s.Lat) {
				atEdge, atRise := math.Abs(b.depthM-halfWidthM) < stepM, math.Abs(b.riseM-PassRise*halfWidthM) < 2*stepM
				if atEdge && (atRise || b.riseM > PassRise*halfWidthM) || atRise && b.depthM < halfWidthM {
					clear = false
				}
				if b.depthM <= halfWidthM && b.riseM >= PassRise*halfWidthM {
					want = append(want, b)
				}
			}
			if !clear {
				continue
			}
			told++
			if len(want) > 1 {
				severalPasses++
			}
			slices.SortFunc(want, func(a, b basin) int { return int(math.Copysign(1, a.chainageM-b.chainageM)) })
			got := byNumber[i]
			if len(got) != len(want) {
				t.Fatalf("site %d at %g, %g: hits %v, flooding finds %v", i, s.Lon, s.Lat, got, want)
			}
			for n := range got {
				if got[n].OffsetM > want[n].depthM+1e-6*halfWidthM || got[n].OffsetM < want[n].depthM-stepM {
					t.Fatalf("site %d: hit %+v, flooding finds %+v", i, got[n], want[n])
				}
			}
		}
	})
	if (told < 500 || severalPasses < 5) && !testing.Short() { // -short draws a fifth
		t.Errorf("%d sites could be told, %d of them with several passes: too few to mean anything", told, severalPasses)
	}
	t.Logf("%d sites, %d of them with several passes", told, severalPasses)
}

// Driving the other way gives the same passes from the end.
func TestCorridorTheOtherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon, lat := drawPlace(t)
		line, chainageM := drawLine(t, lon, lat)
		halfWidthM := rapid.SampledFrom([]float64{1000, 5000}).Draw(t, "half width")
		sites := sitesNear(t, line, halfWidthM)
		back, backM := make(orb.LineString, len(line)), make([]float64, len(line))
		for k := range line {
			back[len(line)-1-k], backM[len(line)-1-k] = line[k], chainageM[len(line)-1]-chainageM[k]
		}
		index := NewIndex(sites)
		there := inside(index.Corridor(line, chainageM, halfWidthM), halfWidthM)
		here := inside(index.Corridor(back, backM, halfWidthM), halfWidthM)
		if len(there) != len(here) {
			t.Fatalf("%d passes there, %d back:\n%v\n%v", len(there), len(here), there, here)
		}
	})
}

func TestCorridorOfOnePointAndNone(t *testing.T) {
	index := NewIndex(Sites{{Lon: 0.01}, {Lon: 1}})
	if hits := index.Corridor(nil, nil, 5000); hits != nil {
		t.Errorf("no line: %v", hits)
	}
	hits := index.Corridor(orb.LineString{{0, 0}}, []float64{7}, 5000)
	if len(hits) != 1 || hits[0].Site != 0 || hits[0].ChainageM != 7 || math.Abs(hits[0].OffsetM-1113.195) > 0.01 {
		t.Errorf("a place: %v, want site 0 at 1113.195 m (0.01 of a degree of the equator, WGS 84: 111,319.49 m)", hits)
	}
}

func TestCorridorSides(t *testing.T) {
	index := NewIndex(Sites{{Lon: 0.05, Lat: 0.01}, {Lon: 0.06, Lat: -0.01}, {Lon: 0.07}})
	var got []Side
	for _, h := range index.Corridor(orb.LineString{{0, 0}, {0.1, 0}}, []float64{0, 11132}, 5000) {
		got = append(got, h.Side)
	}
	if !slices.Equal(got, []Side{Left, Right, On}) {
		t.Errorf("driving east: %v", got)
	}
}

// There and back past one station is two passes, the bend of a road is one.
func TestCorridorThereAndBack(t *testing.T) {
	var line orb.LineString
	var chainageM []float64
	for k := -100; k <= 100; k++ {
		line = append(line, orb.Point{float64(min(k, -k)) / 1000, 50})
		chainageM = append(chainageM, float64(k+100)*earth.DistanceM(0, 50, 0.001, 50))
	}
	hits := NewIndex(Sites{{Lon: -0.05, Lat: 50.01}}).Corridor(line, chainageM, 5000)
	if len(hits) != 2 || math.Abs(hits[0].ChainageM-chainageM[50]) > 1 || math.Abs(hits[1].ChainageM-chainageM[150]) > 1 {
		t.Errorf("%+v", hits)
	}
}

func TestCorridorAcrossTheAntimeridian(t *testing.T) {
	line := orb.LineString{{179.9, -17}, {-179.9, -17}}
	lengthM := earth.DistanceM(179.9, -17, -179.9, -17)
	sites := Sites{{Lon: 180, Lat: -17.01}, {Lon: -180, Lat: -16.99}, {Lon: 179.95, Lat: -17}, {Lon: -179.95, Lat: -17}, {Lon: 0, Lat: -17}}
	hits := NewIndex(sites).Corridor(line, []float64{0, lengthM}, 5000)
	var got []int
	for _, h := range hits {
		got = append(got, h.Site)
	}
	if !slices.Equal(got, []int{2, 0, 1, 3}) {
		t.Errorf("%+v", hits)
	}
	for i, share := range []float64{0.25, 0.5, 0.5, 0.75} {
		if i < len(hits) && math.Abs(hits[i].ChainageM-share*lengthM) > 2 {
			t.Errorf("%+v: want chainage %g", hits[i], share*lengthM)
		}
	}
}

func TestCorridorMisuse(t *testing.T) {
	index := NewIndex(Sites{})
	for name, call := range map[string]func(){
		"chainages":  func() { index.Corridor(orb.LineString{{0, 0}}, nil, 1) },
		"half width": func() { index.Corridor(orb.LineString{{0, 0}}, []float64{0}, 0) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}

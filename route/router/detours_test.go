package router_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/earth"
	"ampleway/route/place"
	"ampleway/route/question"
	"ampleway/route/router"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/testdata"
)

// roads lets a trip ask a router for detours.
func roads(r *router.Router) trip.Roads {
	return func(ctx context.Context, questions []trip.Ends) ([]trip.Way, []error) {
		pairs := make([]router.Pair, len(questions))
		for i, q := range questions {
			pairs[i] = router.Pair(q)
		}
		answers, errs, _ := r.Ways(ctx, pairs)
		ways := make([]trip.Way, len(answers))
		for i, w := range answers {
			ways[i] = trip.Way(w)
		}
		return ways, errs
	}
}

func TestWays(t *testing.T) {
	address, _ := serve(t, 200, `{"way":{"type":"LineString","coordinates":[[7.001,45],[7.5,45.5],[8,46]]},"t":7200}`)
	for _, test := range []struct {
		fragment string
		timeS    float64
	}{{"#line=way", 0}, {"#line=way&duration_s=t", 7200}} {
		r, err := router.New(address+"/{from.lonlat}/{to.lonlat}"+test.fragment, router.Options{})
		if err != nil {
			t.Fatal(err)
		}
		ways, errs, err := r.Ways(context.Background(), []router.Pair{{From: from, To: to}, {From: orb.Point{9, 45}, To: to}})
		if err != nil || errs[0] != nil || errs[1] == nil || ways[1] != (router.Way{}) {
			t.Fatalf("%v, %v, %v", ways, errs, err)
		}
		lineM := earth.DistanceM(7.001, 45, 7.5, 45.5) + earth.DistanceM(7.5, 45.5, 8, 46)
		wholeM := lineM + earth.DistanceM(7, 45, 7.001, 45)
		if math.Abs(ways[0].LengthM-wholeM) > 1e-6 || math.Abs(ways[0].TimeS-test.timeS*wholeM/lineM) > 1e-6 {
			t.Errorf("%+v, want %.3f m in %.3f s", ways[0], wholeM, test.timeS)
		}
	}
}

func site(id string, powerKW float64, at orb.Point) stations.Site {
	stall := stations.Stall{Connectors: []stations.Connector{{Type: "CCS2", DC: true, PowerKW: powerKW}}}
	return stations.Site{ID: id, Name: "station " + id, Lon: at.Lon(), Lat: at.Lat(), Stalls: []stations.Stall{stall, stall}, Access: stations.AccessPublic}
}

func smallCar(t *testing.T) *energy.Car {
	t.Helper()
	file, text, ok := cars.File("small-hatch")
	if !ok {
		t.Fatal("no such car")
	}
	c, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// detoursOn plans a trip on a router's road with its detours, by the command
// and by the same router behind HTTP, and checks the answer of every station
// asked for against single questions.
func detoursOn(t *testing.T, template string, from, to orb.Point, sites stations.Sites, ask question.Question) (estimated, asked *trip.Plan) {
	t.Helper()
	command, err := router.New(template, router.Options{})
	if err != nil {
		t.Fatal(err)
	}
	way, err := command.Route(context.Background(), from, to)
	if err != nil {
		t.Fatal(err)
	}
	way = way.WithSpeed(70 / 3.6)
	drive, goal, err := trip.Prepare(way, stations.NewIndex(sites), smallCar(t), ask)
	if err != nil {
		t.Fatal(err)
	}
	if estimated, err = drive.Plan(nil, goal); err != nil {
		t.Fatal(err)
	}
	strict, err := router.New(template, router.Options{SnapM: 500})
	if err != nil {
		t.Fatal(err)
	}
	if asked, err = drive.PlanAsking(context.Background(), nil, goal, roads(strict), trip.AskOptions{}, trip.AssureOptions{Trips: 20}); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(service(t, command))
	defer server.Close()
	served, err := router.New(server.URL+"/{from.lonlat}/{to.lonlat}/geojson", router.Options{SnapM: 500})
	if err != nil {
		t.Fatal(err)
	}
	overHTTP, err := drive.PlanAsking(context.Background(), nil, goal, roads(served), trip.AskOptions{}, trip.AssureOptions{Trips: 20})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(overHTTP.TimeS-asked.TimeS) > 1e-3 || len(overHTTP.Stops) != len(asked.Stops) {
		t.Errorf("over HTTP %.1f s with %d stops, by the command %.1f s with %d", overHTTP.TimeS, len(overHTTP.Stops), asked.TimeS, len(asked.Stops))
	}
	t.Logf("%.1f km; %s", way.LengthM()/1000, asked.Assumptions(question.Metric)[3])
	answers := 0
	for i, p := range asked.Drive.Corridor.Passes {
		was := drive.Corridor.Passes[i]
		if p.Asked {
			answers++
			t.Logf("%s at km %.1f: estimated %.2f km, asked %.2f km, %.2f of it there", p.Site.Name, p.ChainageM/1000, 2*was.OneWayM/1000, 2*p.OneWayM/1000, (p.OneWayM+p.LongerInM)/1000)
			checkAnswer(t, command, way, p)
		}
	}
	if answers == 0 {
		t.Error("no station was asked for")
	}
	return estimated, asked
}

// checkAnswer asks anew, by hand: a detour is no shorter than what going to the
// station and back costs between places 10 to 11 km before and behind it.
func checkAnswer(t *testing.T, r *router.Router, way *route.Route, p trip.Pass) {
	t.Helper()
	fromM, toM := math.Floor(p.ChainageM/1000-10)*1000, math.Ceil(p.ChainageM/1000+10)*1000
	at := func(m float64) orb.Point {
		q := way.At(math.Min(math.Max(m, 0), way.LengthM()))
		return orb.Point{q.Lon, q.Lat}
	}
	lengthM := func(a, b orb.Point) float64 {
		w, err := r.Route(context.Background(), a, b)
		if err != nil {
			t.Fatal(err)
		}
		return w.LengthM()
	}
	there := orb.Point{p.Site.Lon, p.Site.Lat}
	wantM := lengthM(at(fromM), there) + lengthM(there, at(toM)) - lengthM(at(fromM), at(toM))
	const endsM = 1000 // two ends at the station, up to 500 m off the road
	if gotM := 2 * p.OneWayM; gotM < wantM-100 || gotM > math.Max(wantM, 0)+endsM+2*p.OffsetM {
		t.Errorf("%s: %.0f m, by hand %.0f m", p.Site.Name, gotM, wantM)
	}
}

// On the small real road network, with invented stations: one beside the road
// and some up side valleys and across the river.
func TestDetoursOnRealRoads(t *testing.T) {
	template, valley, beyond := realRoads(t)
	sites := stations.Sites{
		site("1", 150, orb.Point{1.4918, 42.4645}), site("2", 150, orb.Point{1.5218, 42.5063}), site("3", 150, orb.Point{1.5148, 42.5449}),
		site("4", 150, orb.Point{1.5800, 42.5342}), site("5", 150, orb.Point{1.5976, 42.5670}), site("6", 150, orb.Point{1.6500, 42.5810}),
		site("7", 150, orb.Point{1.5330, 42.5560}), site("8", 150, orb.Point{1.4900, 42.5000}),
	}
	ask := question.New()
	ask.ConfidencePct = 0
	ask.LeaveWithPct, ask.ArriveWithPct, ask.TempC = 26, 30, 0
	estimated, asked := detoursOn(t, template, valley, beyond, sites, ask)
	t.Log(names(estimated), names(asked))
	if n := asked.Drive.Corridor.Asked.Questions; n > 24 || len(asked.Stops) == 0 {
		t.Errorf("%d questions, %d stops", n, len(asked.Stops))
	}
}

// A strong station 700 m from the valley road by the map, up the slope, is 17 km
// there and back by the small real road network: the plan takes the weak one
// beside the road.
func TestStationUpTheSlope(t *testing.T) {
	template, valley, beyond := realRoads(t)
	sites := stations.Sites{site("slope", 150, orb.Point{1.5825, 42.5650}), site("road", 20, orb.Point{1.5976, 42.5670})}
	ask := question.New()
	ask.ConfidencePct = 0
	ask.LeaveWithPct, ask.ArriveWithPct, ask.TempC = 26, 30, 0
	estimated, asked := detoursOn(t, template, valley, beyond, sites, ask)
	if len(estimated.Stops) != 1 || estimated.Stops[0].Charger.Site.ID != "slope" {
		t.Errorf("by estimates: %s", names(estimated))
	}
	if len(asked.Stops) != 1 || asked.Stops[0].Charger.Site.ID != "road" {
		t.Errorf("asked: %s", names(asked))
	}
}

// On the invented demo roads, with the demo's stations: where no road leads to a
// station, its detour stays an estimate.
func TestDetoursOnTheDemoRoads(t *testing.T) {
	template := routino(t, filepath.Join(testdata.Root(), "data", "demo", "roads.osm"))
	places, err := place.Read(bytes.NewReader(data.Places()), "places.geojson")
	if err != nil {
		t.Fatal(err)
	}
	from, err := places.Find("Dunmarrow")
	if err != nil {
		t.Fatal(err)
	}
	to, err := places.Find("Skarrow")
	if err != nil {
		t.Fatal(err)
	}
	sites, _, err := open.Read(bytes.NewReader(data.Stations()), "demo", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	estimated, asked := detoursOn(t, template, from.At, to.At, sites, question.New())
	t.Log(names(estimated))
	t.Log(names(asked))
	for i := range asked.Stops {
		if c := asked.Stops[i].Charger; !c.Asked && !c.Unanswered && !c.Stated {
			t.Errorf("stop %d was not asked for", i+1)
		}
	}
}

func names(p *trip.Plan) string {
	var out []string
	for i := range p.Stops {
		out = append(out, fmt.Sprintf("%s (%.1f km off)", p.Stops[i].Charger.Site.Name, 2*p.Stops[i].Charger.OneWayM/1000))
	}
	return strings.Join(out, ", ")
}

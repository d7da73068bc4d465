package study_test

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"ampleway/route/input"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/study"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
)

// whereToBuild is a study of one more station, and the same in numbers.
type whereToBuild struct {
	build      string
	candidates int
	confidence float64
	temps      []float64
	departs    []float64
	reserves   []float64
}

func (w *whereToBuild) study() string {
	list := func(values []float64) string { return strings.Join(strings.Fields(fmt.Sprint(values)), ", ") }
	return "format: ampleway-study-2\ncorridors: [demo:north]\nstations: [demo]\ncars: [small-hatch]\n" + w.build +
		"temp_c: " + list(w.temps) + "\nleave_with_pct: " + list(w.departs) + "\nreserve_pct: " + list(w.reserves) + "\n"
}

// The best place for one more station, and what a station at each place gains,
// are what comes of adding a site to the station data there and planning every
// trip anew.
func TestBestStationAgainstBruteForce(t *testing.T) {
	t.Run("as estimated", func(t *testing.T) {
		bestStation(t, &whereToBuild{"build: {every_km: 90, power_kw: [50, 150]}\nconfidence_pct: [0]\n", 20, 0, []float64{-10, 10}, []float64{70, 100}, []float64{0, 12, 20}})
	})
	t.Run("sure, outages apart", func(t *testing.T) {
		if testing.Short() {
			t.Skip("skipped: takes seconds")
		}
		build := "build: {every_km: 300, power_kw: [150]}\nconfidence_pct: [99, 90]\noutages: {random: {down: 1, sets: 1}}\n"
		bestStation(t, &whereToBuild{build, 3, 0.9, []float64{-10}, []float64{80, 100}, []float64{0, 12}})
	})
}

// A station that the driver would not use helps nothing, and the others are
// tried all the same.
func TestStationsOfNoUse(t *testing.T) {
	const text = "format: ampleway-study-2\ncorridors: [demo:north]\nstations: [demo]\ncars: [small-hatch]\ntemp_c: -10\nreserve_pct: 12\nconfidence_pct: 0\nrequest: {least_power_kw: 50}\n"
	builds := func(powers string) []study.BuildView {
		summary, err := study.Run(context.Background(), parse(t, text+"build: {every_km: 360, power_kw: "+powers+"}\n"), study.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return summary.Corridors[0].Build
	}
	alone, both := builds("[150]"), builds("[30, 150]")
	if len(both) != 2*len(alone) || alone[0].MadePossible+alone[0].Trips == 0 {
		t.Fatalf("%+v, %+v", alone, both)
	}
	for i, want := range alone {
		if weak := both[2*i]; weak.MadePossible+weak.Trips+weak.Reserves != 0 || !reflect.DeepEqual(both[2*i+1], want) {
			t.Errorf("beside a weak one %+v, alone %+v; the weak one %+v", both[2*i+1], want, weak)
		}
	}
}

func bestStation(t *testing.T, w *whereToBuild) {
	summary, err := study.Run(context.Background(), parse(t, w.study()), study.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if faults := summary.Manifest.Faults; len(faults) > 0 {
		t.Fatal(faults)
	}
	builds := summary.Corridors[0].Build
	if len(builds) != w.candidates {
		t.Fatalf("%d candidates", len(builds))
	}
	sites, _, err := input.Here.Sites([]string{input.Demo}, open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := demoRoute(t, "north")
	before := w.everyTrip(t, sites)
	best, bestReserve := -1, -1
	brute := make([]study.BuildView, len(builds))
	for i, b := range builds {
		at := r.At(1000 * b.KM)
		added := stations.Site{ID: "added", Lon: at.Lon, Lat: at.Lat, Stalls: []stations.Stall{{Connectors: []stations.Connector{{Type: stations.CCS2, DC: true, PowerKW: b.PowerKW}}}}}
		after := w.everyTrip(t, append(append([]stations.Site{}, sites...), added))
		g := &brute[i]
		for k := range before.minutes {
			switch {
			case math.IsInf(after.minutes[k], 1):
			case math.IsInf(before.minutes[k], 1):
				g.MadePossible++
			default:
				g.MinutesSaved += before.minutes[k] - after.minutes[k]
			}
		}
		for k := range before.highest {
			g.ReservePoints += after.highest[k] - before.highest[k]
		}
		// A site measured to stand a few millimetres off the road costs that much more.
		if g.MadePossible != b.MadePossible || math.Abs(g.MinutesSaved-b.MinutesSaved) > 0.01 || math.Abs(g.ReservePoints-b.ReservePoints) > 0.01 {
			t.Errorf("km %g, %g kW: %d possible, %.4f min, %.4f points; adding a site gives %d, %.4f, %.4f", b.KM, b.PowerKW, b.MadePossible, b.MinutesSaved, b.ReservePoints, g.MadePossible, g.MinutesSaved, g.ReservePoints)
		}
		if best < 0 || g.MadePossible > brute[best].MadePossible || g.MadePossible == brute[best].MadePossible && g.MinutesSaved > brute[best].MinutesSaved+0.01 {
			best = i
		}
		if bestReserve < 0 || g.ReservePoints > brute[bestReserve].ReservePoints+0.01 {
			bestReserve = i
		}
	}
	if brute[best].MadePossible == 0 || !builds[best].BestForTime || !builds[bestReserve].BestForReserve {
		t.Errorf("best by adding sites: %+v for time, %+v for the reserve", builds[best], builds[bestReserve])
	}
}

// outcomes are the minutes of every case, +Inf where there is no plan, and the
// highest reserve in % for every car, day and departure, found by bisection.
type outcomes struct{ minutes, highest []float64 }

func (w *whereToBuild) everyTrip(t *testing.T, sites []stations.Site) outcomes {
	t.Helper()
	var o outcomes
	var planner stops.Planner
	index := stations.NewIndex(stations.Sites(sites))
	hatch, r := car(t, "small-hatch"), demoRoute(t, "north")
	for _, temp := range w.temps {
		ask := question.New()
		ask.ConfidencePct = 0
		ask.TempC = temp
		drive, goal, err := trip.Prepare(r, index, hatch, ask)
		if err != nil {
			t.Fatal(err)
		}
		minutes := func(depart, reserve float64) float64 {
			g := goal
			g.DepartSoC, g.ReserveSoC, g.ArriveReserveSoC = depart/100, reserve/100, reserve/100
			if g.Confidence = w.confidence; g.Confidence > 0 {
				plan, err := drive.Plan(&planner, g)
				if err != nil {
					return math.Inf(1)
				}
				return plan.TimeS / 60
			}
			var plan stops.Plan
			if err := planner.Solve(drive.Problem(g), &plan); err != nil {
				return math.Inf(1)
			}
			return plan.TimeS / 60
		}
		for _, reserve := range w.reserves {
			for _, depart := range w.departs {
				o.minutes = append(o.minutes, minutes(depart, reserve))
			}
		}
		for _, depart := range w.departs {
			low, high := 0.0, 100.0
			for high-low > 1e-4 && !math.IsInf(minutes(depart, 0), 1) {
				if mid := (low + high) / 2; math.IsInf(minutes(depart, mid), 1) {
					high = mid
				} else {
					low = mid
				}
			}
			o.highest = append(o.highest, low)
		}
	}
	return o
}

package study_test

import (
	"bytes"
	"context"
	"math"
	"testing"

	"ampleway/data"
	"ampleway/route/stops"
	"ampleway/route/study"
	"ampleway/route/trip"
	"ampleway/stations"
	"ampleway/stations/open"
)

const whereToBuild = `format: ampleway-study-1
corridors: [demo:north]
stations: [demo]
cars: [small-hatch]
temps_c: [-10, 10]
departs_soc_pct: [70, 100]
reserves_pct: [0, 12, 20]
build: {every_km: 90, power_kw: [50, 150]}
`

// The best place for one more station, and what a station at each place gains,
// are what comes of adding a site to the station data there and planning every
// trip anew.
func TestBestStationAgainstBruteForce(t *testing.T) {
	summary, err := study.Run(context.Background(), parse(t, whereToBuild), study.Options{})
	if err != nil {
		t.Fatal(err)
	}
	builds := summary.Corridors[0].Build
	if len(builds) < 15 {
		t.Fatalf("%d candidates", len(builds))
	}
	sites, _, err := open.Read(bytes.NewReader(data.Stations()), "demo", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := demoRoute(t, "north")
	before := everyTrip(t, sites)
	best, bestReserve := -1, -1
	brute := make([]study.BuildView, len(builds))
	for i, b := range builds {
		at := r.At(1000 * b.KM)
		added := stations.Site{ID: "added", Lon: at.Lon, Lat: at.Lat, Stalls: []stations.Stall{{Connectors: []stations.Connector{{Type: stations.CCS2, DC: true, PowerKW: b.PowerKW}}}}}
		after := everyTrip(t, append(append([]stations.Site{}, sites...), added))
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

func everyTrip(t *testing.T, sites []stations.Site) outcomes {
	t.Helper()
	var o outcomes
	var planner stops.Planner
	index := stations.NewIndex(stations.Sites(sites))
	hatch, r := car(t, "small-hatch"), demoRoute(t, "north")
	for _, temp := range []float64{-10, 10} {
		ask := trip.NewRequest()
		ask.TempC = temp
		drive, goal, err := trip.Prepare(r, index, hatch, ask)
		if err != nil {
			t.Fatal(err)
		}
		minutes := func(depart, reserve float64) float64 {
			g := goal
			g.DepartSoC, g.ReserveSoC, g.ArriveReserveSoC = depart/100, reserve/100, reserve/100
			var plan stops.Plan
			if err := planner.Solve(drive.Problem(g), &plan); err != nil {
				return math.Inf(1)
			}
			return plan.TimeS / 60
		}
		for _, reserve := range []float64{0, 12, 20} {
			for _, depart := range []float64{70, 100} {
				o.minutes = append(o.minutes, minutes(depart, reserve))
			}
		}
		for _, depart := range []float64{70, 100} {
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

package stops_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"syscall"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// twelve is an invented taper of twelve points.
var twelve = curve(0, 120, 0.05, 160, 0.1, 170, 0.25, 165, 0.35, 150, 0.45, 132, 0.55, 112, 0.65, 92, 0.75, 70, 0.85, 45, 0.95, 20, 1, 7)

// corridor is an invented trip of km with n chargers in random places, of
// four kinds, 1 to 5 minutes of overhead and up to 3 km of detour each way.
func corridor(n int, km float64, priced bool) *stops.Problem {
	r := rand.New(rand.NewPCG(uint64(n), uint64(km)))
	const kWh = 75
	p := &stops.Problem{CapacityKWh: kWh, DepartSoC: 0.9, ReserveSoC: 0.1}
	var funcs []*taper.Func
	for _, kW := range []float64{50, 100, 150, 300} {
		f, err := taper.New(twelve.Cap(kW), kWh)
		if err != nil {
			panic(err)
		}
		funcs = append(funcs, f)
	}
	at := 0.0
	piece := func(to float64) {
		d := to - at
		at = to
		use := 0.19 + 0.02*r.Float64()
		p.Road[0] = append(p.Road[0], stops.Leg{TimeS: d / 115 * 3600, NeedKWh: d*use + 0.01, CostKWh: d * use})
	}
	p.Road = make([][]stops.Leg, 1)
	for i := range n {
		piece(km * (float64(i) + r.Float64()) / float64(n))
		d := 3 * r.Float64()
		side := stops.Leg{TimeS: d / 50 * 3600, NeedKWh: d * 0.18, CostKWh: d * 0.18}
		c := stops.Charger{In: side, Out: side, OverheadS: 60 + 240*r.Float64(), Power: funcs[r.IntN(4)], ReserveSoC: 0.1}
		if priced {
			c.Price = stops.Price{PerKWh: 0.25 + 0.5*r.Float64()}
		}
		p.Chargers = append(p.Chargers, c)
	}
	piece(km)
	return p
}

// cpu is the processor time this process has used, so that a busy machine
// does not spoil a figure.
func cpu() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		panic(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func reportCPU(b *testing.B, start time.Duration) {
	b.ReportMetric(float64(cpu()-start)/float64(b.N), "cpu-ns/op")
}

func BenchmarkPlan(b *testing.B) {
	for _, size := range []struct {
		n  int
		km float64
	}{{100, 1000}, {500, 5000}, {2000, 5000}, {2000, 1000}} {
		name := fmt.Sprintf("chargers=%d", size.n)
		if size.n == 2000 {
			name += fmt.Sprintf("/km=%.0f", size.km)
		}
		b.Run(name, func(b *testing.B) {
			p := corridor(size.n, size.km, false)
			var pl stops.Planner
			var plan stops.Plan
			b.ReportAllocs()
			best := time.Hour
			start := cpu()
			for b.Loop() {
				begin := time.Now()
				if err := pl.Solve(p, &plan); err != nil {
					b.Fatal(err)
				}
				best = min(best, time.Since(begin))
			}
			reportCPU(b, start)
			b.ReportMetric(float64(best), "best-ns")
		})
	}
}

// plansPerS is the rate at which so many workers, each with its own planner,
// plan n trips in all.
func plansPerS(b *testing.B, p *stops.Problem, workers, n int) float64 {
	var group sync.WaitGroup
	start := time.Now()
	for range workers {
		group.Go(func() {
			var pl stops.Planner
			var plan stops.Plan
			for range n / workers {
				if err := pl.Solve(p, &plan); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	group.Wait()
	return float64(n/workers*workers) / time.Since(start).Seconds()
}

// BenchmarkPlansPerSecond counts the plans of a trip of 1,000 km with 100
// chargers that one and two workers make in a second of the clock, on an
// otherwise idle machine, and how much the second worker adds: the two take
// turns, and the best of each is compared.
func BenchmarkPlansPerSecond(b *testing.B) {
	const batch = 1000
	p := corridor(100, 1000, false)
	var best [3]float64
	for b.Loop() {
		for workers := 1; workers <= 2; workers++ {
			best[workers] = max(best[workers], plansPerS(b, p, workers, workers*batch))
		}
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(best[1], "plans/s/workers=1")
	b.ReportMetric(best[2], "plans/s/workers=2")
	b.ReportMetric(best[2]/best[1], "×one")
}

// cpuOf is the processor time of a plan, s: the least of three averages.
func cpuOf(b *testing.B, p *stops.Problem) float64 {
	var pl stops.Planner
	var plan stops.Plan
	best := math.Inf(1)
	for range 3 {
		start, n := cpu(), 0
		for cpu()-start < 30*time.Millisecond {
			if err := pl.Solve(p, &plan); err != nil {
				b.Fatal(err)
			}
			n++
		}
		best = min(best, (cpu()-start).Seconds()/float64(n))
	}
	return best
}

// BenchmarkGrid times the usual alternative, a dynamic program over a grid of
// 0.25 % of SoC (the one of TestCertificate: plain, not tuned), and its ratio
// to the exact plan of the same trip in the same run.
func BenchmarkGrid(b *testing.B) {
	p := corridor(100, 1000, false)
	start := cpu()
	for b.Loop() {
		if math.IsInf(gridProgram(p, 400, false), 1) {
			b.Fatal("no way")
		}
	}
	took := (cpu() - start).Seconds() / float64(b.N)
	b.ReportMetric(took*1e9, "cpu-ns/op")
	b.ReportMetric(took/cpuOf(b, p), "×plan")
}

// BenchmarkGrowth fits the exponent of the time of a plan in the number of
// chargers: on a road that grows with it, and on one of 1,000 km, where the
// number within reach grows as well.
func BenchmarkGrowth(b *testing.B) {
	for _, series := range []struct {
		name string
		km   func(n int) float64
	}{
		{"density=10per100km", func(n int) float64 { return float64(10 * n) }},
		{"road=1000km", func(int) float64 { return 1000 }},
	} {
		b.Run(series.name, func(b *testing.B) {
			var x, y []float64
			for b.Loop() {
				x, y = x[:0], y[:0]
				for _, n := range []int{50, 100, 200, 500, 1000, 2000} {
					x = append(x, math.Log(float64(n)))
					y = append(y, math.Log(cpuOf(b, corridor(n, series.km(n), false))))
				}
			}
			_, exponent := stat.LinearRegression(x, y, nil, false)
			b.ReportMetric(exponent, "exponent")
		})
	}
}

func BenchmarkPareto(b *testing.B) {
	p := corridor(100, 1000, true)
	var pl stops.Planner
	points := 0
	b.ReportAllocs()
	start := cpu()
	for b.Loop() {
		all, err := pl.Pareto(p, stops.ParetoOptions{})
		if err != nil {
			b.Fatal(err)
		}
		points = len(all)
	}
	reportCPU(b, start)
	b.ReportMetric(float64(points), "points")
}

func BenchmarkBest(b *testing.B) {
	p := corridor(100, 1000, false)
	var pl stops.Planner
	b.ReportAllocs()
	start := cpu()
	for b.Loop() {
		if all, err := pl.Best(p, 10); err != nil || len(all) != 10 {
			b.Fatal(len(all), err)
		}
	}
	reportCPU(b, start)
}

func BenchmarkDecide(b *testing.B) {
	p := corridor(100, 1000, false)
	s, err := new(stops.Planner).Sweep(p)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	start := cpu()
	for i := 0; b.Loop(); i++ {
		if _, ok := s.Decide(i%95, 0.12+float64(i%89)/120); !ok {
			b.Fatal("no way on")
		}
	}
	reportCPU(b, start)
}

// BenchmarkRead reads a whole plan from a finished sweep.
func BenchmarkRead(b *testing.B) {
	p := corridor(100, 1000, false)
	s, err := new(stops.Planner).Sweep(p)
	if err != nil {
		b.Fatal(err)
	}
	var plan stops.Plan
	b.ReportAllocs()
	start := cpu()
	for i := 0; b.Loop(); i++ {
		if err := s.Plan(0.7+float64(i%30)/100, &plan); err != nil {
			b.Fatal(err)
		}
	}
	reportCPU(b, start)
}

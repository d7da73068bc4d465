package stops_test

import (
	"math"
	"testing"

	"ampleway/route/stops"
	"ampleway/testdata"
)

// gridBounds brackets the least time of a trip without candidates, labels or
// cost-to-go: a dynamic program over a grid of SoC in which every arrival is
// rounded, against the car for the upper end, for the car for the lower one.
// steps is the number of grid steps of a full battery. It holds for LeastTime
// on plain charging.
func gridBounds(p *stops.Problem, steps int) (lower, upper float64) {
	return gridProgram(p, steps, true), gridProgram(p, steps, false)
}

func gridProgram(p *stops.Problem, steps int, kind bool) float64 {
	n := len(p.Chargers)
	e := p.CapacityKWh
	inf := math.Inf(1)
	// toGo[j][g] is the time from arriving at j with g steps.
	toGo := make([][]float64, n+1)
	clock := make([]float64, steps+1)
	leave := make([]float64, steps+1)
	round := func(soc float64) int {
		if kind {
			return int(math.Ceil(soc*float64(steps) - 1e-9))
		}
		return int(math.Floor(soc*float64(steps) + 1e-9))
	}
	for j := n - 1; j >= -1; j-- {
		out := stops.Leg{}
		if j >= 0 {
			out = p.Chargers[j].Out
		}
		for g := range leave {
			leave[g] = inf
		}
		way := out
		for k := j + 1; k <= n; k++ {
			way = way.Then(p.Road[0][k])
			if way.NeedKWh > e {
				break
			}
			whole, reserve := way, p.ReserveSoC
			if k < n {
				whole, reserve = way.Then(p.Chargers[k].In), p.Chargers[k].ReserveSoC
			}
			need := math.Max(whole.NeedKWh/e, reserve+whole.CostKWh/e)
			if need > 1 {
				continue
			}
			for g := int(math.Ceil(need*float64(steps) - 1)); g <= steps; g++ {
				if g < 0 {
					continue
				}
				soc := float64(g) / float64(steps)
				if kind {
					soc = math.Min(1, soc+1/float64(steps)) // anything up to the next step may have been meant
				}
				if soc < need {
					continue
				}
				kWh, ok := whole.ArriveKWh(soc * e)
				if !ok || kWh/e < reserve-1e-12 {
					continue
				}
				v := whole.TimeS
				if k < n {
					v += toGo[k][min(max(round(kWh/e), 0), steps)]
				}
				leave[g] = min(leave[g], v)
			}
		}
		if j < 0 {
			return leave[min(steps, int(math.Floor(p.DepartSoC*float64(steps)+1e-9)))]
		}
		c := &p.Chargers[j]
		for g := range clock {
			clock[g] = c.Power.TimeS(0, float64(g)/float64(steps))
		}
		ceiling := 1.0
		if c.CeilingSoC > 0 {
			ceiling = c.CeilingSoC
		}
		top := int(math.Floor(ceiling*float64(steps) + 1e-9))
		toGo[j] = make([]float64, steps+1)
		best := inf
		for g := steps; g >= 0; g-- {
			if g <= top {
				best = min(best, clock[g]+leave[g])
			}
			toGo[j][g] = c.OverheadS + c.BurdenS + min(best-clock[g], leave[g])
		}
	}
	return inf
}

// TestCertificate checks plans of any size against the two-sided bracket.
func TestCertificate(t *testing.T) {
	sizes := []struct{ n, trips, steps int }{{40, 3, 2000}}
	if testdata.Slow() {
		sizes = []struct{ n, trips, steps int }{{40, 50, 10000}, {80, 50, 5000}, {200, 50, 2000}, {500, 50, 2000}}
	}
	for _, size := range sizes {
		checked, width := 0, 0.0
		for seed := uint64(1); seed <= uint64(size.trips); seed++ {
			p := corridor(size.n, 600+float64(seed*37%900), false)
			p.DepartSoC = 0.5 + float64(seed%6)/10
			for i := range p.Chargers {
				p.Chargers[i].ReserveSoC = 0.05 + float64((uint64(i)*7+seed)%10)/100
			}
			plan, err := stops.Solve(p)
			lower, upper := gridBounds(p, size.steps)
			if err != nil {
				if !math.IsInf(lower, 1) && math.IsInf(upper, 1) {
					continue // the bracket does not decide
				}
				if !math.IsInf(lower, 1) {
					t.Errorf("n %d, seed %d: %v, but a plan of %v s exists", size.n, seed, err, upper)
				}
				continue
			}
			if err := stops.Verify(p, plan); err != nil {
				t.Errorf("n %d, seed %d: %v", size.n, seed, err)
			}
			if plan.TimeS < lower-1e-6 || plan.TimeS > upper+1e-6 {
				t.Errorf("n %d, seed %d: %.3f s outside [%.3f, %.3f]", size.n, seed, plan.TimeS, lower, upper)
			}
			checked++
			width += upper - lower
		}
		t.Logf("%3d chargers, steps of %.2f %%: %d trips inside, mean width of the bracket %.2f s", size.n, 100/float64(size.steps), checked, width/float64(checked))
		if checked == 0 {
			t.Error("nothing was checked")
		}
	}
}

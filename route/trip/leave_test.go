package trip

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ampleway/route/stops"
)

// A driver whose car uses more or less than estimated follows the printed
// table blindly, by a gauge that shows whole percents; another asks the
// planner afresh at every stop. The table never brings the first into a
// reserve that the second keeps, and takes longer by no more than its rounding
// explains: at each stop, the time that the last roundingSoC of the charge
// takes.
func TestTableAgainstReplanning(t *testing.T) {
	const roundingSoC = 0.015 // up to a whole percent, after half a percent for the gauge
	corridors, trips := howMany(40, 2000), 20
	fleet := builtInCars(t)
	possible, driven, later, broke := 0, 0, 0, 0
	var diffS, boundS []float64
	for seed := uint64(1); possible < corridors; seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		goal.Confidence = []float64{0, 0.9}[seed%2]
		p, err := drive.Plan(nil, goal)
		if errors.Is(err, stops.ErrNoPlan) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		possible++
		sweep, err := new(stops.Planner).Sweep(drive.untimed(p.Goal, nil))
		if err != nil {
			t.Fatal(err)
		}
		s := newSimulator(p, sweep)
		tables := map[int][]LeaveRow{}
		rng := rand.New(rand.NewPCG(seed, 21))
		for range trips {
			wrong := 0.8 + 0.5*rng.Float64()
			factor := func() float64 { return wrong }
			bound := 0.0
			byTable := s.follow(factor, func(at int, soc float64) (stops.Decision, bool) {
				if tables[at] == nil {
					tables[at] = p.leaveRows(sweep.LeaveRule(at), 0)
				}
				return byGauge(p, tables[at], at, soc, &bound, roundingSoC)
			})
			afresh := s.follow(factor, sweep.Decide)
			if afresh.empty || byTable.empty {
				if byTable.empty && !afresh.empty {
					broke++
				}
				continue
			}
			driven++
			if byTable.below && !afresh.below {
				broke++
			}
			diff := byTable.timeS - afresh.timeS
			diffS, boundS = append(diffS, diff), append(boundS, bound)
			if diff > bound {
				later++
				t.Logf("corridor %d, consumption %.3f: %.0f s later with the table (%d stops, %d afresh), the rounding explains %.0f s", seed, wrong, diff, byTable.stops, afresh.stops, bound)
			}
		}
	}
	slices.Sort(diffS)
	slices.Sort(boundS)
	t.Logf("%d corridors, %d trips: the table costs %.1f s on average, 95 %% %.1f s, most %.1f s; the rounding may cost %.1f s on average", possible, driven, mean(diffS), quantile(diffS, 0.95), diffS[len(diffS)-1], mean(boundS))
	t.Logf("later than the rounding explains: %d; below a reserve that replanning keeps: %d", later, broke)
	if later > 0 || broke > 0 {
		t.Errorf("%d trips are later than the rounding explains, %d break a reserve that replanning keeps", later, broke)
	}
}

// byGauge does what a table says for a gauge that rounds to the nearest
// percent, and notes how long the rounding may take here.
func byGauge(p *Plan, rows []LeaveRow, at int, soc float64, boundS *float64, roundingSoC float64) (stops.Decision, bool) {
	row, ok := follow(rows, math.Round(100*soc))
	if !ok {
		return stops.Decision{}, false
	}
	d := stops.Decision{LeaveSoC: soc, Next: stops.Destination}
	if row.Next != nil {
		d.Next = slices.IndexFunc(p.Drive.Chargers, func(c Charger) bool { return c.Site == row.Next.Site && c.ChainageM == row.Next.ChainageM })
	}
	charge := p.Drive.Chargers[at].Charge
	if !row.AtOnce() {
		d.LeaveSoC = math.Max(soc, math.Min(float64(row.LeavePct)/100, 1))
	}
	*boundS += charge.TimeS(math.Max(d.LeaveSoC-roundingSoC, 0), d.LeaveSoC)
	return d, true
}

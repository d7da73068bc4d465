package trip

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ampleway/route/stops"
	"ampleway/testdata"
)

// roundingSoC is the rounding of a leave rule's table: up to a whole percent,
// after half a percent for the gauge.
const roundingSoC = 0.015

// A driver whose car uses more or less than estimated follows the printed
// table blindly, by a gauge that shows whole percents; another asks the
// planner afresh at every stop. The table never brings the first into a
// reserve that the second keeps. It sends the driver where the planner sends
// one who arrives with just that, or with up to a percent less, and takes
// longer than such planning by no more than the last roundingSoC of each
// charge takes. Against planning by the exact state of charge the same holds for all
// but the few who arrive within the rounding of a change of rule: they drive
// another way that is as good by the estimate, but not by what the car uses.
func TestTableAgainstReplanning(t *testing.T) {
	testdata.Sequential(t)
	corridors, trips := howMany(40, 2000), 20
	fleet := knownCars(t)
	possible, driven, later, laterThanExact, broke := 0, 0, 0, 0, 0
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
		s, table := newSimulator(p, sweep), &passenger{t: t, plan: p, sweep: sweep, rows: map[int][]LeaveRow{}}
		rng := rand.New(rand.NewPCG(seed, 21))
		for range trips {
			wrong := 0.8 + 0.5*rng.Float64()
			factor := func() float64 { return wrong }
			table.boundS = 0
			blind := s.follow(p.Goal.DepartSoC, factor, table.decide)
			bound := table.boundS
			exact, afresh := s.follow(p.Goal.DepartSoC, factor, sweep.Decide), s.follow(p.Goal.DepartSoC, factor, table.replan)
			if blind.empty && !exact.empty || blind.below && !exact.below {
				broke++
			}
			if blind.empty || exact.empty || afresh.empty {
				continue
			}
			driven++
			diffS, boundS = append(diffS, blind.timeS-exact.timeS), append(boundS, bound)
			if blind.timeS-afresh.timeS > bound {
				later++
			}
			if blind.timeS-exact.timeS > bound {
				laterThanExact++
			}
		}
	}
	slices.Sort(diffS)
	t.Logf("%d corridors, %d trips, consumption 0.8 to 1.3 of the estimate", possible, driven)
	t.Logf("the table against planning afresh: %.1f s later on average, 95 %% %.1f s, most %.1f s; its rounding allows %.1f s on average", mean(diffS), quantile(diffS, 0.95), diffS[len(diffS)-1], mean(boundS))
	t.Logf("later than the rounding allows: %d; against the exact state of charge: %d; below a reserve that planning afresh keeps: %d", later, laterThanExact, broke)
	if later > 0 || broke > 0 || laterThanExact > driven/1000 {
		t.Errorf("%d and %d trips are later than the rounding allows, %d break a reserve that planning afresh keeps", later, laterThanExact, broke)
	}
}

// passenger reads the tables of a plan.
type passenger struct {
	t      *testing.T
	plan   *Plan
	sweep  *stops.Sweep
	rows   map[int][]LeaveRow
	boundS float64 // what the rounding may have cost so far
}

// row is the line for a gauge that rounds to the nearest percent.
func (p *passenger) row(at int, soc float64) (LeaveRow, int, bool) {
	if p.rows[at] == nil {
		p.rows[at] = p.plan.leaveRows(p.sweep, at, 0)
	}
	row, ok := follow(p.rows[at], math.Round(100*soc))
	next := stops.Destination
	if row.Next != nil {
		next = slices.IndexFunc(p.plan.Drive.Chargers, func(c Charger) bool { return c.Site == row.Next.Site && c.ChainageM == row.Next.ChainageM })
	}
	return row, next, ok
}

// decide does what the table says.
func (p *passenger) decide(at int, soc float64) (stops.Decision, bool) {
	row, next, ok := p.row(at, soc)
	d := stops.Decision{LeaveSoC: soc, Next: next}
	if !row.AtOnce() {
		d.LeaveSoC = math.Max(soc, float64(row.LeavePct)/100)
	}
	p.boundS += p.plan.Drive.Chargers[at].Charge.TimeS(math.Max(d.LeaveSoC-roundingSoC, 0), d.LeaveSoC)
	return d, ok
}

// replan asks the planner afresh, for the state of charge itself or, where
// the table sends elsewhere, for the least at which the gauge shows the same.
func (p *passenger) replan(at int, soc float64) (stops.Decision, bool) {
	d, ok := p.sweep.Decide(at, soc)
	row, next, _ := p.row(at, soc)
	if !ok || d.Next == next {
		return d, ok
	}
	d, ok = p.sweep.Decide(at, math.Max(math.Round(100*soc)/100-gaugeError, 0))
	if d.Next != next {
		p.t.Errorf("arriving with %.4f the table (%+v) sends to %d, the planner to %d", soc, row, next, d.Next)
	}
	d.LeaveSoC = math.Max(d.LeaveSoC, soc)
	return d, ok
}

// The limits of a table are whole percents in rising order without a gap, from
// the lowest state of charge that leads on.
func TestTablesAreWhole(t *testing.T) {
	fleet := builtInCars(t)
	rows := 0
	for seed := uint64(1); seed <= uint64(howMany(20, 300)); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		p, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		sweep, err := new(stops.Planner).Sweep(drive.untimed(p.Goal, nil))
		if err != nil {
			t.Fatal(err)
		}
		for i, table := range p.rules(sweep) {
			rows += len(table)
			if len(table) == 0 || table[0].FromPct != 0 || table[len(table)-1].ToPct != 101 {
				t.Fatalf("corridor %d, stop %d: %+v", seed, i+1, table)
			}
			planned := 0
			for k, r := range table {
				if r.FromPct >= r.ToPct || k > 0 && table[k-1].ToPct != r.FromPct || r.LeavePct > 100 || !r.AtOnce() && r.LeavePct < r.ToPct-1 && r.ToPct <= 100 {
					t.Errorf("corridor %d, stop %d: line %d of %+v", seed, i+1, k+1, table)
				}
				if r.AsPlanned {
					planned++
					if stop := &p.Stops[i]; !r.AtOnce() && r.NextName == p.Legs[i+1].To && (float64(r.LeavePct)/100 < stop.LeaveSoC || float64(r.LeavePct)/100 > stop.LeaveSoC+roundingSoC+1e-9) {
						t.Errorf("corridor %d, stop %d: the table says %d %%, the plan %.4f", seed, i+1, r.LeavePct, stop.LeaveSoC)
					}
				}
			}
			if planned != 1 {
				t.Errorf("corridor %d, stop %d: %d lines are the plan's", seed, i+1, planned)
			}
		}
	}
	if rows < 40 {
		t.Errorf("only %d lines", rows)
	}
}

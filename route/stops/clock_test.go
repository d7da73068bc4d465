package stops_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"ampleway/route/stops"
	"ampleway/testdata"
)

// timed gives some chargers of a trip opening hours, queues and prices by the
// clock, and sometimes asks for a rest.
func timed(p *stops.Problem, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 99))
	for i := range p.Chargers {
		if r.Float64() < 0.3 {
			continue
		}
		c := &p.Chargers[i]
		at := r.Float64() * 8000
		for range 1 + r.IntN(3) {
			q := stops.Period{FromS: at, WaitS: r.Float64() * 900 * float64(r.IntN(2)), Price: c.Price, Closed: r.IntN(3) == 0}
			q.Price.PerKWh *= 2 * r.Float64()
			c.Periods = append(c.Periods, q)
			at += 1800 + r.Float64()*9000
		}
	}
	if r.IntN(3) == 0 {
		p.Rest = stops.Rest{LeastS: 600 + 2400*r.Float64()}
		r.IntN(2) // so that the seeds below still give the trips that were wrong
		if r.IntN(2) == 0 {
			p.Rest.FromS = 9000 * r.Float64()
			p.Rest.ToS = p.Rest.FromS + 7200
		}
	}
}

// clockBrute plays every set of stops with every departure SoC on a grid and
// every period that can be waited for, second by second of the clock.
type clockBrute struct {
	*brute
	step float64
}

func (b *clockBrute) from(at int, soc, clock, value float64, stopsSoFar int, rested bool) {
	n := len(b.p.Chargers)
	for k := at + 1; k <= n; k++ {
		for _, l := range b.legs(at, k) {
			kWh, ok := l.ArriveKWh(soc * b.p.CapacityKWh)
			a := kWh / b.p.CapacityKWh
			reserve := b.p.ReserveSoC
			if k < n {
				reserve = b.p.Chargers[k].ReserveSoC
			}
			if !ok || a < reserve {
				continue
			}
			v, t := value+b.perS*l.TimeS, clock+l.TimeS
			if k < n {
				b.at(k, a, t, v, stopsSoFar, rested)
				continue
			}
			if rested {
				b.best = math.Min(b.best, v)
			}
		}
	}
}

func (b *clockBrute) at(i int, a, clock, value float64, stopsSoFar int, rested bool) {
	c := &b.p.Chargers[i]
	if b.p.MostStops > 0 && stopsSoFar == b.p.MostStops || value >= b.best {
		return
	}
	joins := []float64{clock}
	for _, q := range c.Periods {
		if q.FromS > clock {
			joins = append(joins, q.FromS)
		}
	}
	for _, rest := range []bool{false, true} {
		if rest && (rested || b.p.Rest.LeastS == 0) {
			continue
		}
		for _, join := range joins {
			b.stay(i, c, a, clock, join, value, stopsSoFar, rested, rest)
		}
	}
}

func (b *clockBrute) stay(i int, c *stops.Charger, a, clock, join, value float64, stopsSoFar int, rested, rest bool) {
	price, queue, closed, closes := c.Price, 0.0, false, math.Inf(1)
	for _, q := range c.Periods {
		if q.FromS <= join {
			price, queue, closed = q.Price, q.WaitS, q.Closed
		} else if q.Closed {
			closes = math.Min(closes, q.FromS)
		}
	}
	begins := join + queue + c.OverheadS
	if closed || rest && (b.p.Rest.FromS != 0 || b.p.Rest.ToS != 0) && (begins < b.p.Rest.FromS || begins > b.p.Rest.ToS) {
		return
	}
	for x := a; ; x = math.Floor(x/b.step+1+1e-9) * b.step {
		if x > math.Max(a, b.ceiling(i)) {
			return
		}
		charge := c.Power.TimeS(a, x)
		stay := math.Max(charge, c.LeastStayS)
		if rest {
			stay = math.Max(stay, b.p.Rest.LeastS)
		}
		if begins+stay > closes || c.MostStayS > 0 && stay > c.MostStayS {
			return
		}
		cash := price.PerSession + price.PerKWh*(x-a)*b.p.CapacityKWh + price.PerMinute*charge/60 + price.IdlePerMinute*math.Max(0, stay-price.IdleAfterS)/60
		v := value + b.perS*(begins+stay-clock) + b.perCash*cash + b.perStop + b.perLoad*c.BurdenS
		if rest {
			v += b.perLoad * c.RestBurdenS
		}
		b.from(i, x, begins+stay, v, stopsSoFar+1, rested || rest)
	}
}

func TestClockNeverWorseThanBruteForce(t *testing.T) {
	// One drawn trip in five has a plan; only those are compared.
	enough, step := 100, 0.05
	if testdata.Slow() {
		enough, step = 2400, 0.02
	}
	feasible := 0
	for rounds := 0; feasible < enough && rounds < enough; rounds++ {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, 3).Draw(t, "n")
			seed := rapid.Uint64().Draw(t, "seed")
			p := instance(seed, n, features{prices: rapid.Bool().Draw(t, "prices"), detours: true, stays: rapid.Bool().Draw(t, "stays"), burdens: rapid.Bool().Draw(t, "burdens")})
			timed(p, seed)
			if err := checkClock(p, step, &feasible); err != nil {
				t.Fatalf("seed %d, n %d: %v", seed, n, err)
			}
		})
	}
	t.Logf("%d trips with a plan", feasible)
	if feasible < enough {
		t.Errorf("only %d trips had a plan, too few to compare", feasible)
	}
}

// Trips on which the first rules were too coarse.
func TestClockTripsThatWereWrong(t *testing.T) {
	for _, c := range []struct {
		why  string
		seed uint64
		n    int
		f    features
	}{
		{"early and dear was taken to beat late and cheap, then waited", 0x1f5, 3, features{prices: true, detours: true, stays: true}},
		{"a departure at the ceiling, put back by a rounding too much, left those after it as they were last tried", 0x746, 3, features{prices: true, detours: true, stays: true}},
	} {
		p := instance(c.seed, c.n, c.f)
		timed(p, c.seed)
		feasible := 0
		if err := checkClock(p, 0.02, &feasible); err != nil || feasible != 1 {
			t.Errorf("%s: %v", c.why, err)
		}
	}
}

func checkClock(p *stops.Problem, step float64, feasible *int) error {
	b := &clockBrute{newBrute(p), step}
	b.from(-1, p.DepartSoC, p.DepartS, 0, 0, p.Rest.LeastS == 0)
	plan, err := stops.Solve(p)
	if err != nil {
		if !math.IsInf(b.best, 1) {
			return fmt.Errorf("%v, but brute force finds %v", err, b.best)
		}
		return nil
	}
	*feasible++
	if err := stops.Verify(p, plan); err != nil {
		return err
	}
	if plan.Value > b.best+within(p) {
		return fmt.Errorf("value %.3f, brute force %.3f: %+v", plan.Value, b.best, plan.Stops)
	}
	all, err := new(stops.Planner).Best(p, 3)
	for i := range all {
		if err := stops.Verify(p, &all[i].Plan); err != nil {
			return fmt.Errorf("alternative %d: %w", i+1, err)
		}
	}
	if err != nil {
		return err
	}
	if plan.Bound > b.best+1e-4 {
		return fmt.Errorf("bound %.6f above %.6f, which brute force reaches", plan.Bound, b.best)
	}
	return nil
}

func BenchmarkClock(b *testing.B) {
	p := corridor(100, 1000, false)
	for i := range p.Chargers {
		open := 3600 * float64(i%7)
		p.Chargers[i].Periods = []stops.Period{
			{FromS: open, WaitS: 300 * float64(i%4)},
			{FromS: open + 14400, WaitS: 120 * float64(i%3)},
			{FromS: open + 28800, Closed: i%5 == 0},
		}
	}
	var pl stops.Planner
	var plan stops.Plan
	b.ReportAllocs()
	start := cpu()
	for b.Loop() {
		if err := pl.Solve(p, &plan); err != nil {
			b.Fatal(err)
		}
	}
	reportCPU(b, start)
}

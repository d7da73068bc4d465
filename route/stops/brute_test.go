package stops_test

import (
	"math"

	"ampleway/route/stops"
)

// brute finds the best plan by trying every set of stops with every departure
// SoC on a grid, then on finer grids around the best. It knows nothing of
// candidates, labels or cost-to-go: the value of a stop is computed from what
// happens there.
type brute struct {
	p       *stops.Problem
	perS    float64
	perCash float64
	perStop float64
	perLoad float64 // of BurdenS
	best    float64
}

func newBrute(p *stops.Problem) *brute {
	b := &brute{p: p, perS: 1, perLoad: 1, best: math.Inf(1)}
	switch p.Objective.Goal {
	case stops.LeastMoney:
		b.perS, b.perCash, b.perLoad = 0, 1, p.Objective.MoneyPerHour/3600
	case stops.TimeAndMoney:
		b.perS, b.perCash, b.perLoad = p.Objective.MoneyPerHour/3600, 1, p.Objective.MoneyPerHour/3600
	case stops.FewestStops:
		b.perStop = 1e7
	}
	return b
}

// bruteForce returns the least value, +Inf where no plan was found.
func bruteForce(p *stops.Problem) float64 {
	b := newBrute(p)
	n := len(p.Chargers)
	for set := range 1 << n {
		var seq []int
		legal := true
		for i, c := range p.Chargers {
			in := set>>i&1 == 1
			legal = legal && !(in && c.Use == stops.MustPass) && !(!in && c.Use == stops.MustStop)
			if in {
				seq = append(seq, i)
			}
		}
		if legal && (p.MostStops == 0 || len(seq) <= p.MostStops) {
			b.sequence(seq)
		}
	}
	return b.best
}

// legs lists the drive between two places, one for each speed option.
func (b *brute) legs(from, to int) []stops.Leg {
	out := make([]stops.Leg, len(b.p.Road))
	for o := range out {
		l := stops.Leg{}
		if from >= 0 {
			l = b.p.Chargers[from].Out
		}
		for i := from + 1; i <= to; i++ {
			l = l.Then(b.p.Road[o][i])
		}
		if to < len(b.p.Chargers) {
			l = l.Then(b.p.Chargers[to].In)
		}
		out[o] = l
	}
	return out
}

// sequence tries every option of every drive of one sequence of stops.
func (b *brute) sequence(seq []int) {
	drives := make([][]stops.Leg, len(seq)+1)
	from := -1
	for i, to := range append(append([]int(nil), seq...), len(b.p.Chargers)) {
		drives[i] = b.legs(from, to)
		from = to
	}
	chosen := make([]stops.Leg, len(drives))
	var try func(i int)
	try = func(i int) {
		if i == len(drives) {
			b.fixed(seq, chosen)
			return
		}
		for _, l := range drives[i] {
			chosen[i] = l
			try(i + 1)
		}
	}
	try(0)
}

// fixed optimises the departure SoCs of fixed stops and drives.
func (b *brute) fixed(seq []int, legs []stops.Leg) {
	kWh := b.p.CapacityKWh
	if b.p.DepartSoC*kWh < legs[0].NeedKWh {
		return
	}
	windows := make([][]float64, len(seq))
	for i := range windows {
		for x := range 101 {
			windows[i] = append(windows[i], float64(x)/100)
		}
		windows[i] = append(windows[i], b.least(seq, legs, i), b.ceiling(seq[i]))
	}
	value, xs := b.search(seq, legs, windows)
	if !(value < b.best+200*math.Max(b.perS, 1e-3)+2*b.perCash) {
		return
	}
	for step := 0.01; ; step /= 20 {
		if value < b.best {
			b.best = value
		}
		if step < 1e-5 || len(seq) == 0 {
			return
		}
		for i := range windows {
			windows[i] = append(windows[i][:0], b.least(seq, legs, i), b.ceiling(seq[i]))
			for k := -20; k <= 20; k++ {
				windows[i] = append(windows[i], xs[i]+float64(k)*step/20)
			}
		}
		value, xs = b.search(seq, legs, windows)
	}
}

func (b *brute) ceiling(charger int) float64 {
	if c := b.p.Chargers[charger].CeilingSoC; c > 0 {
		return c
	}
	return 1
}

// least is the SoC on leaving stop i that just reaches the next one.
func (b *brute) least(seq []int, legs []stops.Leg, i int) float64 {
	reserve := b.p.ReserveSoC
	if i+1 < len(seq) {
		reserve = b.p.Chargers[seq[i+1]].ReserveSoC
	}
	kWh := b.p.CapacityKWh
	return math.Max(legs[i+1].NeedKWh/kWh, reserve+legs[i+1].CostKWh/kWh) + 1e-13
}

// search is the best choice of one departure SoC from each window, stop by
// stop; leaving with what one arrived with is always in the window.
func (b *brute) search(seq []int, legs []stops.Leg, windows [][]float64) (float64, []float64) {
	type state struct {
		soc, value float64
		from       int
	}
	kWh := b.p.CapacityKWh
	states := [][]state{{{b.p.DepartSoC, 0, -1}}}
	for i := 0; i <= len(seq); i++ {
		reserve := b.p.ReserveSoC
		if i < len(seq) {
			reserve = b.p.Chargers[seq[i]].ReserveSoC
		}
		var next []state
		if i < len(seq) {
			for _, x := range windows[i] {
				next = append(next, state{x, math.Inf(1), -1})
			}
		} else {
			next = append(next, state{0, math.Inf(1), -1})
		}
		whole := len(next)
		for s, st := range states[i] {
			if math.IsInf(st.value, 1) {
				continue
			}
			e, ok := legs[i].ArriveKWh(st.soc * kWh)
			a := e / kWh
			if !ok || a < reserve-1e-12 {
				continue
			}
			value := st.value + b.perS*legs[i].TimeS
			if i == len(seq) {
				if value < next[0].value {
					next[0] = state{a, value, s}
				}
				continue
			}
			for k := range next[:whole] {
				x := next[k].soc
				if x < a || x > b.ceiling(seq[i]) {
					continue
				}
				if v := value + b.stop(seq[i], a, x); v < next[k].value {
					next[k].value, next[k].from = v, s
				}
			}
			next = append(next, state{a, value + b.stop(seq[i], a, a), s})
		}
		states = append(states, next)
	}
	end := states[len(states)-1][0]
	if math.IsInf(end.value, 1) {
		return end.value, nil
	}
	xs := make([]float64, len(seq))
	for i, s := len(seq)-1, end.from; i >= 0; i-- {
		xs[i] = states[i+1][s].soc
		s = states[i+1][s].from
	}
	return end.value, xs
}

// stop is what charging from a to x at a charger adds to the value.
func (b *brute) stop(i int, a, x float64) float64 {
	c := &b.p.Chargers[i]
	charge := c.Power.TimeS(a, x)
	stay := math.Max(charge, c.LeastStayS)
	if c.MostStayS > 0 && stay > c.MostStayS {
		return math.Inf(1)
	}
	q := c.Price
	cash := q.PerSession + q.PerKWh*(x-a)*b.p.CapacityKWh + q.PerMinute*charge/60 + q.IdlePerMinute*math.Max(0, stay-q.IdleAfterS)/60
	return b.perS*(c.OverheadS+stay) + b.perCash*cash + b.perStop + b.perLoad*c.BurdenS
}

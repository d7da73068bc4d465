package stops

import (
	"cmp"
	"math"
	"sort"
)

// Tradeoff is a plan that no other with as few stops beats in time and money
// at once.
type Tradeoff struct {
	Plan Plan
	// MoneyPerHour is a value of time at which this plan is best among those
	// with as few stops.
	MoneyPerHour float64
}

// ParetoOptions say how finely to search.
type ParetoOptions struct {
	// WithinMoney is how much, in money, a plan between two neighbours may
	// gain at its own value of time before it is worth listing; 0 means 0.01.
	WithinMoney float64
}

const (
	// The ends of the search: time first, then money; and the other way round.
	timeFirst  = 1e7 // money per hour
	moneyFirst = 1e-5
)

// Pareto returns the trade-off of time against money, for each number of
// stops: from the fewest that reach the destination up to the number beyond
// which more of them help no value of time. Plans are ordered by number of
// stops, then time. p.Objective is ignored but for Plan.Value.
//
// The search is by the value of time: between two neighbouring plans it asks
// for the best plan at the value that makes them equal, until that gains less
// than WithinMoney. So it finds every plan that is best at some value of time
// (to within WithinMoney, where tapers make them a continuum). What a weighted
// sum cannot reach is not listed: a plan that is beaten at every value of time
// by one of its neighbours, though neither is better in both.
func (pl *Planner) Pareto(p *Problem, o ParetoOptions) ([]Tradeoff, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if !(o.WithinMoney >= 0) || math.IsInf(o.WithinMoney, 1) {
		return nil, &InputError{"ParetoOptions.WithinMoney", "a number below 0 or none", "a finite number of 0 or more"}
	}
	o.WithinMoney = cmp.Or(o.WithinMoney, 0.01)
	f := front{pl: pl, p: *p, within: o.WithinMoney}
	all, err := f.trace(p.MostStops)
	if err != nil {
		return nil, err
	}
	most := 0
	for i := range all {
		most = max(most, len(all[i].Plan.Stops))
	}
	few := *p
	few.Objective = Objective{Goal: FewestStops}
	var plan Plan
	if err := pl.Solve(&few, &plan); err != nil {
		return nil, err
	}
	fewest := len(plan.Stops)
	var out []Tradeoff
	if fewest == 0 {
		out = append(out, Tradeoff{plan, timeFirst})
	}
	for stops := max(fewest, 1); stops <= most; stops++ {
		points, err := f.trace(stops)
		if err != nil {
			return nil, err
		}
		for i := range points {
			if len(points[i].Plan.Stops) == stops {
				out = append(out, points[i])
			}
		}
	}
	out = undominated(out)
	for i := range out {
		out[i].Plan.Revalue(p)
	}
	return out, nil
}

// front traces the trade-off for one number of stops.
type front struct {
	pl     *Planner
	p      Problem
	within float64
}

// trace returns the points for at most so many stops, the quickest first.
// 0 means any number in a problem that sets no limit.
func (f *front) trace(most int) ([]Tradeoff, error) {
	f.p.MostStops = most
	quick, err := f.best(timeFirst)
	if err != nil {
		return nil, err
	}
	cheap, err := f.best(moneyFirst)
	if err != nil {
		return nil, err
	}
	out := []Tradeoff{quick}
	out, err = f.between(out, quick, cheap)
	if err != nil {
		return nil, err
	}
	if cheap.Plan.Money < quick.Plan.Money {
		out = append(out, cheap)
	}
	return out, nil
}

// between appends the points strictly between two neighbours.
func (f *front) between(out []Tradeoff, quick, cheap Tradeoff) ([]Tradeoff, error) {
	hours := (cheap.Plan.TimeS - quick.Plan.TimeS) / 3600
	money := quick.Plan.Money - cheap.Plan.Money
	if !(hours > 0) || !(money > f.within) {
		return out, nil
	}
	perHour := money / hours
	mid, err := f.best(perHour)
	if err != nil {
		return nil, err
	}
	worth := func(t Tradeoff) float64 { return t.Plan.Money + perHour*t.Plan.TimeS/3600 }
	if !(worth(mid) < worth(quick)-f.within) {
		return out, nil
	}
	if out, err = f.between(out, quick, mid); err != nil {
		return nil, err
	}
	return f.between(append(out, mid), mid, cheap)
}

func (f *front) best(moneyPerHour float64) (Tradeoff, error) {
	f.p.Objective = Objective{Goal: TimeAndMoney, MoneyPerHour: moneyPerHour}
	t := Tradeoff{MoneyPerHour: moneyPerHour}
	err := f.pl.Solve(&f.p, &t.Plan)
	return t, err
}

// undominated drops what another plan with as few stops beats in time and
// money, and orders the rest by number of stops, then time.
func undominated(in []Tradeoff) []Tradeoff {
	sort.SliceStable(in, func(i, j int) bool {
		a, b := &in[i].Plan, &in[j].Plan
		if len(a.Stops) != len(b.Stops) {
			return len(a.Stops) < len(b.Stops)
		}
		if a.TimeS != b.TimeS {
			return a.TimeS < b.TimeS
		}
		return a.Money < b.Money
	})
	var out []Tradeoff
	for i := range in {
		beaten := false
		for j := range out {
			a, b := &out[j].Plan, &in[i].Plan
			beaten = beaten || a.TimeS <= b.TimeS && a.Money <= b.Money
		}
		if !beaten {
			out = append(out, in[i])
		}
	}
	return out
}

// Revalue states a plan's value by the objective of a problem, with nothing
// proven about it.
func (plan *Plan) Revalue(p *Problem) {
	burdenS := 0.0
	for i := range plan.Stops {
		c := &p.Chargers[plan.Stops[i].Charger]
		burdenS += c.BurdenS
		if plan.Stops[i].Rest {
			burdenS += c.RestBurdenS
		}
	}
	plan.Value = p.Objective.Value(plan.TimeS, plan.Money, burdenS, len(plan.Stops))
	plan.Bound = math.Inf(-1)
}

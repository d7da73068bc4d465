package trip

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"

	"ampleway/energy"
	"ampleway/route/stops"
)

// Spread is energy.Spread as it is reckoned with. Consumption strays from the
// estimate by the factor
//
//	F = exp(u·z₀ − u²/2) · exp(v·z − v²/2)   u² = ln(1+Trip²), v² = ln(1+Leg²)
//
// with z₀ standard normal for the whole trip and z for each leg: two factors
// of mean 1 whose standard deviations are those of energy.Spread. What the
// battery gives while the car draws on it is multiplied by F; what braking
// brings back stays as estimated, so that a descent never makes up for it.
type Spread struct{ trip, leg float64 } // u and v

// NewSpread is that of a spread in standard deviations.
func NewSpread(s energy.Spread) Spread {
	return Spread{math.Sqrt(math.Log1p(s.Trip * s.Trip)), math.Sqrt(math.Log1p(s.Leg * s.Leg))}
}

// Factor is F for two standard normal draws.
func (s Spread) Factor(trip, leg float64) float64 {
	return math.Exp(s.trip*trip - s.trip*s.trip/2 + s.leg*leg - s.leg*s.leg/2)
}

// excess is the least h for which no leg of drives of so many legs each takes a
// factor above 1+h, with probability confidence: with m = ln(1+h) + (u²+v²)/2,
//
//	Π ∫ φ(z) Φ((m − u z)/v)^legs dz = confidence.
func (s Spread) excess(confidence float64, legs ...int) float64 {
	if s.trip == 0 && s.leg == 0 {
		return 0
	}
	return excesses.of(excessKey{s, confidence, fmt.Sprint(legs)}, func() float64 { return s.workOut(confidence, legs) })
}

// workOut is excess by bisection.
func (s Spread) workOut(confidence float64, legs []int) float64 {
	low, high := -10*(s.trip+s.leg), 10*(s.trip+s.leg)
	for range 50 {
		m, all := (low+high)/2, 1.0
		for _, n := range legs {
			all *= s.within(m, n)
		}
		if all < confidence {
			low = m
		} else {
			high = m
		}
	}
	return math.Max(math.Expm1(high-(s.trip*s.trip+s.leg*s.leg)/2), 0)
}

// excesses are the last that were worked out, each half a millisecond of work that
// plans and studies ask for again and again.
var excesses = memory{most: 1024}

type excessKey struct {
	spread     Spread
	confidence float64
	legs       string
}

// memory keeps figures by key, and forgets them all once they are too many.
type memory struct {
	most  int
	mutex sync.Mutex
	known map[excessKey]float64
}

func (m *memory) of(key excessKey, workOut func() float64) float64 {
	m.mutex.Lock()
	defer m.mutex.Unlock()
	if h, ok := m.known[key]; ok {
		return h
	}
	if m.known == nil || len(m.known) >= m.most {
		m.known = map[excessKey]float64{}
	}
	h := workOut()
	m.known[key] = h
	return h
}

// within is the probability that u z₀ + v z stays below m on every leg.
func (s Spread) within(m float64, legs int) float64 {
	if s.leg == 0 {
		return phi(m / s.trip)
	}
	if s.trip == 0 {
		return math.Pow(phi(m/s.leg), float64(legs))
	}
	const steps = 128
	return overDays(steps, func(z float64) float64 { return math.Pow(phi((m-s.trip*z)/s.leg), float64(legs)) })
}

// widest is how many standard deviations are counted on either side.
const widest = 8.0

// overDays is the mean of f over a standard normal z, by Simpson's rule.
func overDays(steps int, f func(z float64) float64) float64 {
	width := 2 * widest / float64(steps)
	sum := 0.0
	for i := range steps + 1 {
		z := -widest + float64(i)*width
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		sum += weight * math.Exp(-z*z/2) * f(z)
	}
	return sum * width / 3 / math.Sqrt(2*math.Pi)
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// drawn is the energy that the battery has given up to each point of the
// road, without what braking brought back.
type drawn struct{ chainageM, kWh []float64 }

func newDrawn(d *Drive) drawn {
	at := d.Corridor.Route.Chainages()
	out := drawn{at, make([]float64, len(at))}
	before := 0.0
	for i := 1; i < len(at); i++ {
		now := d.Profile.EnergyKWh(at[i])
		out.kWh[i] = out.kWh[i-1] + math.Max(now-before, 0)
		before = now
	}
	return out
}

// upTo is what has been drawn from the start to a chainage.
func (d drawn) upTo(chainageM float64) float64 {
	i := sort.SearchFloat64s(d.chainageM, chainageM)
	if i == 0 {
		return 0
	}
	if i == len(d.chainageM) {
		return d.kWh[i-1]
	}
	share := (chainageM - d.chainageM[i-1]) / (d.chainageM[i] - d.chainageM[i-1])
	return d.kWh[i-1] + share*(d.kWh[i]-d.kWh[i-1])
}

// strayed is a leg on which drawnKWh, all that is drawn on it, is more by a
// share of excess, or less where that is negative. The battery's lowest point
// is taken to feel all of it, wherever it lies: on the safe side.
func strayed(l energy.Leg, drawnKWh, excess float64) energy.Leg {
	more := excess * drawnKWh
	l.NeedKWh = math.Max(l.NeedKWh+more, 0)
	l.CostKWh += more
	l.CapKWh -= math.Max(more, 0)
	return l
}

// strayedOff is strayed for a detour, where all is drawn.
func strayedOff(l energy.Leg, excess float64) energy.Leg {
	return strayed(l, math.Max(l.CostKWh, 0), excess)
}

// planSurely plans for a confidence. The factor of consumption that holds with
// it depends on the number of legs, and that on the factor: both are raised
// until they agree.
func (d *Drive) planSurely(planner *stops.Planner, g Goal) (*Plan, error) {
	excess := d.excesses(g)
	if g.part != nil {
		return d.planForLegs(planner, g, g.part.legs[g.part.index], excess)
	}
	if g.Meal.LeastS == 0 {
		return d.planForLegs(planner, g, 1, excess)
	}
	legs := 1
	free := g // where the legs of a trip without the meal are known soon
	free.Meal, free.terse = Meal{}, true
	if p, err := d.planForLegs(planner, free, 1, excess); err == nil {
		legs = p.allowedLegs
	}
	p, err := d.planForLegs(planner, g, legs, excess)
	if legs > 1 && (errors.Is(err, stops.ErrNoPlan) || err == nil && p.allowedLegs < legs) {
		return d.planForLegs(planner, g, 1, excess)
	}
	return p, err
}

// planForLegs is planSurely from a number of legs on.
func (d *Drive) planForLegs(planner *stops.Planner, g Goal, legs int, excess func(legs int) float64) (*Plan, error) {
	for {
		g.Excess = excess(legs)
		p, err := d.plan(planner, g)
		if err != nil || p.allowedLegs <= legs || g.Excess == 0 {
			return p, err
		}
		legs = p.allowedLegs
	}
}

// excesses is the excess by the number of legs, beside those of the other drives.
func (d *Drive) excesses(g Goal) func(legs int) float64 {
	s, all, own := NewSpread(d.Car.PlanSpread()), []int{1}, 0
	if g.part != nil {
		all, own = slices.Clone(g.part.legs), g.part.index
	}
	return func(legs int) float64 {
		all[own] = legs
		return s.excess(g.Confidence, all...)
	}
}

// planSurelyBest is planSurely, polished where no arrival is wanted and the plan
// itself is: see polish.
func (d *Drive) planSurelyBest(planner *stops.Planner, g Goal) (*Plan, error) {
	p, err := d.planSurely(planner, g)
	if err != nil || !g.ArriveBy.IsZero() || g.Unpolished {
		return p, err
	}
	return d.polish(planner, p)
}

// asEstimated is the plan that comes of sure: the same departures, but what
// the driver finds on arriving when consumption is as estimated, and does
// then. Where the number of stops is limited, or a rest demanded, the driver keeps
// to the stops and departures of sure; else the leave rule decides.
func (d *Drive) asEstimated(planner *stops.Planner, g Goal, sure *stops.Plan, closed shut) (*Plan, error) {
	estimate := g
	estimate.Excess = 0
	if g.advised {
		estimate.MostStops = 0
	}
	policy := sure.Keep
	if !g.keeps() {
		sweep, err := planner.Sweep(d.untimed(g, closed))
		if err != nil {
			return nil, err
		}
		policy = sweep.Policy
	}
	p, err := d.follow(g, d.Problem(estimate), func(place int, soc float64) (stops.Decision, bool) {
		if place == stops.Origin {
			soc = g.startSoC()
		}
		return policy(place, soc)
	})
	if err == nil {
		p.allowedLegs, p.openBy = len(sure.Stops)+1, sure.Value-sure.Bound
	}
	return p, err
}

// follow is the plan for a goal that comes of a policy in a problem.
func (d *Drive) follow(g Goal, problem *stops.Problem, policy stops.Policy) (*Plan, error) {
	exact, ok := problem.Follow(stops.Origin, problem.DepartSoC, policy)
	if !ok {
		return nil, stops.ErrNoPlan
	}
	if err := stops.Verify(problem, exact); err != nil {
		return nil, err
	}
	return d.build(g, exact)
}

// leastConfidence is a probability below which no promise is made.
const leastConfidence = 0.5

// surest is the highest confidence, or margin, with which a trip can be made
// that cannot be made with the one asked for.
func (d *Drive) surest(g Goal) (Remedy, bool) {
	top := g.Excess
	less, ok := least(0, top, func(less float64) bool {
		h := g
		h.Excess = top - less
		return d.possible(h)
	})
	if !ok {
		return Remedy{}, false
	}
	g.Excess = top - less
	planner, plan := stops.Planner{Stop: g.stop}, stops.Plan{}
	if err := planner.Solve(d.Problem(g), &plan); err != nil {
		return Remedy{}, false
	}
	if !d.Car.Calibrated() {
		if MarginPct(g.Excess) < 1 {
			return Remedy{Surely: true}, true
		}
		return Remedy{Margin: g.Excess}, true
	}
	return Remedy{Surely: true, Confidence: NewSpread(d.Car.PlanSpread()).holding(g.Excess, len(plan.Stops)+1)}, true
}

// holding is the probability that no leg of so many takes a factor above
// 1+excess.
func (s Spread) holding(excess float64, legs int) float64 {
	return s.within(math.Log1p(excess)+(s.trip*s.trip+s.leg*s.leg)/2, legs)
}

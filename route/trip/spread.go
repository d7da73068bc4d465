package trip

import (
	"errors"
	"math"
	"sort"
	"sync"

	"ampleway/energy"
	"ampleway/route/stops"
)

// Consumption strays from the estimate by the factor
//
//	F = exp(u·z₀ − u²/2) · exp(v·z − v²/2)   u² = ln(1+Trip²), v² = ln(1+Leg²)
//
// with z₀ standard normal for the whole trip and z for each leg: two factors
// of mean 1 whose standard deviations are those of energy.Spread. What the
// battery gives while the car draws on it is multiplied by F; what braking
// brings back stays as estimated, so that a descent never makes up for it.
type spread struct{ trip, leg float64 } // u and v

func newSpread(s energy.Spread) spread {
	return spread{math.Sqrt(math.Log1p(s.Trip * s.Trip)), math.Sqrt(math.Log1p(s.Leg * s.Leg))}
}

// factor is F for two standard normal draws.
func (s spread) factor(trip, leg float64) float64 {
	return math.Exp(s.trip*trip - s.trip*s.trip/2 + s.leg*leg - s.leg*s.leg/2)
}

// excess is the least h for which no leg of a trip of so many legs takes a
// factor above 1+h, with probability confidence: with m = ln(1+h) + (u²+v²)/2,
//
//	∫ φ(z) Φ((m − u z)/v)^legs dz = confidence.
func (s spread) excess(confidence float64, legs int) float64 {
	if s.trip == 0 && s.leg == 0 {
		return 0
	}
	return excesses.of(excessKey{s, confidence, legs}, func() float64 { return s.workOut(confidence, legs) })
}

// workOut is excess by bisection.
func (s spread) workOut(confidence float64, legs int) float64 {
	low, high := -10*(s.trip+s.leg), 10*(s.trip+s.leg)
	for range 50 {
		m := (low + high) / 2
		if s.within(m, legs) < confidence {
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
	spread     spread
	confidence float64
	legs       int
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

// within is the probability that u z₀ + v z stays below m on every leg, by
// Simpson's rule over ±8 standard deviations.
func (s spread) within(m float64, legs int) float64 {
	if s.leg == 0 {
		return phi(m / s.trip)
	}
	if s.trip == 0 {
		return math.Pow(phi(m/s.leg), float64(legs))
	}
	const steps, widest = 128, 8.0
	const width = 2 * widest / steps
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
		sum += weight * math.Exp(-z*z/2) * math.Pow(phi((m-s.trip*z)/s.leg), float64(legs))
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

// excesses is the excess by the number of legs.
func (d *Drive) excesses(g Goal) func(legs int) float64 {
	s := newSpread(d.Car.PlanSpread())
	return func(legs int) float64 { return s.excess(g.Confidence, legs) }
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
	problem := d.Problem(estimate)
	exact := &stops.Plan{}
	f := follower{d: d, problem: problem, exact: exact, clockS: problem.DepartS, soc: g.DepartSoC}
	if g.keeps() {
		f.keep(sure)
	} else {
		sweep, err := planner.Sweep(d.untimed(g, closed))
		if err != nil {
			return nil, err
		}
		if err := f.decide(sweep); err != nil {
			return nil, err
		}
	}
	f.finish()
	if err := stops.Verify(problem, exact); err != nil {
		return nil, err
	}
	p, err := d.build(g, exact)
	if err == nil {
		p.allowedLegs, p.openBy = len(sure.Stops)+1, sure.Value-sure.Bound
	}
	return p, err
}

// follower writes down what a driver does at the estimated consumption.
type follower struct {
	d       *Drive
	problem *stops.Problem
	exact   *stops.Plan
	clockS  float64
	soc     float64
	at      int // charger, or −1
}

func (f *follower) keep(sure *stops.Plan) {
	f.at = stops.Origin
	for i := range sure.Stops {
		f.drive(sure.Stops[i].Charger)
		f.charge(sure.Stops[i].LeaveSoC, sure.Stops[i].Rest)
	}
	f.drive(stops.Destination)
}

func (f *follower) decide(sweep *stops.Sweep) error {
	f.at = stops.Origin
	decision, ok := sweep.Depart(f.soc)
	for ok {
		f.drive(decision.Next)
		if decision.Next < 0 {
			return nil
		}
		decision, ok = sweep.Decide(decision.Next, f.soc)
		f.charge(decision.LeaveSoC, false)
	}
	return stops.ErrNoPlan
}

// drive goes on to a charger or the destination.
func (f *follower) drive(to int) {
	p := f.problem
	kWh, driveS := f.soc*p.CapacityKWh, 0.0
	take := func(l stops.Leg) {
		kWh, _ = l.ArriveKWh(kWh)
		driveS += l.TimeS
	}
	if f.at >= 0 {
		take(p.Chargers[f.at].Out)
	}
	last := to
	if to < 0 {
		last = len(p.Chargers)
	}
	for i := f.at + 1; i <= last; i++ {
		take(p.Road[0][i])
	}
	if to >= 0 {
		take(p.Chargers[to].In)
	}
	f.clockS += driveS
	f.soc, f.at = kWh/p.CapacityKWh, to
	if to < 0 {
		f.exact.DriveS = driveS
		return
	}
	f.exact.Stops = append(f.exact.Stops, stops.Stop{Charger: to, DriveS: driveS, ArriveS: f.clockS, ArriveSoC: f.soc})
}

// charge leaves the stop at hand with leaveSoC, or with what is there if that
// is more. A rest taken there begins in its hours.
func (f *follower) charge(leaveSoC float64, rest bool) {
	s := &f.exact.Stops[len(f.exact.Stops)-1]
	c := &f.problem.Chargers[s.Charger]
	s.LeaveSoC = math.Max(s.ArriveSoC, leaveSoC)
	s.OverheadS = c.OverheadS
	s.ChargeS = c.Power.TimeS(s.ArriveSoC, s.LeaveSoC)
	s.StayS = math.Max(s.ChargeS, c.LeastStayS)
	if rest {
		s.Rest = true
		s.WaitS = math.Max(f.problem.Rest.FromS-s.ArriveS-s.OverheadS, 0)
		s.StayS = math.Max(s.StayS, f.problem.Rest.LeastS)
	}
	s.ChargeKWh = (s.LeaveSoC - s.ArriveSoC) * f.problem.CapacityKWh
	idleS := math.Max(s.StayS-c.Price.IdleAfterS, 0)
	s.Money = c.Price.PerSession + c.Price.PerKWh*s.ChargeKWh + (c.Price.PerMinute*s.ChargeS+c.Price.IdlePerMinute*idleS)/60
	s.LeaveS = s.ArriveS + s.WaitS + s.OverheadS + s.StayS
	f.exact.Money += s.Money
	f.clockS, f.soc = s.LeaveS, s.LeaveSoC
}

// finish fills the totals. Nothing is proven about plans that charge less.
func (f *follower) finish() {
	e := f.exact
	e.ArriveSoC, e.ArriveS = f.soc, f.clockS
	e.TimeS = e.ArriveS - f.problem.DepartS
	e.Revalue(f.problem)
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
	return Remedy{Surely: true, Confidence: newSpread(d.Car.PlanSpread()).holding(g.Excess, len(plan.Stops)+1)}, true
}

// holding is the probability that no leg of so many takes a factor above
// 1+excess.
func (s spread) holding(excess float64, legs int) float64 {
	return s.within(math.Log1p(excess)+(s.trip*s.trip+s.leg*s.leg)/2, legs)
}

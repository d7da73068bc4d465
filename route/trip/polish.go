package trip

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"ampleway/route/stops"
)

// A plan held at a confidence is the best for a day that takes a share of excess
// more on every drive, and is then driven on all days. The best of those days on
// average is not always it: by money least of all, as a driver who buys early for
// the worst of all drives to come buys too much. So plans that are the best under
// one more condition are tried: without a station that the driver comes to, with
// one of the next best sets of stops, with a stop fewer, for another objective;
// where money counts, with one more cheap station, and with the worst taken of
// the drive at hand only (Goal.relief). All are driven on the same simulated days;
// of those that break a reserve no more often, the one whose objective is least on
// average is taken, and its conditions with it into the next round.

const (
	mostRounds = 6
	mealRounds = 1    // where a meal is to be placed anew for each course
	mostTried  = 60   // courses, over all rounds
	nextSets   = 6    // sets of stops tried in a round
	leastVisit = 0.02 // of the simulated trips come to a station that is worth trying without
	leastGain  = 1e-9 // share of the value

	hopelessTime  = 0.01 // share of the value by which a plan is worse by the estimate
	hopelessMoney = 0.05 // the same, where money counts: on average more is bought than at the estimate

	mostMoney             = 42         // courses where money counts, whose simulated trips take longer
	nextStations          = 7          // stations demanded in a round, one at a time
	leastWorth, mostWorth = 0.25, 16.0 // of an hour, in what the plan costs
)

// reliefs are the shares of the excess that a course does not count on beyond the
// drive at hand: what is bought early for the worst of all drives to come is not
// needed on most days, and the next station sells what is.
var reliefs = []float64{1, 0.6, 0.3}

// contender is a plan and what it comes to on the simulated days.
type contender struct {
	plan   *Plan
	course Goal // what it is the best for
	value  float64
	risk   float64
	visits []int // simulated trips that come to each charger
}

// polish looks for a plan that is better on average than p, and as sure.
func (d *Drive) polish(planner *stops.Planner, p *Plan) (*Plan, error) {
	if p.Goal.Excess == 0 || len(p.Stops) == 0 {
		return p, nil
	}
	s := polishing{drive: d, planner: planner, asked: p.Goal, excess: d.excesses(p.Goal), seen: map[string]bool{}, most: mostTried, hopeless: hopelessTime}
	if p.Goal.countsMoney() {
		s.most, s.hopeless = mostMoney, hopelessMoney
	}
	best, err := s.contender(p)
	if err != nil {
		return nil, err
	}
	drives := 1
	if p.Goal.part != nil {
		drives = len(p.Goal.part.legs)
	}
	s.risk = math.Max(best.risk, 1-math.Pow(p.Goal.Confidence, 1/float64(drives)))
	rounds := mostRounds
	if p.Goal.Meal.LeastS > 0 {
		rounds = mealRounds
		if best, err = s.mealPlaces(best); err != nil {
			return nil, err
		}
	}
	if best, err = s.improve(best, s.relieved(best)); err != nil {
		return nil, err
	}
	for range rounds {
		leader := best
		courses, err := s.courses(leader)
		if err != nil {
			return nil, err
		}
		if best, err = s.improve(leader, courses); err != nil {
			return nil, err
		}
		if best == leader {
			break
		}
	}
	best.plan.openBy = p.openBy
	return best.plan, nil
}

// polishing is one search for a better plan.
type polishing struct {
	drive    *Drive
	planner  *stops.Planner
	asked    Goal
	excess   func(legs int) float64
	risk     float64 // at most
	most     int     // courses
	hopeless float64 // share of the value by which a plan may be worse by the estimate to be looked at
	seen     map[string]bool
}

// improve returns the best of a contender and what its courses lead to.
func (s *polishing) improve(leader *contender, courses []Goal) (*contender, error) {
	best := leader
	for _, course := range courses {
		c, err := s.try(leader, course)
		if err != nil {
			return nil, err
		}
		if c != nil && s.better(c, best) {
			best = c
		}
	}
	return best, nil
}

// relieved are the courses of a contender by its own goal with each relief.
func (s *polishing) relieved(c *contender) []Goal {
	if !s.asked.countsMoney() || s.asked.keeps() {
		return nil
	}
	var out []Goal
	for _, relief := range reliefs {
		g := c.course
		g.Excess, g.terse, g.relief = 0, true, relief
		out = append(out, g)
	}
	return out
}

// better reports whether a contender is as sure as asked and its objective less
// on average.
func (s *polishing) better(c, than *contender) bool {
	return c.risk <= s.risk && c.value < than.value-leastGain*math.Abs(than.value)
}

// mealPlaces is the best of a plan with a meal and the next best sets of stops
// that the search for its place finds on the hard day.
func (s *polishing) mealPlaces(best *contender) (*contender, error) {
	course, closed := best.course, best.plan.shut()
	brief := course
	brief.brief = true
	others, err := s.planner.Best(s.drive.untimed(brief, closed), nextSets)
	if errors.Is(err, stops.ErrNoPlan) || errors.Is(err, stops.ErrGivenUp) {
		return best, nil
	}
	if err != nil {
		return nil, err
	}
	for i := range others {
		p, err := s.drive.asEstimated(s.planner, course, &others[i].Plan, closed)
		var broken *stops.Broken
		if errors.As(err, &broken) {
			continue // as estimated the car comes too early or too late
		}
		if err != nil {
			return nil, err
		}
		c, err := s.contender(p)
		if err != nil {
			return nil, err
		}
		if s.better(c, best) {
			best = c
		}
	}
	return best, nil
}

// try plans for a course; nil where there is no plan, where the course was tried
// before, or where the plan is by the estimate so much worse than the leader
// that no draw makes up for it.
func (s *polishing) try(leader *contender, course Goal) (*contender, error) {
	key := course.conditions()
	if s.seen[key] || len(s.seen) >= s.most {
		return nil, nil
	}
	s.seen[key] = true
	legs := leader.plan.allowedLegs
	p, err := s.drive.planForLegs(s.planner, course, legs, s.excess)
	if err == nil && p.allowedLegs < legs {
		p, err = s.drive.planForLegs(s.planner, course, p.allowedLegs, s.excess)
	}
	if errors.Is(err, stops.ErrNoPlan) || errors.Is(err, stops.ErrGivenUp) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if value := s.take(p); value > leader.plan.Exact.Value+s.hopeless*math.Abs(value) {
		return nil, nil
	}
	return s.contender(p)
}

// take makes a plan one for the goal asked for, and returns its value.
func (s *polishing) take(p *Plan) float64 {
	course, estimate := p.Goal, s.asked
	estimate.Excess = 0
	p.course, p.Goal = &course, s.asked
	p.Goal.Excess = course.Excess
	p.Exact.Revalue(s.drive.Problem(estimate))
	return p.Exact.Value
}

// contender drives a plan on the simulated days.
func (s *polishing) contender(p *Plan) (*contender, error) {
	if p.course == nil {
		s.take(p)
	}
	sweep, err := p.sweep(s.planner)
	if err != nil {
		return nil, err
	}
	risk, visits, err := p.alone().visited([]*stops.Sweep{sweep}, AssureOptions{}.withDefaults())
	if err != nil {
		return nil, err
	}
	return &contender{p, *p.course, risk.MeanValue, risk.BelowReserve.Value, visits}, nil
}

// courses are the courses next to that of a contender.
func (s *polishing) courses(c *contender) ([]Goal, error) {
	var out []Goal
	g, meal := c.course, c.course.Meal.LeastS > 0
	g.Excess, g.terse, g.brief = 0, true, meal
	add := func(change func(*Goal)) {
		next := g
		next.Must, next.MustNot = slices.Clone(g.Must), slices.Clone(g.MustNot)
		change(&next)
		out = append(out, next)
	}
	for i, n := range c.visits {
		if id := s.drive.Chargers[i].Site.ID; float64(n) >= leastVisit*DefaultTrips && !slices.Contains(g.Must, id) {
			add(func(next *Goal) { next.MustNot = append(next.MustNot, id) })
		}
	}
	if n := len(c.plan.Stops); n > 1 && (g.MostStops == 0 || g.MostStops > n-1) {
		add(func(next *Goal) { next.MostStops, next.advised = n-1, s.asked.MostStops == 0 })
	}
	if meal {
		return out, nil
	}
	for _, objective := range c.otherObjectives() {
		add(func(next *Goal) { next.Objective = objective })
	}
	if s.asked.countsMoney() {
		for _, id := range s.cheapest(c) {
			add(func(next *Goal) {
				next.Must, next.MustNot = c.withStop(next.Must, id), slices.Clone(s.asked.MustNot)
			})
		}
	}
	worst := c.course
	worst.relief = 0
	others, err := s.planner.Best(s.drive.untimed(worst, c.plan.shut()), nextSets)
	if errors.Is(err, stops.ErrNoPlan) {
		return out, nil
	}
	for i := range others {
		add(func(next *Goal) {
			for _, stop := range others[i].Plan.Stops {
				if id := s.drive.Chargers[stop.Charger].Site.ID; !slices.Contains(next.Must, id) {
					next.Must = append(next.Must, id)
				}
			}
		})
	}
	return out, err
}

// withStop adds the stops of a contender and one more to a list of sites.
func (c *contender) withStop(must []string, id string) []string {
	for i := range c.plan.Stops {
		must = append(must, c.plan.Stops[i].Charger.Site.ID)
	}
	must = append(must, id)
	slices.Sort(must)
	return slices.Compact(must)
}

// cheapest are the stations next to be demanded: of those that are reached and not
// stopped at, the cheapest by the kWh.
func (s *polishing) cheapest(c *contender) []string {
	type offer struct {
		id    string
		price float64
	}
	var offers []offer
	for i := range s.drive.Chargers {
		charger := &s.drive.Chargers[i]
		if s.asked.pricedOnly && charger.Site.Price == nil {
			continue
		}
		price := s.drive.plannerPriceAt(charger, s.asked, s.drive.passes(charger, s.asked)).PerKWh
		if id := charger.Site.ID; c.visits[i] < DefaultTrips && !slices.Contains(c.course.Must, id) && !slices.Contains(s.asked.MustNot, id) {
			offers = append(offers, offer{id, price})
		}
	}
	slices.SortStableFunc(offers, func(a, b offer) int { return cmp.Compare(a.price, b.price) })
	var out []string
	for _, o := range offers[:min(len(offers), nextStations)] {
		out = append(out, o.id)
	}
	return out
}

// otherObjectives are those that now and then lead to a plan that is better by
// the contender's own: where the clock changes prices, or a worse day the order
// of plans.
func (c *contender) otherObjectives() []stops.Objective {
	out := []stops.Objective{{}, {Goal: stops.FewestStops}}
	if money := c.plan.Exact.Money; money > 0 {
		for share := leastWorth; share <= mostWorth; share *= 4 {
			out = append(out, stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: share * money})
		}
	}
	return slices.DeleteFunc(out, func(o stops.Objective) bool { return o == c.course.Objective })
}

// conditions tells courses apart.
func (g Goal) conditions() string {
	must, mustNot := slices.Sorted(slices.Values(g.Must)), slices.Sorted(slices.Values(g.MustNot))
	return fmt.Sprintf("%q %q %d %v %g", must, mustNot, g.MostStops, g.Objective, g.relief)
}

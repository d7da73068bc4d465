package trip

import (
	"math"
	"math/rand/v2"
	"slices"

	"ampleway/energy"
	"ampleway/route/stops"
	"ampleway/stations"
)

// Risk is how often consumption that strays from the estimate breaks a
// reserve, from simulated trips. At each stop the driver reads the gauge and
// does what the leave rule says for it.
type Risk struct {
	Spread     energy.Spread // that the plan allows for
	*Simulated               // nil where the car's spread cannot be put as a probability
}

// Simulated is what simulated trips come to.
type Simulated struct {
	Trips int
	Seed  uint64

	BelowReserve Share   // of trips that fall below a reserve anywhere
	Empty        Share   // of trips that run the battery empty
	MeanS        float64 // of the trips that arrive; NaN where none does
	MeanValue    float64 // of what the goal counts: s, or money; see stops.Plan; NaN where none arrives
	LateS        float64 // nine of ten of these take no longer than this; NaN where none does
	InTime       *Share  // of trips that are there by the wanted time; nil where none was given
	MealLate     *Share  // of trips that begin the meal after its hours; nil where none was asked for
}

// Share is an estimated probability with the standard error of the simulation;
// how well the spread itself is known is not in it. From n trips of
// which k show it the error is √(q(1−q)/n) with q = (k+½)/(n+1), so that a
// thing never seen is not called impossible.
type Share struct{ Value, Error float64 }

// NewShare is that of k out of n trips.
func NewShare(k, n int) Share {
	q := (float64(k) + 0.5) / (float64(n) + 1)
	return Share{float64(k) / float64(n), math.Sqrt(q * (1 - q) / float64(n))}
}

// simulate drives the journey o.Trips times, by a sweep for each drive.
func (p *JourneyPlan) simulate(sweeps []*stops.Sweep, o AssureOptions) (*Risk, error) {
	if car := p.Plans[0].Drive.Car; !car.Calibrated() {
		return &Risk{Spread: car.PlanSpread()}, nil
	}
	risk, _, err := p.visited(sweeps, o)
	return risk, err
}

// visited is simulate for any car, with the number of trips that come to each
// charger of the first drive.
func (p *JourneyPlan) visited(sweeps []*stops.Sweep, o AssureOptions) (*Risk, []int, error) {
	s := journeySimulator{plan: p}
	for i, plan := range p.Plans {
		s.drives = append(s.drives, newSimulator(plan, sweeps[i]))
	}
	for i := range p.Stays {
		after, err := p.journey.afterStay(i)
		if err != nil {
			return nil, nil, err
		}
		s.after = append(s.after, after)
	}
	source := rand.NewPCG(o.Seed, 0)
	rng := rand.New(source)
	first := p.Plans[0]
	wantedS, wanted := first.wantedS()
	t := tally{objective: first.Goal.Objective, times: make([]float64, 0, o.Trips)}
	for i := range o.Trips {
		source.Seed(o.Seed, uint64(i))
		whole, thereS := s.drive(rng, i, o.Trips)
		t.add(whole, thereS <= wantedS)
	}
	risk := t.risk(first.Drive.Car.PlanSpread(), o.Seed)
	if wanted {
		share := NewShare(t.inTime, o.Trips)
		risk.InTime = &share
	}
	if first.Goal.Meal.LeastS > 0 {
		share := NewShare(t.mealLate, o.Trips)
		risk.MealLate = &share
	}
	return risk, s.drives[0].visits, nil
}

// journeySimulator drives a journey again and again.
type journeySimulator struct {
	plan   *JourneyPlan
	drives []*simulator
	after  []func(soc float64) float64 // of each stay
}

// drive is journey i of n, with the time of its first drive. The draws of a
// journey depend on its number alone, so that plans are compared on the same days
// and leg by leg the same drives; the factor of the whole first drive is drawn
// from the i-th of n equally likely parts of its distribution.
func (s *journeySimulator) drive(rng *rand.Rand, i, n int) (whole outcome, thereS float64) {
	shared := math.Sqrt2 * math.Erfinv(2*(float64(i)+rng.Float64())/float64(n)-1)
	soc := s.plan.Plans[0].Goal.DepartSoC
	for k, one := range s.drives {
		if k > 0 {
			shared = rng.NormFloat64()
			whole.timeS += s.plan.Stays[k-1].TimeS
			soc = s.after[k-1](soc)
		}
		whole.add(one.drive(soc, func() float64 { return one.spread.Factor(shared, rng.NormFloat64()) }))
		if k == 0 {
			thereS = whole.timeS
		}
		if whole.empty {
			break
		}
		soc = whole.kWh / one.capacity
	}
	return whole, thereS
}

// simulator drives one plan again and again.
type simulator struct {
	plan     *Plan
	sweep    *stops.Sweep
	spread   Spread
	capacity float64
	floorKWh float64
	road     []piece // to each charger from the one before, the last to the destination
	ways     map[[2]int]piece
	visits   []int
	first    int // where the plan goes from the start
	rest     stops.Rest
	mealAt   *stations.Site           // nil: no meal is had
	prices   map[*Charger]stops.Price // those that do not change by the hour
}

// stay is a stop at a charger that begins at o.timeS and lasts for as long as
// it charges; where the plan has its meal there, until that is over.
func (s *simulator) stay(o *outcome, c *Charger, chargeS float64) {
	g := &s.plan.Goal
	o.burdenS += g.burdenS(c)
	o.timeS += s.plan.Drive.Options.overheadS()
	if s.mealAt == nil || c.Site != s.mealAt {
		o.timeS += chargeS
		return
	}
	o.burdenS += g.mealBurdenS(c)
	o.mealLate = o.timeS > s.rest.ToS+1
	o.timeS = math.Max(o.timeS, s.rest.FromS) + math.Max(chargeS, s.rest.LeastS)
}

type piece struct {
	energy.Leg
	drawnKWh float64
}

func newSimulator(p *Plan, sweep *stops.Sweep) *simulator {
	d := p.Drive
	s := &simulator{
		plan: p, sweep: sweep, spread: NewSpread(d.Car.PlanSpread()),
		capacity: d.Profile.CapacityKWh(), visits: make([]int, len(d.Chargers)), ways: map[[2]int]piece{}, first: stops.Destination, prices: map[*Charger]stops.Price{},
	}
	s.floorKWh = p.Goal.floorSoC() * s.capacity
	s.rest = p.Goal.rest(len(d.Chargers))
	for i := range p.Stops {
		if p.Stops[i].Meal {
			s.mealAt = p.Stops[i].Charger.Site
		}
	}
	if len(p.Exact.Stops) > 0 {
		s.first = p.Exact.Stops[0].Charger
	}
	fromM := 0.0
	for i := range len(d.Chargers) + 1 {
		toM := d.Profile.LengthM()
		if i < len(d.Chargers) {
			toM = d.Chargers[i].ChainageM
		}
		s.road = append(s.road, piece{d.Profile.Leg(fromM, toM), d.drawn().upTo(toM) - d.drawn().upTo(fromM)})
		fromM = toM
	}
	return s
}

// outcome is one simulated trip. An empty battery ends it.
type outcome struct {
	timeS        float64
	kWh          float64
	money        float64 // as the planner counts it; only where it counts
	burdenS      float64
	below, empty bool
	mealLate     bool // it begins after its hours
	stops        int
}

// slackKWh keeps rounding from counting as a broken reserve.
const slackKWh = 1e-6

// add is what a drive adds to those before it.
func (o *outcome) add(next outcome) {
	o.timeS += next.timeS
	o.kWh = next.kWh
	o.money += next.money
	o.burdenS += next.burdenS
	o.stops += next.stops
	o.below, o.empty, o.mealLate = o.below || next.below, o.empty || next.empty, o.mealLate || next.mealLate
}

// drive drives as the plan decides.
func (s *simulator) drive(departSoC float64, factor func() float64) outcome {
	if s.plan.Goal.keeps() {
		return s.follow(departSoC, factor, s.plan.Exact.Keep)
	}
	return s.follow(departSoC, factor, s.sweep.Decide)
}

// follow drives from the start to the destination with a factor of
// consumption for each leg and a decision at each stop.
func (s *simulator) follow(departSoC float64, factor func() float64, decide stops.Policy) outcome {
	d, g := s.plan.Drive, &s.plan.Goal
	o := outcome{kWh: departSoC * s.capacity}
	at, next := stops.Origin, s.first
	for {
		s.leg(&o, at, next, factor()-1)
		if next == stops.Destination || o.empty {
			o.below = o.below || o.kWh < g.ArriveReserveSoC*s.capacity-slackKWh
			return o
		}
		o.below = o.below || o.kWh < g.ReserveSoC*s.capacity-slackKWh
		s.visits[next]++
		soc := o.kWh / s.capacity
		decision, ok := decide(next, soc)
		if !ok {
			o.below, o.empty = true, true
			return o
		}
		c := &d.Chargers[next]
		chargeS := c.Charge.TimeS(soc, decision.LeaveSoC)
		if g.countsMoney() {
			price := s.price(c, o.timeS)
			o.money += price.Due((decision.LeaveSoC-soc)*s.capacity, chargeS, chargeS)
		}
		s.stay(&o, c, chargeS)
		o.kWh = decision.LeaveSoC * s.capacity
		o.stops++
		at, next = next, decision.Next
	}
}

// price is that of a stop so long after departure.
func (s *simulator) price(c *Charger, afterS float64) stops.Price {
	if price, known := s.prices[c]; known {
		return price
	}
	g := &s.plan.Goal
	at := s.plan.Drive.passes(c, *g)
	if !g.Depart.IsZero() {
		at = g.Depart.Add(seconds(afterS))
	}
	price := s.plan.Drive.plannerPriceAt(c, *g, at)
	if c.Site.Price == nil || len(c.Site.Price.Periods) == 0 {
		s.prices[c] = price
	}
	return price
}

// whole is a drive between two places as estimated, and all that is drawn on it.
func (s *simulator) whole(from, to int) piece {
	way, known := s.ways[[2]int{from, to}]
	if known {
		return way
	}
	d := s.plan.Drive
	way.Leg = energy.Leg{CapKWh: s.capacity}
	then := func(l energy.Leg, drawnKWh float64) {
		way = piece{way.Then(l), way.drawnKWh + drawnKWh}
	}
	last := to
	if to == stops.Destination {
		last = len(d.Chargers)
	}
	if from >= 0 {
		then(d.Chargers[from].Out, math.Max(d.Chargers[from].Out.CostKWh, 0))
	}
	for i := from + 1; i <= last; i++ {
		then(s.road[i].Leg, s.road[i].drawnKWh)
	}
	if to >= 0 {
		then(d.Chargers[to].In, math.Max(d.Chargers[to].In.CostKWh, 0))
	}
	s.ways[[2]int{from, to}] = way
	return way
}

// leg drives from one place to the next. Where all that is drawn, felt at the
// worst place, brings the battery neither below the floor nor to its top, the
// drive is as one piece.
func (s *simulator) leg(o *outcome, from, to int, excess float64) {
	way := s.whole(from, to)
	moreKWh := excess * way.drawnKWh
	if o.kWh-s.floorKWh >= way.NeedKWh+math.Abs(moreKWh) && o.kWh-way.CostKWh-math.Min(moreKWh, 0) <= way.CapKWh {
		o.timeS += way.TimeS
		o.kWh -= way.CostKWh + moreKWh
		return
	}
	d := s.plan.Drive
	last := to
	if to == stops.Destination {
		last = len(d.Chargers)
	}
	if from >= 0 {
		s.piece(o, strayedOff(d.Chargers[from].Out, excess))
	}
	for i := from + 1; i <= last; i++ {
		s.piece(o, strayed(s.road[i].Leg, s.road[i].drawnKWh, excess))
	}
	if to >= 0 {
		s.piece(o, strayedOff(d.Chargers[to].In, excess))
	}
}

func (s *simulator) piece(o *outcome, l energy.Leg) {
	o.timeS += l.TimeS
	o.empty = o.empty || o.kWh < l.NeedKWh-slackKWh
	o.below = o.below || o.kWh-s.floorKWh < l.NeedKWh-slackKWh
	o.kWh, _ = l.ArriveKWh(o.kWh)
}

// tally counts simulated trips.
type tally struct {
	objective                   stops.Objective
	trips, below, empty, inTime int
	mealLate                    int
	value                       float64 // summed
	times                       []float64
}

func (t *tally) add(o outcome, inTime bool) {
	t.trips++
	if o.below {
		t.below++
	}
	if o.mealLate {
		t.mealLate++
	}
	if o.empty {
		t.empty++
		return
	}
	t.times = append(t.times, o.timeS)
	t.value += t.objective.Value(o.timeS, o.money, o.burdenS, o.stops)
	if inTime {
		t.inTime++
	}
}

func (t *tally) risk(spread energy.Spread, seed uint64) *Risk {
	r := &Risk{Spread: spread, Simulated: &Simulated{
		Trips: t.trips, Seed: seed, BelowReserve: NewShare(t.below, t.trips), Empty: NewShare(t.empty, t.trips),
		MeanS: math.NaN(), MeanValue: math.NaN(), LateS: math.NaN(),
	}}
	if n := float64(len(t.times)); n > 0 {
		r.MeanS = 0
		for _, timeS := range t.times {
			r.MeanS += timeS / n
		}
		r.MeanValue = t.value / n
		r.LateS = quantile(t.times, 0.9)
	}
	return r
}

// quantile sorts and takes the least value that a share of all do not exceed.
func quantile(values []float64, share float64) float64 {
	slices.Sort(values)
	return values[max(int(math.Ceil(share*float64(len(values))))-1, 0)]
}

// Simulate is the Risk of a plan alone; see Assure.
func (p *Plan) Simulate(planner *stops.Planner, o AssureOptions) (*Risk, error) {
	if planner == nil {
		planner = &stops.Planner{}
	}
	sweep, err := p.sweep(planner)
	if err != nil {
		return nil, err
	}
	return p.alone().simulate([]*stops.Sweep{sweep}, o.withDefaults())
}

// alone is a plan as a journey of its own.
func (p *Plan) alone() *JourneyPlan {
	return &JourneyPlan{Plans: []*Plan{p}, Risk: p.Risk, journey: &Journey{Drives: []*Drive{p.Drive}, Goal: p.Goal}}
}

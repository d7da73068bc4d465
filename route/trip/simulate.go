package trip

import (
	"math"
	"math/rand/v2"
	"slices"

	"ampleway/energy"
	"ampleway/route/stops"
)

// Risk is how often consumption that strays from the estimate breaks a
// reserve, from simulated trips. At each stop the driver reads the gauge and
// does what the leave rule says for it.
type Risk struct {
	Spread energy.Spread
	Trips  int
	Seed   uint64

	BelowReserve Share // of trips that fall below a reserve anywhere
	Empty        Share // of trips that run the battery empty
	MeanS        float64
	LateS        float64 // nine of ten trips take no longer than this
	InTime       *Share  // of trips that are there by the wanted time; nil where none was given
}

// Share is an estimated probability with its standard error. From n trips of
// which k show it the error is √(q(1−q)/n) with q = (k+½)/(n+1), so that a
// thing never seen is not called impossible.
type Share struct{ Value, Error float64 }

func newShare(k, n int) Share {
	q := (float64(k) + 0.5) / (float64(n) + 1)
	return Share{float64(k) / float64(n), math.Sqrt(q * (1 - q) / float64(n))}
}

// simulate drives the plan o.Trips times.
func (p *Plan) simulate(sweep *stops.Sweep, o AssureOptions) *Risk {
	s := newSimulator(p, sweep)
	rng := rand.New(rand.NewPCG(o.Seed, 0))
	wantedS, wanted := p.wantedS()
	t := tally{times: make([]float64, 0, o.Trips)}
	for range o.Trips {
		t.add(s.drive(rng), wantedS)
	}
	risk := t.risk(p.Drive.Car.Spread, o.Seed)
	if wanted {
		share := newShare(t.inTime, o.Trips)
		risk.InTime = &share
	}
	return risk
}

// simulator drives one plan again and again.
type simulator struct {
	plan     *Plan
	sweep    *stops.Sweep
	spread   spread
	capacity float64
	floorKWh float64
	road     []piece // to each charger from the one before, the last to the destination
	first    int     // where the plan goes from the start
}

type piece struct {
	energy.Leg
	drawnKWh float64
}

func newSimulator(p *Plan, sweep *stops.Sweep) *simulator {
	d := p.Drive
	s := &simulator{
		plan: p, sweep: sweep, spread: newSpread(d.Car.Spread),
		capacity: d.Profile.CapacityKWh(), first: stops.Destination,
	}
	s.floorKWh = p.Goal.floorSoC() * s.capacity
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
	below, empty bool
	stops        int
}

// slackKWh keeps rounding from counting as a broken reserve.
const slackKWh = 1e-6

func (s *simulator) drive(rng *rand.Rand) outcome {
	trip := rng.NormFloat64()
	return s.follow(func() float64 { return s.spread.factor(trip, rng.NormFloat64()) }, s.sweep.Decide)
}

// follow drives from the start to the destination with a factor of
// consumption for each leg and a decision at each stop.
func (s *simulator) follow(factor func() float64, decide func(charger int, arriveSoC float64) (stops.Decision, bool)) outcome {
	return s.followFrom(s.plan.Goal.DepartSoC, factor, decide)
}

func (s *simulator) followFrom(departSoC float64, factor func() float64, decide func(charger int, arriveSoC float64) (stops.Decision, bool)) outcome {
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
		soc := o.kWh / s.capacity
		decision, ok := decide(next, soc)
		if !ok {
			o.below, o.empty = true, true
			return o
		}
		charge := d.Chargers[next].Charge
		o.timeS += d.Options.overheadS() + charge.TimeS(soc, decision.LeaveSoC)
		o.kWh = decision.LeaveSoC * s.capacity
		o.stops++
		at, next = next, decision.Next
	}
}

// leg drives from one place to the next.
func (s *simulator) leg(o *outcome, from, to int, excess float64) {
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
	trips, below, empty, inTime int
	times                       []float64
}

func (t *tally) add(o outcome, wantedS float64) {
	t.trips++
	if o.below {
		t.below++
	}
	if o.empty {
		t.empty++
		return
	}
	t.times = append(t.times, o.timeS)
	if o.timeS <= wantedS {
		t.inTime++
	}
}

func (t *tally) risk(spread energy.Spread, seed uint64) *Risk {
	r := &Risk{Spread: spread, Trips: t.trips, Seed: seed, BelowReserve: newShare(t.below, t.trips), Empty: newShare(t.empty, t.trips)}
	if n := float64(len(t.times)); n > 0 {
		for _, timeS := range t.times {
			r.MeanS += timeS
		}
		r.MeanS /= n
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
	sweep, err := planner.Sweep(p.Drive.untimed(p.Goal, p.shut()))
	if err != nil {
		return nil, err
	}
	return p.simulate(sweep, o.withDefaults()), nil
}

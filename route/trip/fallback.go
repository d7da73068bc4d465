package trip

import (
	"math"
	"slices"

	"ampleway/energy"
	"ampleway/route/stops"
)

// Fallback is what to do at a stop whose station is down, occupied or closed
// on arrival: of all places that are reached with the reserve, the nearest that
// is robust, which has robustBays of known power, or one hardly further, within
// nearlyM, from which the rest of the trip is quicker. Where none is robust, any
// will do; where the reserve cannot be kept, the same among those that are reached
// with the most left, give or take nearlySoC. Consumption is as estimated. Where one drives back, turning round is taken to be possible at
// once.
type Fallback struct {
	To        *Charger // nil: the destination; with None, nothing
	ToName    string
	None      bool    // no other station is within reach
	Anew      bool    // of a visit: the drive ends with less than planned, and what follows is to be planned anew
	Back      bool    // against the direction of the trip
	DistanceM float64 // of the drive there
	DriveS    float64
	ArriveSoC float64
	LateS     float64 // the trip takes so much longer than planned, the vain overhead included
	MoreStops int     // further stops from there on, this one included
}

// nearlySoC is a difference on arrival that is not worth a longer way.
const nearlySoC = 0.02

// Common practice: of two bays one works and is free far more often than of one,
// and whoever has just found a charger down drives a short way first.
const (
	robustBays = 2
	nearlyM    = 15e3
)

// fallbackFloorSoC is the least SoC on reaching a fallback.
func (g Goal) fallbackFloorSoC() float64 {
	if g.FallbackFloorSoC != nil {
		return *g.FallbackFloorSoC
	}
	return math.Min(DefaultFallbackFloorSoC, g.ReserveSoC)
}

// aside is a drive from one charger to another, past the one that fails.
type aside struct {
	to   int // charger, or stops.Destination
	back bool
	leg  energy.Leg
}

// reverse is the profile of the road driven the other way.
func (d *Drive) reverse() *Profile {
	cond := d.Conditions
	cond.CabinReady = true
	p, err := newProfile(d.Car, cond, steps(d.Corridor.Route.Reverse(), d.Options), mirrored(d.Options.air, d.Profile.LengthM()))
	if err != nil {
		panic("trip: a road that can be driven one way cannot be driven the other: " + err.Error())
	}
	return p
}

// asides lists the drives from a charger to every other site and to the
// destination that a full battery could make, at an excess of consumption.
func (d *Drive) asides(from int, excess float64) []aside {
	var out []aside
	capacity := d.Profile.CapacityKWh()
	add := func(a aside) bool {
		within := a.leg.NeedKWh <= capacity
		if within && (a.to < 0 || d.Chargers[a.to].Site != d.Chargers[from].Site) {
			out = append(out, a)
		}
		return within
	}
	for to := from + 1; to < len(d.Chargers); to++ {
		if !add(d.ahead(from, to, excess)) {
			break
		}
	}
	add(d.ahead(from, stops.Destination, excess))
	for to := from - 1; to >= 0; to-- {
		if !d.admitsBack(to) {
			continue
		}
		if !add(d.behind(from, to, excess)) {
			break
		}
	}
	return out
}

func (d *Drive) ahead(from, to int, excess float64) aside {
	a := aside{to: to}
	start, toM := &d.Chargers[from], d.Profile.LengthM()
	if to >= 0 {
		toM = d.Chargers[to].ChainageM
	}
	a.leg = strayedOff(start.Out, excess).Then(d.roadLeg(start.ChainageM, toM, excess))
	if to >= 0 {
		a.leg = a.leg.Then(strayedOff(d.Chargers[to].In, excess))
	}
	return a
}

// behind drives back along the road: climbs become descents, and the wind
// turns round.
func (d *Drive) behind(from, to int, excess float64) aside {
	start, end := &d.Chargers[from], &d.Chargers[to]
	back := d.reversed()
	length := back.LengthM()
	road := back.Leg(length-start.ChainageM, length-end.ChainageM)
	road = strayed(road, math.Max(road.NeedKWh, road.CostKWh), excess)
	return aside{to: to, back: true, leg: strayedOff(start.Out, excess).Then(road).Then(strayedOff(end.In, excess))}
}

// admitsBack reports whether a site can be entered on the way back.
func (d *Drive) admitsBack(i int) bool {
	c, r := &d.Chargers[i], d.Corridor.Route
	return c.Site.Reach.Admits(math.Mod(r.BearingDeg(r.Piece(c.ChainageM))+180, 360))
}

// fallBack fills p.Fallbacks. Where no station leads on to what the drives after
// this one are planned with, those are to be planned anew.
func (p *Plan) fallBack(planner *stops.Planner, closed shut) error {
	p.Fallbacks = make([]Fallback, len(p.Stops))
	for i := range p.Stops {
		f, err := p.fallbackAt(planner, i, p.Goal, closed)
		if err == nil && f.None && p.Goal.part != nil {
			alone := p.Goal
			alone.part = nil
			f, err = p.fallbackAt(planner, i, alone, closed)
			f.Anew = !f.None
		}
		if err != nil {
			return err
		}
		p.Fallbacks[i] = f
	}
	return nil
}

// onwardProblem is the quickest way on, by time alone, with no stop demanded.
func (d *Drive) onwardProblem(g Goal, closed shut) *stops.Problem {
	g.Objective, g.MostStops, g.Must, g.Fallback, g.pricedOnly = stops.Objective{}, 0, nil, false, false
	return d.untimed(g, closed)
}

// withoutSite sweeps a problem with the site of one charger out of order.
func (d *Drive) withoutSite(planner *stops.Planner, problem *stops.Problem, failed int) (*stops.Sweep, error) {
	less := *problem
	less.Chargers = slices.Clone(problem.Chargers)
	for i := range d.Chargers {
		if d.Chargers[i].Site == d.Chargers[failed].Site {
			less.Chargers[i].Use = stops.MustPass
		}
	}
	return planner.Sweep(&less)
}

func (p *Plan) fallbackAt(planner *stops.Planner, stop int, g Goal, closed shut) (Fallback, error) {
	d := p.Drive
	failed := p.Exact.Stops[stop].Charger
	problem := d.onwardProblem(g, closed)
	sweep, err := d.withoutSite(planner, problem, failed)
	if err != nil {
		return Fallback{}, err
	}
	capacity := d.Profile.CapacityKWh()
	hasKWh := p.Stops[stop].ArriveSoC * capacity
	var keeping, others []candidate
	for _, a := range d.asides(failed, 0) {
		kWh, lasts := a.leg.ArriveKWh(hasKWh)
		c := candidate{a, kWh / capacity, a.leg.TimeS}
		reserveSoC, floorSoC := g.ReserveSoC, g.fallbackFloorSoC()
		if a.to < 0 {
			reserveSoC, floorSoC = g.endSoC(), g.endSoC()
		} else {
			c.value += sweep.CostToGo(a.to, c.soc)
		}
		switch {
		case a.to >= 0 && problem.Chargers[a.to].Use == stops.MustPass:
		case !lasts || kWh < floorSoC*capacity-slackKWh || math.IsInf(c.value, 1):
		case kWh >= reserveSoC*capacity-slackKWh:
			keeping = append(keeping, c)
		default:
			others = append(others, c)
		}
	}
	best, ok := d.nearest(keeping)
	if !ok {
		best, ok = d.nearest(fullest(others))
	}
	if !ok {
		return Fallback{None: true}, nil
	}
	return p.fallback(sweep, stop, best.aside, best.soc), nil
}

// candidate is an aside with what is in the battery at its end and the time
// from its start to the destination.
type candidate struct {
	aside
	soc, value float64
}

// nearest is the quickest of the robust candidates that are hardly further than
// the nearest of them; of all, where none is robust. The destination is robust.
func (d *Drive) nearest(from []candidate) (best candidate, ok bool) {
	robust := slices.DeleteFunc(slices.Clone(from), func(c candidate) bool {
		return c.to >= 0 && (d.Chargers[c.to].Bays < robustBays || d.Chargers[c.to].Offer.Assumed)
	})
	if len(robust) == 0 {
		robust = from
	}
	leastM := math.Inf(1)
	for _, c := range robust {
		leastM = math.Min(leastM, c.leg.DistanceM)
	}
	best.value = math.Inf(1)
	for _, c := range robust {
		if c.leg.DistanceM <= leastM+nearlyM && c.value < best.value {
			best = c
		}
	}
	return best, len(robust) > 0
}

// fullest are the candidates that end with nearly as much as the best of them.
func fullest(from []candidate) []candidate {
	most := 0.0
	for _, c := range from {
		most = math.Max(most, c.soc)
	}
	return slices.DeleteFunc(from, func(c candidate) bool { return c.soc < most-nearlySoC })
}

// fallback drives on along an aside as the sweep decides, consumption being as
// estimated.
func (p *Plan) fallback(sweep *stops.Sweep, stop int, a aside, arriveSoC float64) Fallback {
	d, estimate := p.Drive, p.Goal
	estimate.Excess = 0
	f := Fallback{
		ToName: d.placeName(nil, false), Back: a.back, DistanceM: a.leg.DistanceM, DriveS: a.leg.TimeS, ArriveSoC: arriveSoC,
	}
	timeS := p.Stops[stop].ArriveS + p.Stops[stop].OverheadS + a.leg.TimeS
	if a.to >= 0 {
		f.To = &d.Chargers[a.to]
		f.ToName = SiteName(f.To.Site)
		onward, ok := d.onwardProblem(estimate, nil).Follow(a.to, arriveSoC, sweep.Policy)
		if !ok {
			onward = &stops.Plan{TimeS: math.Inf(1)}
		}
		timeS += onward.TimeS
		f.MoreStops = len(onward.Stops)
	}
	f.LateS = timeS - p.TimeS
	return f
}

// demandFallbacks raises the reserve of every charger to what the least
// demanding drive to another site takes, from which the trip can still be
// finished with this site out of order. A charger without one is not used.
func (d *Drive) demandFallbacks(g Goal, problem *stops.Problem) {
	capacity := d.Profile.CapacityKWh()
	floorKWh := g.fallbackFloorSoC() * capacity
	planner := stops.Planner{Stop: g.stop}
	g.part = nil // a drive that falls back need not end as planned
	onward := d.onwardProblem(g, d.shut(g, steadySlackS))
	for i := range problem.Chargers {
		sweep, err := d.withoutSite(&planner, onward, i)
		if err != nil {
			continue // the problem itself is at fault, which its planner will say
		}
		least := math.Inf(1)
		for _, a := range d.asides(i, g.Excess) {
			if a.to < 0 || onward.Chargers[a.to].Use != stops.MustPass {
				least = math.Min(least, d.demand(sweep, a, g, floorKWh))
			}
		}
		c := &problem.Chargers[i]
		c.ReserveSoC = math.Max(c.ReserveSoC, least/capacity)
		if !(c.ReserveSoC <= 1) {
			c.ReserveSoC, c.Use = 1, stops.MustPass
		}
	}
}

// demand is the least energy with which an aside can be driven and the trip
// finished, +Inf where it cannot.
func (d *Drive) demand(sweep *stops.Sweep, a aside, g Goal, floorKWh float64) float64 {
	capacity := d.Profile.CapacityKWh()
	if a.to < 0 {
		floorKWh = g.ArriveReserveSoC * capacity
	}
	if a.leg.CapKWh < floorKWh {
		return math.Inf(1)
	}
	if a.to >= 0 && math.IsInf(sweep.CostToGo(a.to, floorKWh/capacity), 1) {
		return math.Inf(1)
	}
	return math.Max(a.leg.NeedKWh, a.leg.CostKWh+floorKWh)
}

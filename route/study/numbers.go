package study

import (
	"encoding/binary"
	"math"

	"ampleway/energy/taper"
	"ampleway/route/stops"
	"ampleway/route/trip"
)

// numbers is a block as numbers: its problem without reserves, at the estimate
// and at every excess of consumption asked for so far.
type numbers struct {
	drive     *trip.Drive
	goal      trip.Goal // without reserves
	arriveSoC float64   // at the destination
	spread    trip.Spread
	estimate  *stops.Problem
	more      *stops.Problem // consumption doubled: what is drawn is the difference
	excesses  map[float64]*stops.Problem
	coupled   bool // charging times do not split: the sweep alone is not enough
	sites     []string
	powers    []*taper.Func // of each charger, equal ones the same
}

func newNumbers(d *trip.Drive, g trip.Goal) *numbers {
	arrive := g.ArriveReserveSoC
	g.ReserveSoC, g.ArriveReserveSoC, g.Confidence = 0, 0, 0
	n := &numbers{drive: d, goal: g, arriveSoC: arrive, spread: trip.NewSpread(d.Car.PlanSpread()), excesses: map[float64]*stops.Problem{}, powers: samePowers(d)}
	n.estimate, n.more = n.at(0), n.at(1)
	for i := range n.estimate.Chargers {
		c := &n.estimate.Chargers[i]
		n.coupled = n.coupled || c.Price.IdlePerMinute > 0 || len(c.Periods) > 0
		n.sites = append(n.sites, d.Chargers[i].Site.ID)
	}
	return n
}

func (n *numbers) at(excess float64) *stops.Problem {
	if p, ok := n.excesses[excess]; ok {
		return p
	}
	g := n.goal
	g.Excess = excess
	p := n.drive.Problem(g)
	for i := range p.Chargers {
		p.Chargers[i].Power = n.powers[i]
	}
	n.excesses[excess] = p
	return p
}

// samePowers makes one charging function of all that are alike: batteries of
// many temperatures charge alike where the station is the limit. The planner
// tables what it needs of each.
func samePowers(d *trip.Drive) []*taper.Func {
	known := map[*taper.Func]*taper.Func{}
	alike := map[string]*taper.Func{}
	out := make([]*taper.Func, len(d.Chargers))
	var text []byte
	for i := range d.Chargers {
		f := d.Chargers[i].Charge
		if known[f] == nil {
			text = text[:0]
			for _, p := range f.Pieces() {
				for _, v := range [...]float64{p.FromSoC, p.ToSoC, p.FromKW, p.ToKW} {
					text = binary.LittleEndian.AppendUint64(text, math.Float64bits(v))
				}
			}
			if alike[string(text)] == nil {
				alike[string(text)] = f
			}
			known[f] = alike[string(text)]
		}
		out[i] = known[f]
	}
	return out
}

// ask is what differs between the cases of a block.
type ask struct {
	reserveSoC float64
	destSoC    float64 // at the destination, if more than the reserve
	down       []bool  // by charger; nil: none
}

// fill puts an ask on a problem without reserves, as trip.Drive.Problem would
// have: every need is raised by the reserve.
func fill(to, from *stops.Problem, a ask) {
	road, chargers := to.Road, to.Chargers
	*to = *from
	if len(road) != 1 || cap(road[0]) < len(from.Road[0]) {
		road = [][]stops.Leg{make([]stops.Leg, len(from.Road[0]))}
	}
	road[0] = road[0][:len(from.Road[0])]
	if cap(chargers) < len(from.Chargers) {
		chargers = make([]stops.Charger, len(from.Chargers))
	}
	chargers = chargers[:len(from.Chargers)]
	floorKWh := a.reserveSoC * from.CapacityKWh
	for i, l := range from.Road[0] {
		l.NeedKWh += floorKWh
		road[0][i] = l
	}
	for i := range from.Chargers {
		c := from.Chargers[i]
		c.In.NeedKWh += floorKWh
		c.Out.NeedKWh += floorKWh
		c.ReserveSoC = a.reserveSoC
		if a.down != nil && a.down[i] {
			c.Use = stops.MustPass
		}
		chargers[i] = c
	}
	to.Road, to.Chargers = road, chargers
	to.ReserveSoC = math.Max(a.reserveSoC, a.destSoC)
}

// hop is the drive from one place to another, detours included.
func hop(p *stops.Problem, from, to int) stops.Leg {
	var leg stops.Leg
	if from >= 0 {
		leg = p.Chargers[from].Out
	}
	last := to
	if to == stops.Destination {
		last = len(p.Chargers)
	}
	for i := from + 1; i <= last; i++ {
		leg = leg.Then(p.Road[0][i])
	}
	if to >= 0 {
		leg = leg.Then(p.Chargers[to].In)
	}
	return leg
}

package trip

import (
	"fmt"
	"math"

	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
)

// wish is something asked for that leaves stations out.
type wish struct {
	text   string
	asked  func(*DriveOptions) bool
	giveUp func(*DriveOptions)
	change func(*question.Question)
}

var wishes = []wish{
	{"use other operators and networks too (without --only)",
		func(o *DriveOptions) bool { return len(o.Filter.Only) > 0 },
		func(o *DriveOptions) { o.Filter.Only = nil }, func(r *question.Question) { r.Only = nil }},
	{"use what was to be avoided (without --avoid)",
		func(o *DriveOptions) bool { return len(o.Filter.Avoid) > 0 },
		func(o *DriveOptions) { o.Filter.Avoid = nil }, func(r *question.Question) { r.Avoid = nil }},
	{"use weaker chargers too (without --least-power)",
		func(o *DriveOptions) bool { return o.Filter.MinPowerKW > 0 },
		func(o *DriveOptions) { o.Filter.MinPowerKW = 0 }, func(r *question.Question) { r.LeastPowerKW = 0 }},
	{"use chargers of every power (without --power-between)",
		func(o *DriveOptions) bool { return len(o.PowerClasses) > 0 },
		func(o *DriveOptions) { o.PowerClasses = nil }, func(r *question.Question) { r.PowerBetween = nil }},
	{"use stations whose power is assumed (without --no-assumed-power)",
		func(o *DriveOptions) bool { return o.Filter.RejectAssumed },
		func(o *DriveOptions) { o.Filter.RejectAssumed = false }, func(r *question.Question) { r.NoAssumedPower = false }},
	{"use stations for customers or guests too, where you are one (--customer-sites)",
		func(o *DriveOptions) bool { return !o.Filter.Customers },
		func(o *DriveOptions) { o.Filter.Customers = true }, func(r *question.Question) { r.CustomerSites = true }},
	{"charge with alternating current on the way too, which takes hours (--ac)",
		func(o *DriveOptions) bool { return !o.AC },
		func(o *DriveOptions) { o.AC, o.Filter.DCOnly = true, false }, func(r *question.Question) { r.AC = true }},
}

// Change takes the remedy in a request, and reports whether a request can.
func (r Remedy) Change(ask *question.Question) bool {
	switch {
	case r.Inlet != "":
		ask.Connector = append(ask.Connector, string(r.Inlet))
	case r.HalfWidthM > 0:
		ask.HalfWidthKM = r.HalfWidthM / 1000
	case r.Wish != nil:
		r.Wish.change(ask)
	case r.DepartSoC > 0:
		ask.LeaveWithPct = math.Ceil(100*r.DepartSoC - 1e-6)
	case r.Reserve:
		pct := math.Floor(100*r.ReserveSoC + 1e-6)
		ask.ReservePct, ask.ArriveWithPct = math.Min(ask.ReservePct, pct), math.Min(ask.ArriveWithPct, pct)
	case r.SpeedCapMS > 0:
		ask.SpeedCapKMH = new(math.Round(3.6 * r.SpeedCapMS))
	case r.Unlimited:
		ask.MostStops = nil
	default:
		return false
	}
	return true
}

// otherwise is the drive on a corridor, or with options, that differ.
func (d *Drive) otherwise(c *Corridor, change func(*DriveOptions)) (*Drive, bool) {
	o := d.Options
	change(&o)
	other, err := NewDrive(c, d.Car, d.Conditions, o)
	return other, err == nil
}

// otherInlets are the inlets with which the car, if one of them is its own,
// could make the trip.
func (d *Drive) otherInlets(g Goal, n *NoPlan) (out []Remedy) {
	for _, p := range misfits(n.LeftOut) {
		if !d.otherInlet(p.Type) {
			continue
		}
		other, ok := d.otherwise(d.Corridor, func(o *DriveOptions) { o.Filter.Accepts = []stations.ConnectorType{p.Type} })
		if ok && other.holds(g) {
			out = append(out, Remedy{Inlet: p.Type})
		}
	}
	return out
}

// lessWished are the wishes of which giving up one makes the trip possible.
func (d *Drive) lessWished(g Goal) (out []Remedy) {
	for i := range wishes {
		if !wishes[i].asked(&d.Options) {
			continue
		}
		if other, ok := d.otherwise(d.Corridor, wishes[i].giveUp); ok && len(other.Chargers) > len(d.Chargers) && other.holds(g) {
			out = append(out, Remedy{Wish: &wishes[i]})
		}
	}
	return out
}

// Half-widths that are tried where a trip cannot be made, and the most passes
// of a corridor so wide that are worth a try.
const (
	widestM    = 50e3
	mostPasses = 3000
)

// farther looks for stations beyond the half-width, and returns how far from
// the road one has to look.
func (d *Drive) farther(g Goal) (Remedy, bool) {
	for widthM := 10e3; widthM <= widestM; widthM += 10e3 {
		if widthM <= d.Corridor.Options.HalfWidthM {
			continue
		}
		wide, ok := d.within(widthM)
		if !ok {
			return Remedy{}, false
		}
		stopsAt, ok := wide.stopsFor(g)
		if !ok {
			continue
		}
		neededM := 0.0
		for _, c := range stopsAt {
			neededM = max(neededM, c.OffsetM)
		}
		neededM = 1000 * math.Ceil(neededM/1000)
		if tight, ok := d.within(neededM); ok && neededM < widthM {
			if nearer, ok := tight.stopsFor(g); ok {
				stopsAt, widthM = nearer, neededM
			}
		}
		return Remedy{HalfWidthM: widthM, Farther: beyond(stopsAt, d.Corridor.Options.HalfWidthM)}, true
	}
	return Remedy{}, false
}

// beyond are the chargers farther off the road than a half-width.
func beyond(chargers []*Charger, halfWidthM float64) (out []*Charger) {
	for _, c := range chargers {
		if c.OffsetM > halfWidthM {
			out = append(out, c)
		}
	}
	return out
}

// fartherText names the stations beyond the half-width.
func (r Remedy) fartherText(u question.Units) string {
	var parts []string
	for _, c := range r.Farther {
		parts = append(parts, fmt.Sprintf("%s is %s off it", SiteName(c.Site), u.Distance(c.OffsetM)))
	}
	return listOf(parts, 3)
}

// within is the drive with the stations within a half-width of the road.
func (d *Drive) within(halfWidthM float64) (*Drive, bool) {
	o := d.Corridor.Options
	o.HalfWidthM = halfWidthM
	c := NewCorridor(d.Corridor.Route, d.Corridor.index, o)
	if len(c.Passes) > mostPasses {
		return nil, false
	}
	return d.otherwise(c, func(*DriveOptions) {})
}

// holds reports whether a goal can be met on a drive with its confidence.
func (d *Drive) holds(g Goal) bool {
	_, ok := d.stopsFor(g)
	return ok
}

// stopsFor are the chargers of a plan that meets a goal with its confidence.
// The excess only rises from the goal's own.
func (d *Drive) stopsFor(g Goal) ([]*Charger, bool) {
	var closed shut
	if g.Confidence > 0 {
		closed = d.shut(g, steadySlackS)
	}
	if d.missesMust(g, closed) {
		return nil, false
	}
	s := NewSpread(d.Car.PlanSpread())
	for {
		problem := d.Problem(g)
		if g.Excess > 0 {
			problem = d.untimed(g, closed)
		}
		plan, err := stops.Solve(problem)
		if err != nil {
			return nil, false
		}
		if excess := s.excess(g.Confidence, len(plan.Stops)+1); g.Confidence > 0 && excess > g.Excess+1e-9 {
			g.Excess = excess
			continue
		}
		out := make([]*Charger, len(plan.Stops))
		for i := range plan.Stops {
			out[i] = &d.Chargers[plan.Stops[i].Charger]
		}
		return out, true
	}
}

package study

import (
	"context"
	"math"
	"slices"

	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
)

// Gain is what one more station at a place would bring, summed over the cases
// of a corridor with every station working, at the least of the confidences.
type Gain struct {
	ChainageM float64
	PowerKW   float64
	Possible  int     // cases that cannot be planned without it
	Minutes   float64 // saved in cases that can be planned either way
	Trips     int     // those cases
	Reserve   float64 // percentage points of charge that the highest reserve rises; a trip that cannot be made counts as a reserve of 0
	Reserves  int     // highest reserves summed: one for each car, day and departure
}

func (g *Gain) add(h Gain) {
	g.Possible += h.Possible
	g.Minutes += h.Minutes
	g.Trips += h.Trips
	g.Reserve += h.Reserve
	g.Reserves += h.Reserves
}

// more orders gains by the cases made possible, then the minutes.
func (g *Gain) more(h *Gain) bool {
	if g.Possible != h.Possible {
		return g.Possible > h.Possible
	}
	return g.Minutes > h.Minutes
}

// candidates are the places tried on a road, at every power.
func (b *BuildAsk) candidates(lengthM float64) []Gain {
	var out []Gain
	for i := 1; float64(i)*b.EveryKM*1000 < lengthM; i++ {
		for _, kw := range b.PowerKW {
			out = append(out, Gain{ChainageM: float64(i) * b.EveryKM * 1000, PowerKW: kw})
		}
	}
	return out
}

// build adds to gains what a station at each candidate would bring to the cases
// of a block. The station stands at the road, fits the car and is in nobody's
// list of stations to avoid. Outages play no part.
func (e *evaluator) build(ctx context.Context, n *numbers, axes *set, gains []Gain) error {
	e.n, e.axes = n, axes
	confidence := slices.Min(axes.confidences) / 100
	before, err := e.standing(confidence)
	if err != nil {
		return err
	}
	passes := make([]trip.Pass, len(gains))
	for i, g := range gains {
		passes[i] = trip.Pass{Site: newSite(n.drive, g.PowerKW), ChainageM: g.ChainageM, Stated: true}
	}
	chargers, err := n.drive.ChargersAt(passes)
	if err != nil {
		return err
	}
	for i := range gains {
		if chargers[i] == nil {
			continue
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		e.n = n.with(*chargers[i])
		after, err := e.standing(confidence)
		if err != nil {
			return err
		}
		gains[i].add(before.gain(after))
	}
	e.n = n
	return nil
}

// newSite is a public site at the road whose plug fits the car.
func newSite(d *trip.Drive, powerKW float64) *stations.Site {
	plug := stations.Connector{DC: true, PowerKW: powerKW}
	if accepts := d.Options.Filter.Accepts; len(accepts) > 0 {
		plug.Type = accepts[0]
		for _, a := range accepts {
			if a.Current() == stations.CurrentDC {
				plug.Type = a
				break
			}
		}
	}
	site := &stations.Site{ID: "new", Name: "new station"}
	for range max(d.Options.Filter.MinStalls, 1) {
		site.Stalls = append(site.Stalls, stations.Stall{Connectors: []stations.Connector{plug}})
	}
	if only := d.Options.Filter.Only; len(only) > 0 {
		site.Operator = only[0]
	}
	return site
}

// with is a block with one more charger.
func (n *numbers) with(c trip.Charger) *numbers {
	d := *n.drive
	at := 0
	for at < len(d.Chargers) && d.Chargers[at].ChainageM <= c.ChainageM {
		at++
	}
	d.Chargers = slices.Insert(slices.Clone(d.Chargers), at, c)
	m := &numbers{drive: &d, goal: n.goal, arriveSoC: n.arriveSoC, spread: n.spread, excesses: map[float64]*stops.Problem{}, coupled: n.coupled, powers: samePowers(&d)}
	m.estimate = m.at(0)
	return m
}

// standing is what the cases of a block come to: minutes by reserve and
// departure, +Inf for a trip that cannot be made, and the highest reserve by
// departure.
type standing struct{ minutes, highest []float64 }

func (e *evaluator) standing(confidence float64) (standing, error) {
	var s standing
	outs := make([]outcome, len(e.axes.departs))
	for _, reserve := range e.axes.reserves {
		for i := range outs {
			outs[i] = outcome{visits: outs[i].visits}
		}
		if err := e.solve(confidence, e.ask(reserve/100, nil), outs); err != nil {
			return s, err
		}
		for i := range outs {
			minutes := outs[i].timeS / 60
			if outs[i].err != nil {
				minutes = math.Inf(1)
			}
			s.minutes = append(s.minutes, minutes)
		}
	}
	for _, depart := range e.axes.departs {
		s.highest = append(s.highest, max(e.frontier(confidence, depart/100, nil), 0))
	}
	return s, nil
}

func (s standing) gain(after standing) Gain {
	var g Gain
	for i, before := range s.minutes {
		switch {
		case math.IsInf(after.minutes[i], 1):
		case math.IsInf(before, 1):
			g.Possible++
		default:
			g.Minutes += before - after.minutes[i]
			g.Trips++
		}
	}
	for i, before := range s.highest {
		g.Reserve += 100 * (after.highest[i] - before)
		g.Reserves++
	}
	return g
}

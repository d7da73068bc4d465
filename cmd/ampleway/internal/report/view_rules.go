package report

import (
	"math"

	"ampleway/route/stops"
	"ampleway/route/trip"
)

// rules gives, for every stop, what to leave with on arriving with more or
// less than planned, around the plan in steps of five percent.
func (w *viewer) rules() [][]RuleView {
	p := w.p
	out := make([][]RuleView, len(p.Stops))
	if len(p.Stops) == 0 {
		return out
	}
	sweep, err := new(stops.Planner).Sweep(p.Drive.Problem(p.Goal))
	if err != nil {
		return out
	}
	for i := range p.Exact.Stops {
		out[i] = w.stopRules(sweep, i)
	}
	return out
}

func (w *viewer) stopRules(sweep *stops.Sweep, i int) []RuleView {
	const stepPct, spreadPct = 5.0, 10.0
	planned := 100 * w.p.Stops[i].ArriveSoC
	var out []RuleView
	add := func(arrivePct float64, isPlan bool) {
		charger := w.p.Exact.Stops[i].Charger
		d, ok := sweep.Decide(charger, arrivePct/100)
		if !ok {
			return
		}
		r := RuleView{Arrive: Arriving(arrivePct / 100), Leave: Leaving(d.LeaveSoC), Planned: isPlan}
		if d.Next != w.next(i) {
			r.Next = w.placeOf(d.Next)
		}
		out = append(out, r)
	}
	written := false
	for pct := stepPct * math.Ceil((planned-spreadPct)/stepPct); pct <= math.Min(planned+spreadPct, 100); pct += stepPct {
		if pct < 0 {
			continue
		}
		if !written && pct >= math.Floor(planned) {
			add(planned, true)
			written = true
			if math.Abs(pct-planned) < 1 {
				continue
			}
		}
		add(pct, false)
	}
	return out
}

// next is where the plan goes after a stop, as the planner counts places.
func (w *viewer) next(i int) int {
	if i+1 < len(w.p.Exact.Stops) {
		return w.p.Exact.Stops[i+1].Charger
	}
	return stops.Destination
}

func (w *viewer) placeOf(node int) string {
	if node < 0 {
		return "destination"
	}
	return trip.SiteName(w.p.Drive.Chargers[node].Site)
}

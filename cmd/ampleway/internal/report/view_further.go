package report

import (
	"fmt"
	"math"

	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route/trip"
)

// FurtherView is what to do, and what happens, when things go otherwise than
// estimated.
type FurtherView struct {
	Drive    int // number of the drive in a visit; 0: a trip alone
	Stops    []FurtherStop
	AnyRules bool // some stop has more than one line
	Risk     string
	Stresses []StressView
	Choices  []string
}

// FurtherStop is what to do at one stop.
type FurtherStop struct {
	Number     int
	Name       string
	Rules      []RuleView
	Always     string // instead of Rules: what to leave with, whatever one arrives with
	Fallback   string
	NoFallback bool
}

// RuleView is one line of a leave rule.
type RuleView struct {
	Arrive, Leave string
	Next          string // where to drive, if not as planned
	Planned       bool   // the line of the plan itself
}

// StressView is a harder day and what comes of it.
type StressView struct {
	What, Outcome string
	Holds         bool
}

// further is nil for a plan that has not been assured. A drive of a visit has
// no risk of its own.
func (w *viewer) further() *FurtherView {
	p := w.p
	if p.Risk == nil && p.Rules == nil {
		return nil
	}
	v := &FurtherView{Drive: w.o.Drive}
	if p.Risk != nil {
		v.Risk = simulatedText(p.Risk, p.Drive.Car, "trips", RiskText(p)) + mealLateText(p)
	}
	for i := range p.Stops {
		stop := FurtherStop{Number: i + 1, Name: trip.SiteName(p.Stops[i].Charger.Site), Rules: w.rules(i)}
		if len(stop.Rules) == 1 {
			stop.Always, stop.Rules = stop.Rules[0].Leave+" all the same", nil
			if p.Stops[i].Meal {
				stop.Always = afterMeal(p.Rules[i][0])
			}
		}
		v.AnyRules = v.AnyRules || len(stop.Rules) > 0
		stop.Fallback, stop.NoFallback = w.fallback(i), p.Fallbacks[i].None
		v.Stops = append(v.Stops, stop)
	}
	for i := range p.Stresses {
		v.Stresses = append(v.Stresses, w.stress(&p.Stresses[i]))
	}
	for i := range p.Choices {
		v.Choices = append(v.Choices, p.Choices[i].Text(w.o.Units))
	}
	return v
}

// rules are the lines of a leave rule that may well be needed.
func (w *viewer) rules(i int) []RuleView {
	var out []RuleView
	rows := w.p.LikelyRules(i)
	for n, r := range rows {
		view := RuleView{Arrive: between(r.FromPct, r.ToPct-1), Leave: fmt.Sprintf("%d %%", r.LeavePct), Planned: r.AsPlanned}
		if n == len(rows)-1 {
			view.Arrive = fmt.Sprintf("%d %% or more", r.FromPct)
		}
		if r.AtOnce() {
			view.Leave = "at once"
		}
		if r.Next != w.next(i) {
			view.Next = r.NextName
		}
		out = append(out, view)
	}
	return out
}

func between(fromPct, toPct int) string {
	const full = 100
	switch {
	case fromPct >= toPct:
		return fmt.Sprintf("%d %%", fromPct)
	case toPct >= full:
		return fmt.Sprintf("%d %% or more", fromPct)
	}
	return fmt.Sprintf("%d to %d %%", fromPct, toPct)
}

// next is where the plan goes after a stop; nil is the destination.
func (w *viewer) next(i int) *trip.Charger {
	if i+1 < len(w.p.Stops) {
		return w.p.Stops[i+1].Charger
	}
	return nil
}

func (w *viewer) fallback(i int) string {
	f := &w.p.Fallbacks[i]
	if f.None {
		return "no other station is within reach. Make sure that this one works before you pass the one before it."
	}
	way := "drive on"
	if f.Back {
		way = "drive back"
	}
	return fmt.Sprintf("%s %s (%s) to %s, reached with %s; you arrive %s than planned%s%s.", way, w.o.Units.Distance(f.DistanceM), span(f.DriveS), wording.The(f.ToName), Arriving(f.ArriveSoC), laterText(f.LateS), mealToCome(w.p, i), anewText(f))
}

// simulatedText says how often the reserve breaks when consumption strays;
// without is said where no spread of it is known, or no probability.
func simulatedText(r *trip.Risk, car *energy.Car, what, without string) string {
	if r.Spread.Trip == 0 && r.Spread.Leg == 0 || r.Simulated == nil {
		return without
	}
	return fmt.Sprintf("%s simulated %s, with consumption straying by %.0f %% from trip to trip and %.0f %% from part to part, %s, and a driver who keeps to the leave rules: %s went below a reserve on the way, %s ran empty%s.",
		thousands(r.Trips), what, 100*r.Spread.Trip, 100*r.Spread.Leg, trip.ProbabilityBasis(car), ofHundred(r.BelowReserve, r.Trips), ofHundred(r.Empty, r.Trips), lateText(r, "; nine of ten took no longer than "))
}

func ofHundred(s trip.Share, trips int) string {
	switch n := math.Round(s.Value * float64(trips)); {
	case n == 0:
		return "none"
	case s.Value < 0.01:
		return fmt.Sprintf("%.0f", n)
	}
	return fmt.Sprintf("%.0f of 100", 100*s.Value)
}

func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d,%03d", n/1000, n%1000)
}

func (w *viewer) stress(s *trip.Stress) StressView {
	v := StressView{What: s.Text(w.o.Units), Holds: s.Holds()}
	switch {
	case s.Holds():
		v.Outcome = fmt.Sprintf("holds; arrive with %s", Arriving(s.ArriveSoC))
		return v
	case !(s.LeastSoC > 0):
		v.Outcome = fmt.Sprintf("would run empty on part %d", s.BreaksLeg+1)
	default:
		v.Outcome = fmt.Sprintf("would go down to %s on part %d", Arriving(s.LeastSoC), s.BreaksLeg+1)
	}
	if s.Plan == nil {
		v.Outcome += "; no other plan was found"
		return v
	}
	v.Outcome += fmt.Sprintf("; another does: %s, %s", count(len(s.Plan.Stops), "stop"), laterText(s.Plan.TimeS-w.p.TimeS))
	return v
}

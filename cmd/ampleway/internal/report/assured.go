package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampleway/route/trip"
)

// assured writes what to do, and what happens, when things go otherwise than
// estimated.
func (t *textWriter) assured(p *trip.Plan) {
	if p.Risk == nil {
		return
	}
	t.sure(p)
	t.rules(p)
	t.fallbacks(p)
	t.hardships(p)
	t.choices(p)
}

func (t *textWriter) sure(p *trip.Plan) {
	t.line("%s", t.strong("How sure this is"))
	t.paragraph(RiskText(p))
	t.line("")
}

// RiskText says what straying consumption breaks.
func RiskText(p *trip.Plan) string {
	r, car := p.Risk, p.Drive.Car
	if r.Spread.Trip == 0 && r.Spread.Leg == 0 {
		return "No spread of consumption is known for this car: the figures hold as far as the estimate does."
	}
	promise := "Planned by the estimate alone."
	switch {
	case r.Simulated == nil && p.Goal.Confidence > 0:
		return fmt.Sprintf("Planned with a margin of %.0f %% in consumption; %s.", trip.MarginPct(p.Goal.Excess), trip.NotKnown(car))
	case r.Simulated == nil:
		return promise + " " + strings.ToUpper(trip.NotKnown(car)[:1]) + trip.NotKnown(car)[1:] + "."
	case p.Goal.Confidence > 0:
		promise = fmt.Sprintf("Planned so that every reserve holds with a probability of %s, judged %s: sized for %s higher consumption.", percent(p.Goal.Confidence), trip.ProbabilityBasis(car), percentUp(p.Goal.Excess))
	}
	return fmt.Sprintf("%s Of %d simulated trips whose consumption strays by %s from trip to trip and %s from leg to leg, %s fall below a reserve somewhere and %s run empty (± is the error of the simulation only)%s.%s%s",
		promise, r.Trips, percent(r.Spread.Trip), percent(r.Spread.Leg), shareText(r.BelowReserve), shareText(r.Empty), lateText(r, "; nine in ten are there after "), mealLateText(p), inTimeText(p))
}

// mealLateText says how often the meal is not had within its hours.
func mealLateText(p *trip.Plan) string {
	if p.Risk.Simulated == nil || p.Risk.MealLate == nil {
		return ""
	}
	return fmt.Sprintf(" In %s the meal begins after its hours.", shareText(*p.Risk.MealLate))
}

// lateText is how long nine in ten simulated trips take at most, after some
// words; empty where none arrives.
func lateText(r *trip.Risk, words string) string {
	if math.IsNaN(r.LateS) {
		return ""
	}
	return words + span(r.LateS)
}

// inTimeText says how many simulated trips keep a wanted arrival, and when to
// leave for nine in ten.
func inTimeText(p *trip.Plan) string {
	if p.Risk.InTime == nil || math.IsNaN(p.Risk.LateS) {
		return ""
	}
	by := p.Goal.ArriveBy
	early := by.Add(-time.Duration(p.Risk.LateS * float64(time.Second)))
	return fmt.Sprintf(" There by %s are %s; for nine in ten leave by about %s. Traffic is not in this.", by.Format("15:04"), shareText(*p.Risk.InTime), early.Format("15:04"))
}

// shareText is "5.1 % (± 0.7)", with the standard error of the simulation.
func shareText(s trip.Share) string {
	return fmt.Sprintf("%.1f %% (± %.1f)", 100*s.Value, 100*s.Error)
}

func percentUp(share float64) string { return fmt.Sprintf("%.0f %%", math.Ceil(100*share-1e-6)) }

func (t *textWriter) rules(p *trip.Plan) {
	if len(p.Stops) == 0 {
		return
	}
	t.line("%s", t.strong("What to leave with, by the gauge on arrival"))
	for i := range p.Stops {
		rows := p.LikelyRules(i)
		for n := range rows {
			lead := ""
			if n == 0 {
				lead = fmt.Sprintf("%d  %s", i+1, trip.SiteName(p.Stops[i].Charger.Site))
			}
			t.hanging(lead, RuleText(p, i, rows, n))
		}
	}
	t.line("")
}

// RuleText is one line of a leave rule of stop i.
func RuleText(p *trip.Plan, i int, rows []trip.LeaveRow, n int) string {
	r := rows[n]
	text := fmt.Sprintf("charge to %d %%", r.LeavePct)
	if r.AtOnce() {
		text = "drive on"
	}
	if p.Stops[i].Meal {
		text = "leave with " + afterMeal(r)
	}
	switch {
	case len(rows) == 1:
		text += ", whatever it shows"
	case n == 0:
		text = fmt.Sprintf("below %d %%: %s", r.ToPct, text)
	case n == len(rows)-1:
		text = fmt.Sprintf("%d %% or more: %s", r.FromPct, text)
	default:
		text = between(r.FromPct, r.ToPct-1) + ": " + text
	}
	if r.NextName != p.Legs[i+1].To {
		text += " and go to " + r.NextName
	}
	return text
}

// afterMeal is what to leave a meal with by a line of its leave rule: nobody is
// sent away before it is over.
func afterMeal(r trip.LeaveRow) string {
	return fmt.Sprintf("at least %d %% after the meal", r.LeavePct)
}

const nameWidth = 22

// hanging writes a name in a column and a text beside it.
func (t *textWriter) hanging(name, text string) {
	lead := []rune(fmt.Sprintf("  %-*s  ", nameWidth, clip(name, nameWidth)))
	width := 0
	fmt.Fprint(t.w, string(lead))
	const glue = "\x00" // keeps a figure and its sign on one line
	for _, word := range strings.Fields(strings.ReplaceAll(text, " %", glue+"%")) {
		word = strings.ReplaceAll(word, glue, " ")
		length := len([]rune(word))
		switch {
		case width == 0:
		case len(lead)+width+1+length > textWidth:
			fmt.Fprint(t.w, "\n", strings.Repeat(" ", len(lead)))
			width = 0
		default:
			fmt.Fprint(t.w, " ")
			width++
		}
		fmt.Fprint(t.w, word)
		width += length
	}
	fmt.Fprintln(t.w)
}

func (t *textWriter) fallbacks(p *trip.Plan) {
	if len(p.Fallbacks) == 0 {
		return
	}
	t.line("%s", t.strong("If the charger is down, taken or closed when you get there"))
	for i := range p.Fallbacks {
		t.hanging(fmt.Sprintf("%d  %s", i+1, trip.SiteName(p.Stops[i].Charger.Site)), t.fallbackText(&p.Fallbacks[i])+mealToCome(p, i))
	}
	t.line("")
}

func (t *textWriter) fallbackText(f *trip.Fallback) string {
	if f.None {
		return "nothing else is within reach: check this one first"
	}
	way := "go on"
	if f.Back {
		way = "go back"
	}
	return fmt.Sprintf("%s %s to %s, arriving with %s; %s%s", way, t.o.Units.Distance(f.DistanceM), f.ToName, Arriving(f.ArriveSoC), laterText(f.LateS), anewText(f))
}

// mealToCome says that a fallback leaves out the meal at its stop, or at one
// after it.
func mealToCome(p *trip.Plan, i int) string {
	if p.Fallbacks[i].None || !slices.ContainsFunc(p.Stops[i:], func(s trip.Stop) bool { return s.Meal }) {
		return ""
	}
	return ", the meal not counted"
}

// anewText warns where what follows a drive cannot be as planned.
func anewText(f *trip.Fallback) string {
	if !f.Anew {
		return ""
	}
	return ", with less than planned: plan the drives after it again"
}

func laterText(s float64) string {
	switch {
	case s >= 30:
		return span(s) + " later"
	case s > -30:
		return "no later"
	}
	return span(-s) + " earlier"
}

func (t *textWriter) hardships(p *trip.Plan) {
	if len(p.Stresses) == 0 {
		return
	}
	t.line("%s", t.strong("On a harder day: arrival and lowest with the same stops and departure charges"))
	for i := range p.Stresses {
		s := &p.Stresses[i]
		t.line("  %-*s %7s %7s  %s", nameWidth, clip(s.Text(t.o.Units), nameWidth), reached(s.ArriveSoC), reached(s.LeastSoC), HardshipText(p, s))
	}
	t.line("")
}

// reached is a state of charge, or that there is none.
func reached(soc float64) string {
	if !(soc >= 0) {
		return "empty"
	}
	return Arriving(soc)
}

// HardshipText says how a harder day ends.
func HardshipText(p *trip.Plan, s *trip.Stress) string {
	switch {
	case s.Holds():
		return "every reserve holds"
	case s.Plan == nil:
		return fmt.Sprintf("breaks a reserve on leg %d; no other plan found", s.BreaksLeg+1)
	}
	return fmt.Sprintf("breaks a reserve on leg %d; planned again: %s, %s", s.BreaksLeg+1, count(len(s.Plan.Stops), "stop"), laterText(s.Plan.TimeS-p.TimeS))
}

func (t *textWriter) choices(p *trip.Plan) {
	if len(p.Choices) == 0 {
		return
	}
	t.line("%s", t.strong("What else you could choose"))
	for i := range p.Choices {
		t.paragraph("- " + p.Choices[i].Text(t.o.Units))
	}
	t.line("")
}

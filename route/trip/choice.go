package trip

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ampleway/data/money"
	"ampleway/route/question"
	"ampleway/route/stops"
)

// Choice is another plan worth knowing, and what it gains and costs over the
// plan at hand.
type Choice struct {
	Kind     ChoiceKind
	Plan     *Plan
	MoreS    float64       // longer than the plan at hand; negative: shorter
	Stops    int           // more stops; negative: fewer
	Headroom float64       // more headroom, as a share; negative: less
	Cost     *money.Amount // dearer; negative: cheaper; nil where the costs cannot be compared
	Slow     SlowDrive
}

// ChoiceKind says what a choice is for.
type ChoiceKind uint8

// The kinds of choices, in the order they are given.
const (
	Slower     ChoiceKind = iota // drive slower where that pays
	FewerStops                   // as few stops as the trip allows
	Cheaper                      // cheaper by what the time it takes is worth
	Surer                        // the reserve holds with SureConfidence
	OtherStops                   // the next best set of stops
)

// SureConfidence is the confidence of the choice Surer.
const SureConfidence = 0.95

const (
	mostChoices = 5
	leastSaving = 0.03 // share of the cost
	leastGainS  = 60.0 // a slower drive must be worth
	nextBest    = 4    // sets of stops looked at
)

// choose fills p.Choices.
func (p *Plan) choose(planner *stops.Planner, closed shut) error {
	p.Choices = nil
	for _, find := range []func(*stops.Planner, shut) (ChoiceKind, *Plan, error){p.slower, p.fewerStops, p.surer, p.cheaper, p.otherStops} {
		kind, plan, err := find(planner, closed)
		if errors.Is(err, stops.ErrGivenUp) {
			continue
		}
		if err != nil {
			return err
		}
		if plan != nil && len(p.Choices) < mostChoices && !p.known(plan) {
			p.Choices = append(p.Choices, p.choice(kind, plan))
		}
	}
	return nil
}

// known reports whether a plan stops where the plan at hand or one of its
// choices does, at the same speed and for about as long.
func (p *Plan) known(other *Plan) bool {
	if p.alike(other) {
		return true
	}
	return slices.ContainsFunc(p.Choices, func(c Choice) bool { return c.Plan.alike(other) })
}

func (p *Plan) alike(other *Plan) bool {
	return slices.EqualFunc(p.Stops, other.Stops, func(a, b Stop) bool {
		return a.Charger.Site == b.Charger.Site && math.Abs(a.LeaveSoC-b.LeaveSoC) < 0.01
	}) && math.Abs(p.DriveS-other.DriveS) < leastGainS
}

func (p *Plan) choice(kind ChoiceKind, other *Plan) Choice {
	c := Choice{
		Kind: kind, Plan: other, Slow: other.Drive.Slow,
		MoreS: other.TimeS - p.TimeS, Stops: len(other.Stops) - len(p.Stops), Headroom: other.Headroom - p.Headroom,
	}
	if more, ok := other.Cost.Minus(p.Cost, p.Goal.Rates); ok {
		c.Cost = &more
	}
	return c
}

// anew is the best plan by asked, without a clock, shown as one for g.
func (d *Drive) anew(planner *stops.Planner, g, asked Goal, closed shut) (*Plan, error) {
	var exact stops.Plan
	asked.brief = true
	if err := planner.Solve(d.untimed(asked, closed), &exact); err != nil {
		return nil, err
	}
	return d.realise(g, &exact)
}

func (p *Plan) fewerStops(planner *stops.Planner, closed shut) (ChoiceKind, *Plan, error) {
	g := p.Goal
	g.Objective = stops.Objective{Goal: stops.FewestStops}
	plan, err := p.Drive.anew(planner, p.Goal, g, closed)
	if err != nil || len(plan.Stops) >= len(p.Stops) {
		return FewerStops, nil, err
	}
	return FewerStops, plan, nil
}

// surer keeps the reserve with SureConfidence, where that can be had and is
// more than the plan at hand gives.
func (p *Plan) surer(planner *stops.Planner, closed shut) (ChoiceKind, *Plan, error) {
	g := p.Goal
	s := NewSpread(p.Drive.Car.PlanSpread())
	if g.part != nil || g.Confidence >= SureConfidence || p.Headroom >= s.excess(SureConfidence, len(p.Legs)) {
		return Surer, nil, nil
	}
	g.Confidence, g.TempByHour, g.Unpolished, g.brief = SureConfidence, nil, true, true // in the air of the plan at hand
	plan, err := p.Drive.Plan(planner, g)
	if errors.Is(err, stops.ErrNoPlan) {
		return Surer, nil, nil
	}
	return Surer, plan, err
}

// cheaper takes the point of the trade-off of time against money at which an
// hour is worth half the cost of the plan at hand.
func (p *Plan) cheaper(planner *stops.Planner, closed shut) (ChoiceKind, *Plan, error) {
	cost, ok := p.Cost.One(p.Goal.Rates)
	if !ok {
		return Cheaper, nil, nil
	}
	g := p.Goal
	g.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: cost.Float() / 2}
	g, err := p.Drive.Priced(g)
	if err != nil {
		return Cheaper, nil, nil // prices that cannot be compared
	}
	plan, err := p.Drive.anew(planner, p.Goal, g, closed)
	if err != nil {
		return Cheaper, nil, err
	}
	if more, ok := plan.Cost.Minus(p.Cost, p.Goal.Rates); !ok || more.Float() > -leastSaving*cost.Float() {
		return Cheaper, nil, nil
	}
	return Cheaper, plan, nil
}

// otherStops is the best plan with another set of stops. One that would be
// sooner by the estimate alone, but later when consumption is what the plan
// must bear, is no choice.
func (p *Plan) otherStops(planner *stops.Planner, closed shut) (ChoiceKind, *Plan, error) {
	g := p.Goal
	g.brief = true
	others, err := planner.Best(p.Drive.untimed(g, closed), nextBest)
	if err != nil {
		return OtherStops, nil, err
	}
	for i := range others {
		plan, err := p.Drive.realise(p.Goal, &others[i].Plan)
		if err != nil {
			return OtherStops, nil, err
		}
		if plan.TimeS >= p.TimeS && !p.known(plan) {
			return OtherStops, plan, nil
		}
	}
	return OtherStops, nil, nil
}

// realise turns an answer of the planner into a plan with just these stops
// and departures.
func (d *Drive) realise(g Goal, exact *stops.Plan) (*Plan, error) {
	estimate := g
	estimate.Excess = 0
	return d.follow(g, d.untimed(estimate, nil), exact.Keep)
}

// Text gives a choice in one line: what is different, gained and paid.
func (c *Choice) Text(u question.Units) string {
	return c.what(u) + ": " + strings.Join(c.differences(), ", ") + "."
}

func (c *Choice) what(u question.Units) string {
	switch c.Kind {
	case FewerStops:
		return "Fewer stops (" + c.names() + ")"
	case Cheaper:
		return "Cheaper (" + c.names() + ")"
	case Surer:
		if !c.Plan.Drive.Car.Calibrated() {
			return fmt.Sprintf("A margin of %.0f %% (%s)", MarginPct(c.Plan.Goal.Excess), c.names())
		}
		return fmt.Sprintf("Reserve %.0f %% sure (%s)", 100*SureConfidence, c.names())
	case Slower:
		return fmt.Sprintf("%s (%s)", c.Slow.text(u), c.names())
	}
	return "Other stops (" + c.names() + ")"
}

func (c *Choice) names() string {
	if len(c.Plan.Stops) == 0 {
		return "no stop"
	}
	var names []string
	for i := range c.Plan.Stops {
		names = append(names, SiteName(c.Plan.Stops[i].Charger.Site))
	}
	return strings.Join(names, ", ")
}

func (c *Choice) differences() []string {
	out := []string{"arrives at the same time"}
	if minutes := math.Round(math.Abs(c.MoreS) / 60); minutes >= 1 {
		out[0] = fmt.Sprintf("arrives %.0f min %s", minutes, pick(c.MoreS < 0, "earlier", "later"))
	}
	if c.Stops != 0 {
		n := max(c.Stops, -c.Stops)
		out = append(out, fmt.Sprintf("%d %s %s", n, pick(n == 1, "stop", "stops"), pick(c.Stops < 0, "fewer", "more")))
	}
	if c.Cost != nil && !c.Cost.WrittenAsNothing() {
		out = append(out, c.Cost.Abs().String()+" "+pick(c.Cost.Micros < 0, "less", "more"))
	}
	return append(out, fmt.Sprintf("headroom %.0f %%", math.Floor(100*c.Plan.Headroom+1e-6)))
}

func pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

package trip

import (
	"errors"
	"slices"
	"strings"

	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/stops"
)

// SlowDrive is how much slower than the road allows each stretch of a plan is
// driven, wherever the road allows FastRoadMS.
type SlowDrive []SlowStretch

// SlowStretch is a part of the road, and by how much it is driven slower.
type SlowStretch struct {
	FromM, ToM float64
	From, To   string
	ByMS       float64 // 0: as fast as the road allows
}

// text is "10 km/h slower from start to Whinfield".
func (s SlowDrive) text(u question.Units) string {
	everywhere := !slices.ContainsFunc(s, func(x SlowStretch) bool { return x.ByMS != s[0].ByMS })
	if everywhere {
		return u.Speed(s[0].ByMS) + " slower"
	}
	var parts []string
	for i := 0; i < len(s); i++ {
		first := i
		for i+1 < len(s) && s[i+1].ByMS == s[first].ByMS {
			i++
		}
		if s[first].ByMS > 0 {
			parts = append(parts, u.Speed(s[first].ByMS)+" slower from "+s[first].From+" to "+s[i].To)
		}
	}
	return strings.Join(parts, ", ")
}

// slowerMS are the speeds tried below what the road allows.
var slowerMS = [...]float64{0, 10 / 3.6, 20 / 3.6}

// slower lets the planner choose the speed of every drive between two stops
// together with the stops: first from two speeds and, where that gains, from
// all.
func (p *Plan) slower(planner *stops.Planner, closed shut) (ChoiceKind, *Plan, error) {
	speeds := [][]energy.Step{p.Drive.road()}
	g := p.Goal
	g.Objective, g.brief = stops.Objective{}, true
	problem := p.Drive.untimed(g, closed)
	g.Fallback = false // the road is the same without
	var exact stops.Plan
	for _, byMS := range slowerMS[1:] {
		t := p.Drive.trial()
		t.faster(-byMS)
		speeds = append(speeds, faster(speeds[0], -byMS))
		drive, err := t.drive(p.Drive, speeds[len(speeds)-1])
		if err != nil {
			return Slower, nil, err
		}
		problem.Road = append(problem.Road, drive.untimed(g, nil).Road[0])
		if err := planner.Solve(problem, &exact); err != nil {
			return Slower, nil, err
		}
		if exact.TimeS > p.Exact.TimeS-leastGainS {
			return Slower, nil, nil
		}
	}
	slow := p.Drive.slowDrive(&exact)
	if !slices.ContainsFunc(slow, func(s SlowStretch) bool { return s.ByMS > 0 }) {
		return Slower, nil, nil
	}
	return p.drivenSlower(planner, closed, slow, speeds)
}

// drivenSlower plans on the road driven at the speeds chosen.
func (p *Plan) drivenSlower(planner *stops.Planner, closed shut, slow SlowDrive, speeds [][]energy.Step) (ChoiceKind, *Plan, error) {
	t := p.Drive.trial()
	drive, err := t.drive(p.Drive, slow.mix(speeds))
	if err != nil {
		return Slower, nil, err
	}
	drive.Slow = slow
	plan, err := drive.again(planner, p.Goal, closed)
	if errors.Is(err, stops.ErrNoPlan) || errors.Is(err, stops.ErrGivenUp) {
		return Slower, nil, nil
	}
	if err != nil || plan.TimeS > p.TimeS-leastGainS {
		return Slower, nil, err
	}
	return Slower, plan, nil
}

// slowDrive reads the speed of each drive from a plan with speed options.
func (d *Drive) slowDrive(exact *stops.Plan) SlowDrive {
	var out SlowDrive
	from, fromM := d.placeName(nil, true), 0.0
	for i := range exact.Stops {
		c := &d.Chargers[exact.Stops[i].Charger]
		out = append(out, SlowStretch{fromM, c.ChainageM, from, SiteName(c.Site), slowerMS[exact.Stops[i].Option]})
		from, fromM = SiteName(c.Site), c.ChainageM
	}
	return append(out, SlowStretch{fromM, d.Profile.LengthM(), from, d.placeName(nil, false), slowerMS[exact.Option]})
}

// mix takes each step at the speed of its stretch.
func (s SlowDrive) mix(speeds [][]energy.Step) []energy.Step {
	out := slices.Clone(speeds[0])
	atM, stretch := 0.0, 0
	for i := range out {
		middleM := atM + out[i].LengthM/2
		for stretch+1 < len(s) && middleM > s[stretch].ToM {
			stretch++
		}
		out[i] = speeds[slices.Index(slowerMS[:], s[stretch].ByMS)][i]
		atM += out[i].LengthM
	}
	return out
}

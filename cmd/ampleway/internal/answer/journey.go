package answer

import (
	"math"
	"slices"
	"strconv"

	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/route/earth"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Journey is a plan for one drive or several, with stays between them.
type Journey struct {
	*trip.JourneyPlan
	Case int // its number, where several are compared
}

// Alone is a drive as a journey of one.
func Alone(p *trip.Plan) Journey {
	return Journey{JourneyPlan: &trip.JourneyPlan{Plans: []*trip.Plan{p}, Risk: p.Risk}}
}

// Journeys is the journey itself.
func (j Journey) Journeys() []Journey { return []Journey{j} }

func (j Journey) last() *trip.Plan { return j.Plans[len(j.Plans)-1] }

// timeS is from the first departure to the last arrival.
func (j Journey) timeS() float64 {
	sum := 0.0
	for _, p := range j.Plans {
		sum += p.TimeS
	}
	for _, s := range j.Stays {
		sum += s.TimeS
	}
	return sum
}

func (j Journey) cost() (sum money.Sum) {
	for _, p := range j.Plans {
		sum.AddSum(p.Cost)
	}
	return sum
}

// stops counts those of all drives.
func (j Journey) stops() int {
	sum := 0
	for _, p := range j.Plans {
		sum += len(p.Stops)
	}
	return sum
}

func (j Journey) drives() []*trip.Drive {
	out := make([]*trip.Drive, len(j.Plans))
	for i, p := range j.Plans {
		out[i] = p.Drive
	}
	return out
}

// endsAtStart reports whether drives end where they began.
func endsAtStart(drives []*trip.Drive) bool {
	const sameM = 500.0
	first, last := drives[0].Corridor.Route, drives[len(drives)-1].Corridor.Route
	a, b := first.Point(0), last.Point(last.Len()-1)
	return len(drives) > 1 && earth.DistanceM(a.Lon, a.Lat, b.Lon, b.Lat) < sameM
}

// saidOnce are the sentences of the drives, each said once: what does not hold
// for all of them says for which.
func (j Journey) saidOnce(of func(*trip.Plan) []string) []string {
	all := make([][]string, len(j.Plans))
	for i, p := range j.Plans {
		all[i] = of(p)
	}
	var out []string
	for i, list := range all {
		for _, text := range list {
			switch {
			case slices.Contains(out, text):
			case !slices.ContainsFunc(all, func(other []string) bool { return !slices.Contains(other, text) }):
				out = append(out, text)
			default:
				out = append(out, ofDrive(i, text))
			}
		}
	}
	return out
}

func assumptions(j Journey, u question.Units) []string {
	out := j.saidOnce(func(p *trip.Plan) []string { return p.Assumptions(u) })
	if len(j.Plans) > 1 {
		out = slices.DeleteFunc(out, func(s string) bool { return s == energy.ElectricianDecides })
		out = append(out, wholeRest(j))
	}
	return out
}

// cautions belong under every journey that a person reads.
func cautions(j Journey) []string {
	out := slices.Clone(trip.Cautions)
	circuit := len(j.Plans) > 1 && j.Plans[0].Goal.Night != nil
	for i := range j.Stays {
		circuit = circuit || j.Stays[i].Plug.AC
	}
	if circuit {
		out = append(out, energy.ElectricianDecides)
	}
	return out
}

// mostFirst is how many warnings stand before all else.
const mostFirst = 3

// Tree says a journey.
func (j Journey) Tree(o Options) *Answer {
	a := &Answer{Title: journeyName(j.drives()), About: aboutJourney(j, o)}
	a.Number, a.Rest = headline(j)
	all := warnings(j, o.Units)
	n := min(len(all), mostFirst)
	a.First = all[:n]
	for i, p := range j.Plans {
		d := driveTeller{p: p, o: o, i: i, of: j}
		a.Parts = append(a.Parts, d.parts()...)
		if i < len(j.Stays) {
			a.Parts = append(a.Parts, stayPart(j, i))
		}
	}
	a.Parts = append(a.Parts, j.otherwise(o))
	if len(all) > n {
		a.Parts = append(a.Parts, Part{Title: titles.alsoLook, List: all[n:]})
	}
	a.Assumptions, a.Cautions, a.Words, a.Credits = assumptions(j, o.Units), cautions(j), words(j), trip.Credits(j.Plans...)
	return a
}

// otherwise is what holds for the whole journey when things go otherwise than
// estimated.
func (j Journey) otherwise(o Options) Part {
	out := Part{Class: "otherwise", Later: true, Title: titles.otherwise}
	if j.Risk == nil && j.Plans[0].Rules == nil {
		return Part{Later: true}
	}
	out.Parts = append(out.Parts, Part{Text: []string{gaugeFalls}, Only: OnScreen | OnPaper})
	var days *Table
	var choices []string
	for n, p := range j.Plans {
		for i := range p.Stresses {
			if days == nil {
				days = &Table{Head: harderDayHead, Align: "lrrw"}
			}
			s := &p.Stresses[i]
			days.Add(j.of(n, s.Text(o.Units)), reached(s.ArriveSoC), reached(s.LeastSoC), harderDayText(p, s))
		}
		for i := range p.Choices {
			choices = append(choices, j.of(n, p.Choices[i].Text(o.Units)))
		}
	}
	if days != nil {
		out.Parts = append(out.Parts, Part{Title: titles.harderDay, Table: days})
	}
	if j.Risk != nil {
		out.Parts = append(out.Parts, Part{Title: riskTitle(j.Risk), Text: []string{riskText(j)}})
	}
	if len(choices) > 0 {
		out.Parts = append(out.Parts, Part{Title: titles.choices, List: choices, Only: OnScreen | InText})
	}
	return out
}

func stayPart(j Journey, i int) Part {
	s := &j.Stays[i]
	return Part{Class: "stay", Title: stayTitle(s), Text: []string{stayText(j, i)}}
}

// driveTeller says one drive of a journey.
type driveTeller struct {
	p  *trip.Plan
	o  Options
	i  int
	of Journey
}

// parts are those of a drive; where there are several they are one section.
func (d *driveTeller) parts() []Part {
	out := []Part{
		{Table: d.glance(), Only: InText},
		d.road(),
		{Class: "steps", Title: titles.steps, Parts: append(d.steps(), Part{Quiet: []string{chargeCaption}, Only: d.drawn()})},
	}
	if d.o.Rows {
		out = append(out, Part{Title: titles.legs, Table: d.legs(), Only: InText})
	}
	if len(d.of.Plans) == 1 {
		return out
	}
	return []Part{{Class: "drive", Title: driveTitle(d.of, d.i), Text: given(driveText(d.p), d.p.FuelText(d.o.Units)), Parts: out}}
}

// glance is the drive as a table, one line a place.
func (d *driveTeller) glance() *Table {
	p, u := d.p, d.o.Units
	t := &Table{Head: glanceHead(u), Align: "rrlrrl"}
	t.Add("0", at(p, 0), p.Legs[0].From, "", settingOut(p), "")
	for i := range p.Stops {
		s := &p.Stops[i]
		t.Add(u.Chainage(s.Charger.ChainageM), at(p, s.ArriveS), strconv.Itoa(i+1)+"  "+trip.SiteName(s.Charger.Site), ArrivingStop(p, i), LeavingStop(p, i), span(s.DwellS))
	}
	t.Add(u.Chainage(p.Drive.Profile.LengthM()), at(p, p.TimeS), p.Legs[len(p.Legs)-1].To, strong(Arriving(p.ArriveSoC)), "", "")
	return t
}

// road is what the battery does along the road, as pictures and figures.
func (d *driveTeller) road() Part {
	return Part{Class: "road", Title: titles.battery, Only: OnScreen | OnPaper, Parts: []Part{
		{Class: "profile", Figure: &Figure{Draw: d.profile, Caption: profileCaption}},
		{Class: "map", Figure: &Figure{Draw: d.roadMap, Caption: mapCaption(d.o.Credit)}},
		{Class: "scroll", Title: titles.legs, Table: d.legs(), Only: OnScreen},
	}}
}

func (d *driveTeller) legs() *Table {
	p, u := d.p, d.o.Units
	t := &Table{Head: legsHead}
	for i := range p.Legs {
		l := &p.Legs[i]
		t.Rows = append(t.Rows, Row{
			Cells:  []string{strconv.Itoa(i+1) + "  " + l.To, u.Distance(l.DistanceM), span(l.TimeS), d.departs(i), Arriving(l.ArriveSoC), Arriving(l.LeastSoC), margin(l.Headroom), margin(l.ToEmpty)},
			Strong: d.closest(i),
		})
	}
	return t
}

// closest reports whether a leg is the one that comes closest to empty.
func (d *driveTeller) closest(leg int) bool { return len(d.p.Legs) > 1 && leg == d.p.ToEmptyLeg }

// departs is what a leg begins with.
func (d *driveTeller) departs(leg int) string {
	if leg == 0 {
		return settingOut(d.p)
	}
	return LeavingStop(d.p, leg-1)
}

// steps are the start, the stops and the destination.
func (d *driveTeller) steps() []Part {
	p := d.p
	out := []Part{{Class: "step", When: at(p, 0), Title: capital(p.Legs[0].From), Text: []string{setOutText(p)}}}
	for i := range p.Stops {
		out = append(out, d.step(i))
	}
	last := &p.Legs[len(p.Legs)-1]
	return append(out, Part{Class: "step", When: at(p, p.TimeS), Title: capital(last.To), Text: []string{driveThen(last, d.o.Units) + endText(p)}})
}

// mostDrawn is how many stops of a journey have a picture each on paper.
const mostDrawn = 4

// drawn is where the stops have pictures.
func (d *driveTeller) drawn() Medium {
	if d.of.stops() <= mostDrawn {
		return OnScreen | OnPaper
	}
	return OnScreen
}

func (d *driveTeller) step(i int) Part {
	p := d.p
	s := &p.Stops[i]
	out := Part{
		Class: "step", When: at(p, s.ArriveS), Mark: strconv.Itoa(i + 1), Title: trip.SiteName(s.Charger.Site),
		Text:  given(driveThen(&p.Legs[i], d.o.Units)+stopText(p, i), p.MealText(i)),
		Quiet: []string{stationText(s, d.o.Units)},
	}
	if why := whyLeave(p, i); why != "" {
		out.Parts = append(out.Parts,
			Part{Class: "power", Figure: &Figure{Draw: d.charge(i), Caption: why, Fold: titles.inFigures, Table: d.powers(i)}, Only: d.drawn()},
			Part{Quiet: []string{why}, Only: InText})
	}
	out.Parts = append(out.Parts, d.ifOtherwise(i))
	return out
}

// ifOtherwise is what to do at a stop when things go otherwise.
func (d *driveTeller) ifOtherwise(i int) Part {
	p := d.p
	out := Part{Class: "if", Later: true}
	if i < len(p.Fallbacks) {
		out.Text = append(out.Text, fallbackText(p, i, d.o.Units))
	}
	if i >= len(p.Rules) {
		return out
	}
	rows := p.LikelyRules(i)
	if len(rows) == 1 {
		out.Text = append(out.Text, alwaysLeave(p, i))
		return out
	}
	out.Table = &Table{Head: ruleHead, Align: "lw"}
	for n, r := range rows {
		out.Table.Rows = append(out.Table.Rows, Row{Cells: []string{reachedWith(rows, n), leaveBy(p, i, r)}, Strong: r.AsPlanned})
	}
	return out
}

// lowestDrive is the drive that comes closest to a measure.
func (j Journey) lowestDrive(of func(*trip.Plan) float64) int {
	least, at := math.Inf(1), 0
	for i, p := range j.Plans {
		if v := of(p); v < least {
			least, at = v, i
		}
	}
	return at
}

package answer

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"ampleway/data/wording"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"
	"ampleway/stations"
)

// All that is said of journeys: another language needs these again, and the
// sentences of package trip.

var titles = struct {
	alsoLook, rests, care, words, credits, otherwise, harderDay, confidence, margin, choices, battery, steps, legs, inFigures string
}{
	alsoLook: "Look at this as well", rests: "What this rests on", care: "Take care", words: "Words", credits: "Sources of the data",
	otherwise: "If it goes differently", harderDay: "On a harder day, with the same stops and departure charges", confidence: "Confidence", margin: "Margin", choices: "What else you could choose",
	battery: "The battery along the road", steps: "Step by step", legs: "Leg by leg", inFigures: "The charge in figures",
}

var (
	harderDayHead = []string{"The day", "arrive", "lowest", "outcome"}
	legsHead      = []string{"To", "Distance", "Time", "Leave", "Arrive", "Lowest", "Headroom", "To empty"}
	ruleHead      = []string{"Reached with", "leave with"}
	powerHead     = []string{"minute", "battery", "power"}
)

const (
	gaugeFalls     = emphasis + "The gauge falls faster than this says:" + plain + " slow down by a tenth, and stop earlier rather than later. Figures for leaving allow for a gauge that rounds."
	profileCaption = "Upright pieces are stops, below the dashed line is the reserve. “To empty”: how much more than estimated the car could use on that part before the battery is empty; the shaded part has the least."
	chargeCaption  = "The pictures of the stops: shaded is what you take, dotted what staying would bring; the marks along the top are the battery in percent."
)

func glanceHead(u question.Units) []string {
	return []string{u.DistanceUnit(), "time", "place", "arrive", "leave", "stop"}
}

func mapCaption(credit string) string {
	text := "The line is thinner where the figure to empty is smaller, and dashed where it is smallest. North is up."
	if credit != "" {
		text += " Pictures: " + credit + "."
	}
	return text
}

// words explains those that a reader may not know.
func words(j Journey) []string {
	text := "A " + strong("kWh") + " is an amount of energy, as on an electricity bill; a " + strong("kW") + " is how fast it flows: 60 kW for one minute is 1 kWh. The " +
		strong("reserve") + " is what you never want to use up. A " + strong("bay") + " is a place for one car at a station."
	var plugs []string
	for _, p := range j.Plans {
		for i := range p.Stops {
			if plug := string(p.Stops[i].Charger.Offer.Connector); !slices.Contains(plugs, plug) {
				plugs = append(plugs, plug)
				text += " " + strong(plug) + " is a shape of charging plug that your car takes."
			}
		}
	}
	return []string{text, "Planned with ampleway. An estimate, not a promise: the driver decides."}
}

// The journey as a whole.

// journeyName is where drives lead.
func journeyName(drives []*trip.Drive) string {
	name := drives[0].Corridor.Route.Name
	switch {
	case len(drives) == 1:
		return name
	case !endsAtStart(drives):
		return name + " and on"
	case len(drives) == 2:
		return name + ", there and back"
	}
	return name + " and on, and back"
}

// headline is the first sentence about a journey: the number that matters, and
// the rest of it.
func headline(j Journey) (number, rest string) {
	p := j.last()
	number = journeyEnd(j)
	if len(j.Plans) == 1 {
		rest = fmt.Sprintf(" after %s: %s and %s of driving.", span(p.TimeS), count(len(p.Stops), "charging stop"), span(p.DriveS))
	} else {
		lowest := j.Plans[j.lowestDrive(func(p *trip.Plan) float64 { return p.ArriveSoC })]
		rest = fmt.Sprintf(" after %s: %s, %s in all; no drive ends with less than %s.", span(j.timeS()), count(len(j.Plans), "drive"), count(j.stops(), "charging stop"), Arriving(lowest.ArriveSoC))
	}
	by := j.Plans[0].Goal.ArriveBy
	leave, clocked := j.Plans[0].At(0)
	if by.IsZero() || !clocked {
		return number, rest
	}
	be := strings.ToLower(number[:1]) + number[1:]
	if len(j.Plans) > 1 {
		be = "be " + be
	}
	there := at(j.Plans[0], j.Plans[0].TimeS)
	return "Leave home at " + leave.Format("15:04"), fmt.Sprintf("%s to be there by %s (at %s) and %s%s", otherDay(leave, by), by.Format("15:04"), there, be, rest)
}

// otherDay names a day that is not that of another time.
func otherDay(t, other time.Time) string {
	if t.YearDay() == other.YearDay() {
		return ""
	}
	return t.Format(" on Monday")
}

// journeyEnd is what is left at the end of it all.
func journeyEnd(j Journey) string {
	left := Arriving(j.last().ArriveSoC)
	switch {
	case len(j.Plans) == 1:
		return "Arrive with " + left
	case endsAtStart(j.drives()):
		return "Home again with " + left
	}
	return "At the end with " + left
}

func aboutJourney(j Journey, o Options) []string {
	first, last := j.Plans[0], j.last()
	distanceM, chargeS, offRoadS, charged := 0.0, 0.0, 0.0, 0.0
	for _, p := range j.Plans {
		distanceM, chargeS, offRoadS, charged = distanceM+p.DistanceM, chargeS+p.ChargeS, offRoadS+dwellS(p), charged+p.ChargedKWh
	}
	text := fmt.Sprintf("%s in %s that leaves with %s", o.Units.Distance(distanceM), wording.A(first.Drive.Car.Name), settingOut(first))
	if leave, clocked := first.At(0); clocked {
		arrive, _ := last.At(last.TimeS)
		text += leave.Format(" on Monday 2 January 2006 at 15:04") + " and is there at " + arrive.Format("15:04") + otherDay(arrive, leave)
	}
	out := []string{text + "."}
	if j.stops() > 0 {
		out = append(out, fmt.Sprintf("Charging takes %s of the %s off the road and puts %.0f kWh into the battery, for %s.", span(chargeS), span(offRoadS), charged, costText(j)))
	}
	if len(j.Plans) == 1 {
		out = append(out, first.FuelText(o.Units))
	}
	return given(append(out, headroomText(j), o.Note)...)
}

// costText is what the stops cost, in the currencies of all drives.
func costText(j Journey) string {
	if len(j.Plans) == 1 {
		return j.Plans[0].CostText()
	}
	cost := j.cost()
	return cost.About("stop")
}

// headroomText is about the drive that decides.
func headroomText(j Journey) string {
	i := j.lowestDrive(func(p *trip.Plan) float64 { return p.Headroom })
	p := j.Plans[i]
	least, until := "none", "only if the car uses no more than this estimate"
	if p.Headroom >= 0.005 {
		least, until = margin(p.Headroom), "until the car uses that much more than this estimate"
	}
	holds := "holds"
	if p.Goal.ReserveSoC != p.Goal.ArriveReserveSoC {
		holds = "hold"
	}
	nearest := j.lowestDrive(func(p *trip.Plan) float64 { return p.ToEmpty })
	empty := j.Plans[nearest]
	return fmt.Sprintf("Headroom: %s (%s). %s %s %s. To empty: %s (%s).",
		least, legOf(j, i, p.HeadroomLeg), capital(p.Goal.ReserveText()), holds, until, margin(empty.ToEmpty), legOf(j, nearest, empty.ToEmptyLeg))
}

// legOf names a leg of a journey.
func legOf(j Journey, drive, leg int) string {
	text := fmt.Sprintf("leg %d, to %s", leg+1, wording.The(j.Plans[drive].Legs[leg].To))
	if len(j.Plans) > 1 {
		text = fmt.Sprintf("drive %d, ", drive+1) + text
	}
	return text
}

// warnings are what to look at before setting out, the gravest first.
func warnings(j Journey, u question.Units) []string {
	out := []string{}
	for grave := range trip.Grave(trip.Graves) {
		out = append(out, j.saidOnce(func(p *trip.Plan) (texts []string) {
			for _, w := range p.Warnings(u) {
				if w.Grave == grave {
					texts = append(texts, w.Text)
				}
			}
			return texts
		})...)
	}
	return out
}

func ofDrive(i int, text string) string { return fmt.Sprintf("Drive %d: %s", i+1, text) }

// of says which drive a text is about, where there are several.
func (j Journey) of(i int, text string) string {
	if len(j.Plans) == 1 {
		return text
	}
	return ofDrive(i, text)
}

// wholeRest says what several drives are planned for.
func wholeRest(j Journey) string {
	if j.Plans[0].Goal.Confidence == 0 {
		return "The whole journey is planned by the estimate alone: on a day that takes more, follow the car's gauge and charge longer, or plan with a higher reserve."
	}
	held := "held at one confidence"
	if !j.Plans[0].Drive.Car.Calibrated() {
		held = "planned with one margin"
	}
	return "The whole journey is " + held + ": every leg of every drive. Weather and traffic are taken to be others on each drive; in a stay the car takes what its plug gives."
}

func stayTitle(s *trip.StayPlan) string { return "The stay: " + span(s.TimeS) }

func stayText(j Journey, i int) string {
	s := &j.Stays[i]
	text := ""
	if from, clocked := j.Plans[i].At(j.Plans[i].TimeS); clocked {
		to, _ := j.Plans[i+1].At(0)
		text = fmt.Sprintf("From %s to %s%s. ", from.Format("15:04"), to.Format("15:04"), otherDay(to, from))
	}
	if s.BatteryKWh < 0.05 {
		return text + fmt.Sprintf("With %s: nothing is charged, so %s stays.", s.Plug.Text(), Arriving(s.ArriveSoC))
	}
	return text + fmt.Sprintf("With %s: from %s to %s, %.1f kWh into the battery.", s.Plug.Text(), Arriving(s.ArriveSoC), Arriving(s.LeaveSoC), s.BatteryKWh)
}

// One drive of several.

func driveTitle(j Journey, i int) string {
	return ofDrive(i, strings.TrimSpace(j.Plans[i].Drive.Corridor.Route.Name))
}

func driveText(p *trip.Plan) string {
	text := ""
	if t, clocked := p.At(0); clocked {
		text = t.Format("Monday 2 January 2006. ")
	}
	number, rest := headline(Alone(p))
	return text + strong(number) + rest
}

// The steps of a drive.

func setOutText(p *trip.Plan) string {
	return "Set out with " + strong(settingOut(p)) + " in the battery."
}

func driveThen(l *trip.Leg, u question.Units) string {
	return fmt.Sprintf("Drive %s, %s. ", u.Distance(l.DistanceM), span(l.TimeS))
}

func endText(p *trip.Plan) string { return "Arrive with " + strong(Arriving(p.ArriveSoC)) + "." }

// stopText is what to do at a stop.
func stopText(p *trip.Plan, i int) string {
	s := &p.Stops[i]
	shows := "The battery should show " + strong(ArrivingStop(p, i))
	if text := ifLess(p, i); text != "" {
		return shows + ". " + text
	}
	when := "when it shows " + strong(LeavingStop(p, i))
	if s.Meal {
		when = "after the meal, with at least " + strong(LeavingStop(p, i))
	}
	if t, clocked := p.At(s.LeaveS); clocked {
		when += ", about " + t.Format("15:04")
	}
	return fmt.Sprintf("%s: plug in (%s), charge about %s, and go on %s.", shows, s.Charger.Offer.Connector, span(s.ChargeS), when)
}

// ifLess is what to do at stop i where nothing is charged when all goes as
// estimated: it is in the plan for a day that takes more. It is empty for every
// other stop.
func ifLess(p *trip.Plan, i int) string {
	s := &p.Stops[i]
	if s.Meal || s.ChargeS > 0 || s.DwellS > s.DetourS+s.OverheadS+s.WaitS+1 {
		return ""
	}
	enough := int(math.Round(100 * s.ArriveSoC))
	if i < len(p.Rules) {
		if n := slices.IndexFunc(p.Rules[i], trip.LeaveRow.AtOnce); n >= 0 {
			enough = p.Rules[i][n].FromPct
		}
	}
	return fmt.Sprintf("Charge here only if the battery shows less than %d %%; as estimated there is enough to drive on.", enough)
}

// stationText is who runs a station, what it has and what it costs.
func stationText(s *trip.Stop, u question.Units) string {
	site, offer := s.Charger.Site, &s.Charger.Offer
	where := "beside the road"
	if s.Charger.OneWayM >= 100 {
		where = u.Distance(s.Charger.OneWayM) + " off the road"
	}
	out := []string{fmt.Sprintf("%s: %s of %.0f kW %s, %s.", cmp.Or(runBy(site), "Operator not known"), count(offer.Stalls, "bay"), offer.PowerKW, offer.Connector, where)}
	if site.Address != "" {
		out = append(out, "Address: "+site.Address+".")
	}
	if site.Phone != "" {
		out = append(out, "Telephone: "+site.Phone+".")
	}
	if site.Hours != "" {
		out = append(out, "Open "+site.Hours+".")
	}
	if len(site.Amenities) > 0 {
		out = append(out, "There: "+strings.Join(site.Amenities, ", ")+".")
	}
	if s.Cost != nil && s.BatteryKWh > 0 {
		out = append(out, fmt.Sprintf("About %s for %.1f kWh.", s.Cost, s.BatteryKWh))
	}
	return strings.Join(out, " ")
}

// runBy names who runs a site and whose card or app opens it, as far as is known.
func runBy(site *stations.Site) string {
	switch {
	case site.Network == "" || site.Network == site.Operator:
		return site.Operator
	case site.Operator == "":
		return site.Network + " (network)"
	}
	return site.Operator + ", network " + site.Network
}

// whoAndWhere is who runs a site, where it stands and whom to call, as far as is
// known.
func whoAndWhere(site *stations.Site) string {
	known := given(runBy(site), site.Address)
	if site.Phone != "" {
		known = append(known, "telephone "+site.Phone)
	}
	return strings.Join(known, ", ")
}

// whyLeave says why a stop ends where it does.
func whyLeave(p *trip.Plan, i int) string {
	const just = 1e-4
	if ifLess(p, i) != "" {
		return ""
	}
	s, onward, leave := &p.Stops[i], &p.Legs[i+1], LeavingStop(p, i)
	ceiling := p.Goal.CeilingSoC
	if ceiling == 0 {
		ceiling = 1
	}
	if s.LeaveSoC > ceiling-just {
		return fmt.Sprintf("Leave with %s: that is as full as you allow.", leave)
	}
	if s.Meal {
		return fmt.Sprintf("Leave with at least %s when the meal is over; the battery charges meanwhile.", leave)
	}
	last := i == len(p.Stops)-1
	reserve := p.Goal.LegReserveText(last)
	enough := onward.ArriveSoC < onward.ReserveSoC+just || onward.LeastSoC < math.Min(p.Goal.ReserveSoC, p.Goal.ArriveReserveSoC)+just
	power := powerText(s)
	switch {
	case enough && last:
		return fmt.Sprintf("Leave with %s: it is enough to arrive with %s. %s", leave, reserve, power)
	case enough && p.Stops[i+1].PowerInKW > s.PowerOutKW:
		return fmt.Sprintf("Leave with %s: it is enough to reach %s with %s. Here power has fallen from %.0f to %.0f kW, there it begins at %.0f kW, so more is quicker there.",
			leave, onward.To, reserve, s.PowerInKW, s.PowerOutKW, p.Stops[i+1].PowerInKW)
	case enough:
		return fmt.Sprintf("Leave with %s: it is enough to reach %s with %s. %s", leave, onward.To, reserve, power)
	}
	return fmt.Sprintf("Leave with %s: %s. %s", leave, whyMore(p, i), power)
}

// marginSlack is how much more headroom than was planned for a leg may have and
// still owe its departure to that margin: about one percent of the battery.
const marginSlack = 0.05

// whyMore says why a stop ends with more than the leg after it takes by the
// estimate.
func whyMore(p *trip.Plan, i int) string {
	s, onward := &p.Stops[i], &p.Legs[i+1]
	last := i == len(p.Stops)-1
	reach, more := "arrive", "more than enough to arrive"
	if !last {
		reach, more = "reach "+onward.To, "more than it takes to reach "+onward.To
	}
	switch {
	case last && p.ForLater():
		return more + ", because what is left counts for the drives after this one"
	case p.Goal.Excess > 0 && onward.Headroom < p.Goal.Excess+marginSlack:
		return fmt.Sprintf("it is enough to %s with %s even at %s higher consumption", reach, p.Goal.LegReserveText(last), margin(onward.Headroom))
	case !last && p.Goal.Objective.Goal == stops.LeastTime && s.PowerOutKW >= p.Stops[i+1].PowerInKW:
		return more + ", because charging here is quicker than there until then"
	}
	return more + "; no better plan was found"
}

// powerText says how power goes during a stop.
func powerText(s *trip.Stop) string {
	in, out := fmt.Sprintf("%.0f kW", s.PowerInKW), fmt.Sprintf("%.0f kW", s.PowerOutKW)
	if in == out {
		return "Power is " + in + " when you begin and when you leave."
	}
	return fmt.Sprintf("Power begins at %s and has come to %s when you leave.", in, out)
}

// When things go otherwise.

// fallbackText is what to do where stop i fails.
func fallbackText(p *trip.Plan, i int, u question.Units) string {
	f := &p.Fallbacks[i]
	lead := strong("If it cannot charge you:") + " "
	if f.None {
		return lead + "nothing else is within reach. Make sure that this one works before you pass the one before it."
	}
	way := "go on"
	if f.Back {
		way = "go back"
	}
	text := fmt.Sprintf("%s %s (%s) to %s, arriving with %s; you end the drive %s than planned", way, u.Distance(f.DistanceM), span(f.DriveS), wording.The(f.ToName), Arriving(f.ArriveSoC), laterText(f.LateS))
	if slices.ContainsFunc(p.Stops[i:], func(s trip.Stop) bool { return s.Meal }) {
		text += ", the meal not counted"
	}
	if f.Anew {
		text += ", with less than planned: plan the drives after it again"
	}
	return lead + text + "."
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

// alwaysLeave is a leave rule of one line.
func alwaysLeave(p *trip.Plan, i int) string {
	return strong("Reached with more or less than planned:") + " leave with " + leaveBy(p, i, p.Rules[i][0]) + " all the same."
}

// reachedWith is when line n of a leave rule holds.
func reachedWith(rows []trip.LeaveRow, n int) string {
	r := rows[n]
	text := between(r.FromPct, r.ToPct-1)
	switch n {
	case 0:
		text = fmt.Sprintf("below %d %%", r.ToPct)
	case len(rows) - 1:
		text = fmt.Sprintf("%d %% or more", r.FromPct)
	}
	if r.AsPlanned {
		text += " (the plan)"
	}
	return text
}

func between(fromPct, toPct int) string {
	if fromPct >= toPct {
		return fmt.Sprintf("%d %%", fromPct)
	}
	return fmt.Sprintf("%d to %d %%", fromPct, toPct)
}

// leaveBy is what a line of a leave rule says. Nobody is sent away before a
// meal is over.
func leaveBy(p *trip.Plan, i int, r trip.LeaveRow) string {
	text := fmt.Sprintf("%d %%", r.LeavePct)
	switch {
	case p.Stops[i].Meal:
		text = fmt.Sprintf("at least %d %% after the meal", r.LeavePct)
	case r.AtOnce():
		text = "what it shows: drive on"
	}
	if r.NextName != p.Legs[i+1].To {
		text += ", and go to " + r.NextName
	}
	return text
}

// riskTitle promises no confidence where no probability is known.
func riskTitle(r *trip.Risk) string {
	if r.Simulated == nil {
		return titles.margin
	}
	return titles.confidence
}

// riskText says what straying consumption breaks.
func riskText(j Journey) string {
	r, first := j.Risk, j.Plans[0]
	car, g := first.Drive.Car, &first.Goal
	if r.Spread.Trip == 0 && r.Spread.Leg == 0 {
		return "No spread of consumption is known for this car: the figures hold as far as the estimate does."
	}
	promise := "Planned by the estimate alone."
	switch {
	case r.Simulated == nil && g.Confidence > 0:
		return fmt.Sprintf("Planned with a margin of %.0f %% in consumption; %s.", trip.MarginPct(g.Excess), trip.NotKnown(car))
	case r.Simulated == nil:
		return promise + " " + capital(trip.NotKnown(car)) + "."
	case g.Confidence > 0:
		promise = fmt.Sprintf("Planned so that every reserve holds with a probability of %s, judged %s: sized for %s higher consumption.", percent(g.Confidence), trip.ProbabilityBasis(car), percentUp(g.Excess))
	}
	journeys := "trips"
	if len(j.Plans) > 1 {
		journeys = "journeys"
	}
	text := fmt.Sprintf("%s Of %d simulated %s whose consumption strays by %s from drive to drive and %s from leg to leg, %s fall below a reserve somewhere and %s run empty (± is the error of the simulation only).",
		promise, r.Trips, journeys, percent(r.Spread.Trip), percent(r.Spread.Leg), shareText(r.BelowReserve), shareText(r.Empty))
	if !math.IsNaN(r.LateS) {
		text += " Nine in ten are there after " + span(r.LateS) + "."
	}
	if r.MealLate != nil {
		text += fmt.Sprintf(" In %s the meal begins after its hours.", shareText(*r.MealLate))
	}
	if r.InTime != nil && !math.IsNaN(r.LateS) {
		early := g.ArriveBy.Add(-time.Duration(r.LateS * float64(time.Second)))
		text += fmt.Sprintf(" There by %s are %s; for nine in ten leave by about %s. Traffic is not in this.", g.ArriveBy.Format("15:04"), shareText(*r.InTime), early.Format("15:04"))
	}
	return text
}

// shareText is "5.1 % (± 0.7)", with the standard error of the simulation.
func shareText(s trip.Share) string {
	return fmt.Sprintf("%.1f %% (± %.1f)", 100*s.Value, 100*s.Error)
}

// harderDayText says how a harder day ends.
func harderDayText(p *trip.Plan, s *trip.Stress) string {
	switch {
	case s.Holds():
		return "every reserve holds"
	case s.Plan == nil:
		return fmt.Sprintf("breaks a reserve on leg %d; no other plan found", s.BreaksLeg+1)
	}
	return fmt.Sprintf("breaks a reserve on leg %d; planned again: %s, %s", s.BreaksLeg+1, count(len(s.Plan.Stops), "stop"), laterText(s.Plan.TimeS-p.TimeS))
}

// reached is a state of charge, or that there is none.
func reached(soc float64) string {
	if !(soc >= 0) {
		return "empty"
	}
	return Arriving(soc)
}

// Figures and names as they are said.

// at is the clock at a time of a drive, or how long after departure that is.
func at(p *trip.Plan, timeS float64) string {
	if t, clocked := p.At(timeS); clocked {
		return t.Format("15:04")
	}
	total := int(math.Round(timeS / 60))
	return fmt.Sprintf("%d:%02d", total/60, total%60)
}

// Arriving rounds a state of charge down to a whole percent, Leaving up: who
// follows the printed figures is never below the plan.
func Arriving(soc float64) string { return fmt.Sprintf("%.0f %%", math.Floor(100*soc+1e-6)) }

// Leaving rounds a state of charge up to a whole percent; see Arriving.
func Leaving(soc float64) string { return fmt.Sprintf("%.0f %%", math.Ceil(100*soc-1e-6)+0) }

// settingOut is what a drive begins with. After a stay that is what has come of
// it, and is rounded as an arrival is.
func settingOut(p *trip.Plan) string { return Arriving(p.Goal.DepartSoC) }

// ArrivingStop is what stop i is reached with. Where that is enough to drive on
// it is what a gauge shows, which rounds to the nearest, as the leave rule says.
func ArrivingStop(p *trip.Plan, i int) string {
	if ifLess(p, i) != "" {
		return percent(p.Stops[i].ArriveSoC)
	}
	return Arriving(p.Stops[i].ArriveSoC)
}

// LeavingStop is what to leave stop i with, as its leave rule says it: the next
// whole percent that is still enough where the gauge rounds to the nearest.
func LeavingStop(p *trip.Plan, i int) string {
	if ifLess(p, i) != "" {
		return ArrivingStop(p, i)
	}
	const gaugeError = 0.005
	highest := 1.0
	if c := p.Goal.CeilingSoC; c > 0 {
		highest = c
	}
	return Leaving(math.Min(p.Stops[i].LeaveSoC+gaugeError, highest))
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func percentUp(share float64) string { return fmt.Sprintf("%.0f %%", math.Ceil(100*share-1e-6)) }

// margin is a headroom; above 200 % it is no statement about a drive.
func margin(share float64) string {
	if share > 2 {
		return "over 200 %"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*share+1e-6))
}

func dwellS(p *trip.Plan) float64 {
	sum := 0.0
	for i := range p.Stops {
		sum += p.Stops[i].DwellS
	}
	return sum
}

func span(s float64) string { return wording.Span(s) }

func count(n int, noun string) string {
	text := wording.Count(n, noun)
	numbers := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if _, things, _ := strings.Cut(text, " "); n < len(numbers) {
		return numbers[n] + " " + things
	}
	return text
}

// capital puts a name at the head of a sentence.
func capital(name string) string {
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

// Comparisons.

func comparisonHeadline(c Comparison) (number, rest string) {
	possible := len(c.Journeys())
	if possible == 0 {
		return "Not possible", fmt.Sprintf(" in any of %s.", count(len(c), "case"))
	}
	shortest, longest := c.extremes()
	number = "From " + span(shortest) + " to " + span(longest)
	if span(shortest) == span(longest) {
		number = "All in " + span(shortest)
	}
	rest = fmt.Sprintf(" in all: %s compared", count(len(c), "case"))
	if possible < len(c) {
		rest += fmt.Sprintf(", of which %s cannot be made", count(len(c)-possible, "journey"))
	}
	return number, rest + "."
}

func comparisonHead(rows []question.Row, u question.Units) []string {
	_, perDistance, _ := strings.Cut(u.Consumption(0), " ")
	head := []string{"Case"}
	for _, r := range rows {
		head = append(head, r.Label)
	}
	return append(head, "In all", "Stops", "Arrive", "Headroom", "Uses "+perDistance, "Cost")
}

// asked is a figure of a question; a dash where it is not given.
func asked(r question.Row, q *question.Question, u question.Units) string {
	x, known := r.Number(q)
	if !known {
		return "–"
	}
	return r.Unit.Text(x, u)
}

// stopsText names the stops of each drive.
func stopsText(j Journey) []string {
	var out []string
	for i, p := range j.Plans {
		var stops []string
		for n := range p.Stops {
			stops = append(stops, fmt.Sprintf("%s (%s to %s)", trip.SiteName(p.Stops[n].Charger.Site), ArrivingStop(p, n), LeavingStop(p, n)))
		}
		text := "It"
		if len(j.Plans) > 1 {
			text = fmt.Sprintf("Drive %d", i+1)
		}
		if len(stops) == 0 {
			text += " needs no stop."
		} else {
			text += " stops at " + strings.Join(stops, ", ") + "."
		}
		out = append(out, text)
	}
	return out
}

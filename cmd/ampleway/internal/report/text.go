package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"ampleway/data/wording"
	"ampleway/route/question"
	"ampleway/route/trip"
	"ampleway/stations"
)

const textWidth = 78

const creditsTitle = "Sources of the data"

// Text writes a trip for a person: the number that matters first, then why,
// then the stops in order, then what the figures rest on.
func Text(w io.Writer, p *trip.Plan, o Options) error {
	t := &textWriter{w: bufio.NewWriter(w), o: o}
	t.head(p)
	t.table(p)
	t.stops(p)
	if o.Rows {
		t.legs(p)
	}
	t.assured(p)
	t.list("Look at this first", p.Warnings(o.Units)[len(p.FirstWarnings(o.Units)):])
	t.list("What this rests on", p.Assumptions(o.Units))
	t.list("Take care", trip.Cautions)
	t.list(creditsTitle, trip.Credits(p))
	return t.w.Flush()
}

type textWriter struct {
	w *bufio.Writer
	o Options
}

func (t *textWriter) line(format string, args ...any) { fmt.Fprintf(t.w, format+"\n", args...) }

func (t *textWriter) strong(s string) string {
	if !t.o.Color {
		return s
	}
	return "\x1b[1m" + s + "\x1b[0m"
}

// Headline is the first sentence about a trip.
func Headline(p *trip.Plan, u question.Units) string {
	return fmt.Sprintf("Arrive with %s after %s: %s and %s of driving.", Arriving(p.ArriveSoC), span(p.TimeS), count(len(p.Stops), "charging stop"), span(p.DriveS))
}

// LeaveText says when to leave for a wanted arrival; empty where none was
// given.
func LeaveText(p *trip.Plan) string {
	leave, ok := p.At(0)
	if !ok || p.Goal.ArriveBy.IsZero() {
		return ""
	}
	arrive, _ := p.At(p.TimeS)
	day := ""
	if leave.YearDay() != p.Goal.ArriveBy.YearDay() {
		day = leave.Format(" on Monday")
	}
	return fmt.Sprintf("Leave home at %s%s to be there by %s (there at %s).", leave.Format("15:04"), day, p.Goal.ArriveBy.Format("15:04"), arrive.Format("15:04"))
}

func (t *textWriter) head(p *trip.Plan) {
	if leave := LeaveText(p); leave != "" {
		t.line("%s", t.strong(leave))
	}
	t.line("%s", t.strong(Headline(p, t.o.Units)))
	t.line("")
	t.paragraph(fmt.Sprintf("%s, %s, in %s that leaves with %s%s.", p.Drive.Corridor.Route.Name, t.o.Units.Distance(p.DistanceM), wording.A(p.Drive.Car.Name), settingOut(p), t.departure(p)))
	if len(p.Stops) > 0 {
		t.paragraph(fmt.Sprintf("Charging takes %s of the %s off the road and puts %.0f kWh into the battery, for %s.", span(p.ChargeS), span(dwellS(p)), p.ChargedKWh, p.CostText()))
	}
	if fuel := p.FuelText(t.o.Units); fuel != "" {
		t.paragraph(fuel)
	}
	t.paragraph(headroomText(p))
	for _, w := range p.FirstWarnings(t.o.Units) {
		t.paragraph(w)
	}
	if t.o.Note != "" {
		t.paragraph(t.o.Note)
	}
	t.line("")
}

func (t *textWriter) departure(p *trip.Plan) string {
	at, ok := p.At(0)
	if !ok {
		return ""
	}
	return at.Format(" on Monday 2 January 2006 at 15:04")
}

func dwellS(p *trip.Plan) float64 {
	sum := 0.0
	for i := range p.Stops {
		sum += p.Stops[i].DwellS
	}
	return sum
}

func headroomText(p *trip.Plan) string {
	least, until := "none", "only if the car uses no more than this estimate"
	if p.Headroom >= 0.005 {
		least, until = margin(p.Headroom), "until the car uses that much more than this estimate"
	}
	holds := "holds"
	if p.Goal.ReserveSoC != p.Goal.ArriveReserveSoC {
		holds = "hold"
	}
	return fmt.Sprintf("Headroom: %s. %s %s %s (leg %d decides). To empty: %s (leg %d).", least, capital(p.Goal.ReserveText()), holds, until, p.HeadroomLeg+1, margin(p.ToEmpty), p.ToEmptyLeg+1)
}

// table is the trip at a glance, one line a place.
func (t *textWriter) table(p *trip.Plan) {
	t.line("%6s  %5s  %-34s %7s %7s  %s", t.o.Units.DistanceUnit(), "time", "", "arrive", "leave", "stop for")
	t.line("%6s  %5s  %-34s %7s %7s", "0", t.clock(p, 0), clip(p.Legs[0].From, 34), "", settingOut(p))
	for i := range p.Stops {
		s := &p.Stops[i]
		name := fmt.Sprintf("%d  %s", i+1, trip.SiteName(s.Charger.Site))
		t.line("%6s  %5s  %-34s %7s %7s  %s", t.o.Units.Chainage(s.Charger.ChainageM), t.clock(p, s.ArriveS), clip(name, 34), ArrivingStop(p, i), LeavingStop(p, i), span(s.DwellS))
	}
	t.line("%6s  %5s  %-34s %7s", t.o.Units.Chainage(p.Drive.Profile.LengthM()), t.clock(p, p.TimeS), clip(p.Legs[len(p.Legs)-1].To, 34), t.strong(Arriving(p.ArriveSoC)))
	t.line("")
}

func (t *textWriter) clock(p *trip.Plan, timeS float64) string {
	if at, ok := p.At(timeS); ok {
		return at.Format("15:04")
	}
	total := int(math.Round(timeS / 60))
	return fmt.Sprintf("%d:%02d", total/60, total%60)
}

func (t *textWriter) stops(p *trip.Plan) {
	for i := range p.Stops {
		s := &p.Stops[i]
		site := s.Charger.Site
		t.line("%s", t.strong(fmt.Sprintf("Stop %d: %s", i+1, trip.SiteName(site))))
		operator := cmp.Or(runBy(site), "operator not known")
		where := "beside the road"
		if s.Charger.OneWayM >= 100 {
			where = t.o.Units.Distance(s.Charger.OneWayM) + " off the road"
		}
		t.paragraph(fmt.Sprintf("  %s, %s of %.0f kW %s, %s.", operator, count(s.Charger.Offer.Stalls, "bay"), s.Charger.Offer.PowerKW, s.Charger.Offer.Connector, where))
		if site.Address != "" {
			t.paragraph("  Address: " + site.Address + ".")
		}
		if site.Phone != "" {
			t.paragraph("  Telephone: " + site.Phone + ".")
		}
		if text := ifLess(p, i); text != "" {
			t.paragraph("  " + text)
			t.line("")
			continue
		}
		t.paragraph(fmt.Sprintf("  Plug in with %s, leave with %s: %s of charging for %.1f kWh. %s", Arriving(s.ArriveSoC), LeavingStop(p, i), span(s.ChargeS), s.BatteryKWh, powerText(s)))
		if text := p.MealText(i); text != "" {
			t.paragraph("  " + text)
		}
		if s.Cost != nil {
			t.paragraph("  Costs about " + s.Cost.String() + ".")
		}
		if len(site.Amenities) > 0 {
			t.paragraph("  There: " + strings.Join(site.Amenities, ", ") + ".")
		}
		t.line("")
	}
}

// powerText says how power goes during a stop.
func powerText(s *trip.Stop) string {
	in, out := fmt.Sprintf("%.0f kW", s.PowerInKW), fmt.Sprintf("%.0f kW", s.PowerOutKW)
	if in == out {
		return "Power is " + in + " when you begin and when you leave."
	}
	return fmt.Sprintf("Power starts at %s and has come to %s when you leave.", in, out)
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

func (t *textWriter) legs(p *trip.Plan) {
	t.line("%s", t.strong("Legs"))
	t.line("%4s %10s %8s %9s %8s %8s %8s %9s", "", "distance", "time", "energy", "leave", "arrive", "lowest", "headroom")
	for i, l := range p.Legs {
		t.line("%4d %10s %8s %5.1f kWh %8s %8s %8s %9s", i+1, t.o.Units.Distance(l.DistanceM), span(l.TimeS), l.EnergyKWh, percent(l.DepartSoC), percent(l.ArriveSoC), percent(l.LeastSoC), margin(l.Headroom))
	}
	t.line("")
}

func (t *textWriter) list(title string, items []string) {
	if len(items) == 0 {
		return
	}
	t.line("%s", t.strong(title))
	for _, item := range items {
		t.paragraph("- " + item)
	}
	t.line("")
}

// paragraph wraps a text; its leading spaces and dash set the indent.
func (t *textWriter) paragraph(text string) {
	body := strings.TrimLeft(text, "- ")
	first := text[:len(text)-len(body)]
	indent := strings.Repeat(" ", len(first))
	lead := first
	width := 0
	for _, word := range strings.Fields(body) {
		length := len([]rune(word))
		switch {
		case width == 0:
			fmt.Fprint(t.w, lead, word)
			width = len(lead) + length
		case width+1+length > textWidth:
			fmt.Fprint(t.w, "\n", indent, word)
			width = len(indent) + length
		default:
			fmt.Fprint(t.w, " ", word)
			width += 1 + length
		}
	}
	fmt.Fprintln(t.w)
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

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// margin is a headroom; above 200 % it is no statement about a drive.
func margin(share float64) string {
	if share > 2 {
		return "over 200 %"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*share+1e-6))
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

func clip(s string, most int) string {
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return string(runes[:most-1]) + "…"
}

package trip

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
	"ampleway/stations/hours"
)

// Cautions belong under every plan that a person reads.
var Cautions = []string{
	"This is an estimate. Weather, traffic, tyres and driving change what a car uses; watch its own gauge.",
	"Check that each station works and is open before you rely on it.",
	"Never drive on below your reserve hoping for the next charger: slow down, and stop at the nearest safe place that has one.",
	"Plan breaks, keep to the traffic law, and let a passenger read this, not the driver.",
}

// Assumptions says what the figures rest on, one sentence each.
func (p *Plan) Assumptions(u question.Units) []string {
	out := p.Drive.assumptions(u)
	if len(p.Goal.TempByHour) > 0 {
		out = append(out, p.Goal.TempByHour.text(u))
	}
	if n := p.Goal.Night; n != nil && n.Result.Reached {
		out = append(out, n.Text(), energy.ElectricianDecides)
	}
	if text := p.Goal.burdenText(); text != "" {
		out = append(out, text)
	}
	for _, text := range []string{p.mealAssumption(), p.ProofText()} {
		if text != "" {
			out = append(out, text)
		}
	}
	out = append(append(out, p.goalAssumption()), p.moneyAssumptions()...)
	return append(out, p.assuredAssumptions()...)
}

// farOffM is how far off the road a stop is told of first, where its detour is
// an estimate: a river or a fence may lie between.
const farOffM = 1000.0

// longWaitS is a wait at a station that is told of first.
const longWaitS = 15 * 60.0

// Grave says how grave a warning is.
type Grave uint8

// How grave a warning is, the gravest first.
const (
	MayNotArrive Grave = iota
	MayNotCharge       // cannot plug in, pay or get in
	DetourUnknown
	RoadUnknown // the road, the car or the climate
	PriceUnknown
	GoodToKnow

	Graves = iota // how many there are
)

// Warning is what this driver should look at before setting out.
type Warning struct {
	Grave
	Text string
}

// Warnings are what to look at before setting out, the gravest first.
func (p *Plan) Warnings(u question.Units) []Warning {
	var out warnings
	out.add(MayNotCharge, p.Drive.unmatched()...)
	if text := plugText(p.Drive.missedPlugs()); text != "" && len(p.Stops) > 0 {
		out.add(MayNotCharge, text)
	}
	if n := p.Goal.Night; n != nil && !n.Result.Reached {
		out.add(MayNotArrive, n.Text())
		out.add(GoodToKnow, energy.ElectricianDecides)
	}
	if text := p.moneyWarning(); text != "" {
		out.add(PriceUnknown, text)
	}
	out.add(RoadUnknown, p.Drive.roadWarnings(u)...)
	for i := range p.Stops {
		p.warnOfStop(&out, i, u)
	}
	for i, l := range p.Legs {
		if l.LostKWh > 0.05 {
			out.add(GoodToKnow, fmt.Sprintf("On leg %d the battery is full before the descent ends: about %.1f kWh cannot be stored, and braking leans on the friction brakes.", i+1, l.LostKWh))
		}
	}
	slices.SortStableFunc(out, func(a, b Warning) int { return cmp.Compare(a.Grave, b.Grave) })
	return out
}

type warnings []Warning

func (w *warnings) add(grave Grave, texts ...string) {
	for _, text := range texts {
		*w = append(*w, Warning{grave, text})
	}
}

// missedPlugs are the plugs, of another inlet of the same kind or of a name
// that is not known, at more sites than the car can use.
func (d *Drive) missedPlugs() []PlugCount {
	used := map[*stations.Site]bool{}
	for i := range d.Chargers {
		used[d.Chargers[i].Site] = true
	}
	return slices.DeleteFunc(misfits(d.leftOut(0, d.Profile.LengthM())), func(p PlugCount) bool {
		return p.Sites <= len(used) || p.Type.Known() && !d.otherInlet(p.Type)
	})
}

// ProofText says how far the plan may be from the best there is; it is empty
// where the plan is proven to be the best.
func (p *Plan) ProofText() string {
	value, bound := p.Exact.Value, p.Exact.Bound
	switch {
	case p.Goal.Excess > 0 && p.course == nil:
		return "Best plan: the best " + p.provenBy(p.openBy, "known ") + "for a day on which every drive takes more than estimated; it was not compared with others over all days."
	case p.Goal.Excess > 0:
		return "Best plan: the best " + p.provenBy(p.openBy, "found ") + "for days that take more than estimated, then compared with plans next to it on the simulated days. It was searched for, not proven to be the best of all."
	case math.IsInf(bound, 0) || !p.open(value-bound):
		return ""
	}
	return "Best plan: stays, idle fees, hours, tariffs by the hour or a meal tie charging to the clock. It was searched for, not proven: " + p.noneBetter(value-bound) + "."
}

// open reports whether a gap between a value and what is proven is more than
// rounding.
func (p *Plan) open(gap float64) bool {
	const slack = 1e-4 // of the value
	return gap > slack*math.Abs(p.Exact.Value)
}

// provenBy qualifies "the best" of a day where a gap is open there.
func (p *Plan) provenBy(gap float64, word string) string {
	if !p.open(gap) {
		return ""
	}
	return word + "(searched, not proven: " + p.noneBetter(gap) + ") "
}

// currency follows an amount in the currency that counts, where that is known.
func (p *Plan) currency() string {
	if cost, ok := p.Cost.One(p.Goal.Rates); ok {
		return " " + cost.Currency
	}
	return ""
}

// noneBetter says how much better than a plan another one can be at most, where
// that is little enough to say anything.
func (p *Plan) noneBetter(gap float64) string {
	const telling = 0.1 // of the value
	switch {
	case math.IsInf(gap, 0) || gap > telling*math.Abs(p.Exact.Value):
		return "how much better another could be is not known"
	case p.Goal.countsMoney():
		return fmt.Sprintf("none is better by more than %.2f%s, the worth of time included", math.Ceil(100*gap)/100, p.currency())
	case p.Goal.Objective.Goal == stops.FewestStops && gap > mostStopWorthS:
		return "one with fewer stops may exist"
	}
	return fmt.Sprintf("none is quicker by more than %s", wording.Count(int(math.Ceil(gap/60)), "minute"))
}

func (d *Drive) assumptions(u question.Units) []string {
	c, o := &d.Conditions, &d.Corridor.Options
	out := []string{
		fmt.Sprintf("Car: %s, %.0f kWh usable%s.", d.Car.Name, d.Profile.CapacityKWh(), healthText(c)),
		fmt.Sprintf("Weather: %s, %s, road %s%s.", u.Temperature(c.TempC), windText(c, u), surfaceText(c), loadText(c, u)),
		fmt.Sprintf("Driving: %s%s; %s on this road.", speedsText(d, u), capText(d, u), u.Consumption(d.Profile.EnergyKWh(d.Profile.LengthM())/d.Profile.LengthM())),
		"Detours: " + d.askedText(u) + fmt.Sprintf("great-circle distance times %.1f, there and back, at %s, unless the data say otherwise.", o.DetourFactor, u.Speed(o.DetourSpeedMS)),
		fmt.Sprintf("Stops: %.0f minutes each to park, plug in and pay; power follows the car's taper, the bay's power and the battery's temperature.", d.Options.overheadS()/60),
		fmt.Sprintf("Billing: stations bill %.0f %% more than reaches the battery.", 100*(1/energy.GridEfficiency-1)),
	}
	if text := d.alsoAsked(u); text != "" {
		out = append(out, text)
	}
	if d.Corridor.Route.HasElevation() {
		out = append(out, fmt.Sprintf("Hills: %s up and %s down after smoothing over %s.", u.Height(d.Climb.AscentM), u.Height(d.Climb.DescentM), u.Height(smoothingM(d.Options))))
	}
	return out
}

// ToldInWords are the rows of the question that a plan tells of in sentences of
// their own. All others stand in one sentence where they are not as usual.
var ToldInWords = strings.Fields("leave_with_pct reserve_pct arrive_with_pct confidence_pct stop_worth_min depart arrive_by meal rate fuel_car " +
	"temp_c temp_by_hour wind_kmh wind_from_deg surface speed_cap_kmh unknown_speed_kmh payload_kg carry winter_tyres battery_health_pct " +
	"back stay back_temp_c back_wind_kmh back_wind_from_deg home_plug home_soc_pct home_from cheap_hours " +
	"detour_factor detour_speed_kmh setup_min start_name end_name")

func (d *Drive) alsoAsked(u question.Units) string {
	var told []string
	for _, r := range question.Rows() {
		if d.Options.asked != nil && !slices.Contains(ToldInWords, r.Key) {
			if text := r.Told(d.Options.asked, u); text != "" {
				told = append(told, text)
			}
		}
	}
	if len(told) == 0 {
		return ""
	}
	return "Also asked for: " + strings.Join(told, "; ") + "."
}

// askedText says which detours are a road router's.
func (d *Drive) askedText(u question.Units) string {
	asked, speedMS := d.Corridor.Asked, d.Corridor.Options.DetourSpeedMS
	if asked == nil || asked.Questions == 0 && !asked.Cut {
		return ""
	}
	given, timed := 0, false
	for i := range d.Chargers {
		if c := &d.Chargers[i]; c.Asked {
			given++
			timed = timed || c.OneWayS != c.OneWayM/speedMS
		}
	}
	text := fmt.Sprintf("your router gave %d of %d, in %s", given, len(d.Chargers), wording.Count(asked.Questions, "question"))
	if given > 0 && !timed {
		text += ", the lengths alone, which are driven at " + u.Speed(speedMS)
	}
	if asked.Unanswered > 0 {
		text += fmt.Sprintf("; for %d it had no answer", asked.Unanswered)
	}
	if asked.Cut {
		text += "; the limit on questions or on their time left some of those that matter unasked"
	}
	return text + ". All but those it gave are estimates: "
}

func (p *Plan) goalAssumption() string {
	g := p.Goal
	text := fmt.Sprintf("Reserve: never below %.0f %%, on the road or on reaching a stop, and %.0f %% at the destination", 100*g.floorSoC(), 100*g.ArriveReserveSoC)
	if g.ReserveSoC > g.floorSoC() {
		text += fmt.Sprintf(" (%.0f %% on reaching a stop)", 100*g.ReserveSoC)
	}
	return text + "."
}

func healthText(c *energy.Conditions) string {
	if c.StateOfHealth == 0 || c.StateOfHealth == 1 {
		return ""
	}
	return fmt.Sprintf(" (worn to %.0f %% of new)", 100*c.StateOfHealth)
}

func windText(c *energy.Conditions, u question.Units) string {
	if c.WindSpeedMS == 0 {
		return "no wind"
	}
	from := "from the " + question.Compass(c.WindFromDeg)
	if c.HeadWind {
		from = "against the car along the whole road, because no direction is given,"
	}
	return fmt.Sprintf("wind %s %s by the forecast, %s at the car", u.Speed(c.WindSpeedMS/energy.RoadWindMS(1)), from, u.Speed(c.WindSpeedMS))
}

func surfaceText(c *energy.Conditions) string {
	if c.Road() == energy.StandingWater {
		return "under standing water"
	}
	return string(c.Road())
}

func loadText(c *energy.Conditions, u question.Units) string {
	var parts []string
	if c.PayloadKg > 0 {
		parts = append(parts, u.Mass(c.PayloadKg)+" besides the driver")
	}
	parts = append(parts, c.Extras...)
	if c.WinterTyres {
		parts = append(parts, "winter tyres")
	}
	if len(parts) == 0 {
		return ""
	}
	return "; " + strings.Join(parts, ", ")
}

func speedsText(d *Drive, u question.Units) string {
	if unknownSpeedShare(d.Corridor.Route) == 1 {
		return u.Speed(d.Options.unknownSpeedMS()) + " throughout"
	}
	return "the route's own speeds"
}

func capText(d *Drive, u question.Units) string {
	if d.Conditions.SpeedCapMS == 0 {
		return ""
	}
	text := ", no faster than " + u.Speed(d.Conditions.SpeedCapMS)
	if snowy(d.Conditions.Surface) && d.Conditions.SpeedCapMS == snowCapMS {
		text += " on " + string(d.Conditions.Surface) + " (common practice, unless you say how fast you drive)"
	}
	return text
}

func (d *Drive) roadWarnings(u question.Units) []string {
	out := append([]string(nil), d.Corridor.Route.Notes...)
	if !d.Corridor.Route.HasElevation() {
		out = append(out, "The route has no elevations, so hills are not counted: a mountain road needs more than this says.")
	}
	if share := unknownSpeedShare(d.Corridor.Route); share > 0 {
		out = append(out, fmt.Sprintf("The route has no speeds on %.0f %% of its length: %s is assumed there. Faster roads take more; say how fast you drive.", math.Ceil(100*share), u.Speed(d.Options.unknownSpeedMS())))
	}
	return out
}

func unknownSpeedShare(r *route.Route) float64 {
	unknown := 0.0
	for i := range r.Len() - 1 {
		if r.Point(i).SpeedMS == 0 {
			unknown += r.ChainageM(i+1) - r.ChainageM(i)
		}
	}
	return unknown / r.LengthM()
}

func (p *Plan) warnOfStop(out *warnings, i int, u question.Units) {
	s := &p.Stops[i]
	c, site := s.Charger, s.Charger.Site
	add := func(grave Grave, format string, args ...any) {
		out.add(grave, fmt.Sprintf("Stop %d, %s: ", i+1, SiteName(site))+fmt.Sprintf(format, args...))
	}
	if i < len(p.Fallbacks) && p.Fallbacks[i].None {
		add(MayNotArrive, "no other station is within reach if it fails; check it before you set out, or ask for a fallback at every stop.")
	}
	if s.WaitS > longWaitS && !s.Meal {
		add(MayNotCharge, "the plan waits %s there (open %s).", wording.Span(s.WaitS), cmp.Or(site.Hours, "at hours not known"))
	}
	if site.Access == stations.AccessCustomers {
		add(MayNotCharge, "for customers of the place; ask first.")
	}
	if text := p.hoursWarning(s); text != "" {
		add(MayNotCharge, "%s", text)
	}
	if c.OffsetM > farOffM && !c.Stated && !c.Asked {
		add(DetourUnknown, "it is %s off the road; the detour is an estimate: look at the map.", u.Distance(c.OffsetM))
	}
	if p.Drive.Corridor.Asked != nil && !c.Asked && !c.Stated {
		add(DetourUnknown, "its detour is an estimate, your router %s.", pick(c.Unanswered, "gave no way there and back", "was not asked for it"))
	}
	if site.Price == nil {
		add(PriceUnknown, "its price is not known and not in the cost.")
	}
	if c.Offer.Assumed {
		add(GoodToKnow, "its power of %.0f kW is assumed; the data do not give it.", c.Offer.PowerKW)
	}
	if c.Bays == 1 {
		add(GoodToKnow, "only one bay fits your car; if it is taken you wait.")
	}
}

func (p *Plan) hoursWarning(s *Stop) string {
	site := s.Charger.Site
	if site.Hours == "" || site.Hours == "24/7" {
		return ""
	}
	schedule, err := hours.Parse(site.Hours)
	if err != nil {
		return fmt.Sprintf("its opening hours (%q) could not be read; check them.", site.Hours)
	}
	at, known := p.At(s.ArriveS)
	if !known {
		return fmt.Sprintf("open %s; give a departure time to have this checked.", site.Hours)
	}
	for _, t := range []time.Time{at, at.Add(seconds(s.LeaveS - s.ArriveS))} {
		if schedule.At(inZone(t, site)) != hours.Open {
			return fmt.Sprintf("open %s; you would be there from %s.", site.Hours, inZone(at, site).Format("15:04"))
		}
	}
	return ""
}

// SiteName is what people call a site: its name, else its operator, else its
// ID.
func SiteName(s *stations.Site) string {
	for _, text := range []string{s.Name, s.Operator, s.ID} {
		if text != "" {
			return text
		}
	}
	return fmt.Sprintf("station at %.4f, %.4f", s.Lat, s.Lon)
}

// placeName names the ends of a leg.
func (d *Drive) placeName(c *Charger, leaving bool) string {
	switch {
	case c != nil:
		return SiteName(c.Site)
	case leaving:
		return d.Corridor.Options.StartName
	}
	return d.Corridor.Options.EndName
}

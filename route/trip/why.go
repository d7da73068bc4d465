package trip

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
)

// NoPlan says why a trip cannot be made, where, and what would make it
// possible. It wraps stops.ErrNoPlan.
type NoPlan struct {
	From, To    string  // the ends of the stretch that cannot be crossed
	FromM, ToM  float64 // their chainages
	FromCharger *Charger
	ToCharger   *Charger
	MissingKWh  float64     // what the battery lacks for it, leaving with all it may hold
	MissingM    float64     // about how much road that is
	Reserve     string      // what the car must arrive there with, in words
	Confidence  float64     // with which the reserve was asked to hold; 0: by the estimate, or no probability is known for the car
	Margin      float64     // in its place where none is known: share of consumption above the estimate
	MayBeClosed []*Charger  // on that stretch, left out because they may be closed when the car comes by
	Limit       string      // where not energy is in the way but another limit
	Stop        *UnmadeStop // where a stop that was asked for is in the way
	Unmatched   []string    // sentences on words of the request that fit no station here
	Drive       int         // of a visit, counted from 1; 0: the trip is one drive
	Remedies    []Remedy    // each alone would do, for that drive
	Plugs       []PlugCount // that only another inlet of the same kind takes, or of a name not known here
	Data        Coverage
	LeftOut     []LeftOut // why stations on the stretch are not used
}

// Remedy is one change that would make the trip possible. One field is set.
type Remedy struct {
	DepartSoC  float64 // leave with at least this
	ReserveSoC float64 // accept this reserve, everywhere; with Reserve
	Reserve    bool
	SpeedCapMS float64 // drive no faster
	StationM   float64 // a station at this chainage; with Station
	Station    bool
	Unlimited  bool    // allow more stops
	NoFallback bool    // do without a fallback at every stop
	Confidence float64 // settle for this probability, 0..1; with Surely
	Surely     bool
	Price      bool                   // state a price for stations where none is known
	Margin     float64                // settle for this margin in consumption, of a car for which no probability is known
	Inlet      stations.ConnectorType // the car's own, if it is that
	HalfWidthM float64                // look for stations this far from the road
	Farther    []*Charger             // what is there; with HalfWidthM
	Wish       *wish                  // give up a wish that leaves stations out
	Open       *Charger               // come by this charger while it is open
}

// uncovers reports whether a remedy finds stations that the files have.
func (r Remedy) uncovers() bool { return r.Inlet != "" || r.HalfWidthM > 0 || r.Wish != nil }

// Unwrap returns stops.ErrNoPlan.
func (n *NoPlan) Unwrap() error { return stops.ErrNoPlan }

// Error gives the sentence for a customer, in metric units.
func (n *NoPlan) Error() string { return n.Whole(question.Metric) }

// Whole is what First and Text say.
func (n *NoPlan) Whole(u question.Units) string {
	return strings.Join(append(n.First(u), n.Text(u)), " ")
}

// Text gives the sentence for a customer.
func (n *NoPlan) Text(u question.Units) string {
	what := "This trip"
	if n.Drive > 0 {
		what = fmt.Sprintf("Drive %d of this journey", n.Drive)
	}
	if n.Stop != nil {
		return what + " cannot be planned: " + n.Stop.text(u) + "."
	}
	if n.Limit != "" {
		return what + " cannot be planned: " + n.Limit + "."
	}
	const leastShownM = 100
	missingKWh := max(0.1, math.Ceil(10*n.MissingKWh-1e-6)/10)
	return fmt.Sprintf("%s cannot be planned: from %s (%s) the car cannot reach %s (%s) with %s%s; %.1f kWh are missing, about %s of road.",
		what, wording.The(n.From), at(n.FromM, u), wording.The(n.To), at(n.ToM, u), n.Reserve, n.surely(), missingKWh, u.Distance(max(leastShownM, n.MissingM))) + n.closedText(u)
}

// closedText says which stations count as absent because of their hours.
func (n *NoPlan) closedText(u question.Units) string {
	if len(n.MayBeClosed) == 0 {
		return ""
	}
	var parts []string
	for _, c := range n.MayBeClosed {
		parts = append(parts, fmt.Sprintf("%s (%s, open %s)", SiteName(c.Site), at(c.ChainageM, u), c.Site.Hours))
	}
	return " Left out, because it may be closed when you come by: " + strings.Join(parts, "; ") + "."
}

func (n *NoPlan) surely() string {
	switch {
	case n.Margin > 0:
		return fmt.Sprintf(" and a margin of %.0f %% in consumption", MarginPct(n.Margin))
	case n.Confidence == 0:
		return ""
	}
	return fmt.Sprintf(" at a confidence of %g %%", math.Round(1000*n.Confidence)/10)
}

func at(m float64, u question.Units) string { return u.Chainage(m) + " " + u.DistanceUnit() }

// Text gives a remedy as half a sentence.
func (r Remedy) Text(u question.Units) string {
	switch {
	case r.DepartSoC > 0:
		return fmt.Sprintf("leave with at least %.0f %%", math.Ceil(100*r.DepartSoC-1e-6))
	case r.Reserve:
		return fmt.Sprintf("accept a reserve of %.0f %%, on the way and on arrival", math.Floor(100*r.ReserveSoC+1e-6))
	case r.SpeedCapMS > 0:
		return "drive no faster than " + u.Speed(r.SpeedCapMS)
	case r.Inlet != "":
		return fmt.Sprintf("if the car's inlet is %s, say so (--connector %s)", r.Inlet, r.Inlet)
	case r.HalfWidthM > 0:
		return fmt.Sprintf("take stations up to %s off the road (--half-width %s): %s", u.Distance(r.HalfWidthM), strconv.FormatFloat(math.Ceil(question.Kilometres.Figure(r.HalfWidthM/1000, u)-1e-9), 'f', 0, 64), r.fartherText(u))
	case r.Wish != nil:
		return r.Wish.text
	case r.Station:
		return "a fast charger near " + at(r.StationM, u) + " along the route"
	case r.Open != nil:
		return fmt.Sprintf("come by %s well after it opens and well before it closes (%s)", SiteName(r.Open.Site), r.Open.Site.Hours)
	case r.Price:
		return "state a price for the stations without one (--unknown-price; in a request: unknown_price_per_kwh), or plan by time"
	case r.NoFallback:
		return "do without enough for another station at every stop"
	case r.Margin > 0:
		return fmt.Sprintf("ask for less confidence: a margin of %.0f %% in consumption is possible", MarginPct(r.Margin))
	case r.Surely && r.Confidence < leastConfidence:
		return "plan by the estimate alone"
	case r.Surely:
		return fmt.Sprintf("accept a confidence of %.0f %%", math.Floor(100*r.Confidence+1e-6))
	}
	return "allow more stops"
}

// RemedyText lists what would help in one sentence, or says that nothing
// tried does.
func (n *NoPlan) RemedyText(u question.Units) string {
	switch {
	case len(n.Remedies) == 0 && n.Stop != nil:
		return "Without that stop it cannot be planned either."
	case len(n.Remedies) == 0:
		return "Neither a full battery, nor no reserve, nor driving slower, nor one more fast charger would make it possible."
	}
	var parts []string
	for _, r := range n.Remedies {
		parts = append(parts, r.Text(u))
	}
	it := "it"
	if n.Drive > 0 {
		it = fmt.Sprintf("drive %d", n.Drive)
	}
	return "What would make " + it + " possible, each alone: " + strings.Join(parts, "; ") + "."
}

// why explains that there is no plan; closed are the sites that were left out
// because they may be closed. Where the planner itself heeds the hours, those
// count as left out that may be closed on the most leisurely trip.
func (d *Drive) why(g Goal, e *stops.Infeasible, closed shut) error {
	n := &NoPlan{Confidence: g.Confidence, Unmatched: d.unmatched()}
	if !d.Car.Calibrated() {
		n.Confidence, n.Margin = 0, g.Excess
	}
	if d.lacksPrices(g) {
		n.Limit = fmt.Sprintf("by cost it may stop only where the price is known, and of %s along the road that your car can use %s", wording.Count(len(d.Chargers), "station"), d.unpricedText())
		n.FromM, n.ToM = 0, d.Profile.LengthM()
		n.From, n.To = d.placeName(nil, true), d.placeName(nil, false)
		n.Remedies = []Remedy{{Price: true}}
		return n
	}
	if closed == nil && !g.Depart.IsZero() {
		closed = d.shut(g, steadySlackS)
	}
	gap, ok := d.firstGap(g, nil)
	if ok {
		closed = nil
	} else {
		gap, ok = d.firstGap(g, closed)
	}
	if !ok {
		n.Limit = e.Why
		if g.Fallback && n.Limit == "" {
			n.Limit = "not every stop can be reached with enough left for another station"
		}
		gap = stops.Gap{From: stops.Origin, To: stops.Destination}
	}
	n.FromCharger, n.FromM = d.node(gap.From)
	n.ToCharger, n.ToM = d.node(gap.To)
	n.From, n.To = d.placeName(n.FromCharger, true), d.placeName(n.ToCharger, false)
	n.Reserve = g.LegReserveText(n.ToCharger == nil)
	n.MissingKWh = gap.MissingKWh
	if leg := d.Profile.Leg(n.FromM, n.ToM); leg.CostKWh > 0 {
		n.MissingM = gap.MissingKWh * leg.DistanceM / leg.CostKWh
	}
	n.LeftOut = d.leftOut(n.FromM, n.ToM)
	for i := range d.Chargers {
		if c := &d.Chargers[i]; closed[c.Site] && c.ChainageM > n.FromM && c.ChainageM < n.ToM {
			n.MayBeClosed = append(n.MayBeClosed, c)
		}
	}
	if len(n.MayBeClosed) > 0 {
		n.Remedies = d.hoursRemedies(g, n)
	} else {
		n.Remedies = d.remedies(g, n)
	}
	if !slices.ContainsFunc(n.Remedies, Remedy.uncovers) {
		n.Data = d.Corridor.coverage(n.FromM, n.ToM)
	}
	n.Plugs = d.plugsFirst(n)
	return n
}

// First is what comes before the reason: plugs, and station files that do not
// cover the road.
func (n *NoPlan) First(u question.Units) []string {
	out := slices.Clone(n.Unmatched)
	for _, text := range []string{plugText(n.Plugs), n.Data.Text(u)} {
		if text != "" {
			out = append(out, text)
		}
	}
	return out
}

// plugsFirst are the plugs that only another inlet takes, where that would
// make the trip possible, and those whose name is not known.
func (d *Drive) plugsFirst(n *NoPlan) []PlugCount {
	return slices.DeleteFunc(misfits(n.LeftOut), func(p PlugCount) bool {
		return p.Type.Known() && !slices.ContainsFunc(n.Remedies, func(r Remedy) bool { return r.Inlet == p.Type })
	})
}

// lacksPrices reports whether a goal fails only because stations have no known
// price.
func (d *Drive) lacksPrices(g Goal) bool {
	if !g.pricedOnly || d.unpriced() == 0 {
		return false
	}
	g.pricedOnly = false
	return d.possible(g)
}

func (d *Drive) unpricedText() string {
	switch n := d.unpriced(); n {
	case len(d.Chargers):
		return "none says what it costs"
	case 1:
		return "one does not say what it costs"
	default:
		return fmt.Sprintf("%d do not say what they cost", n)
	}
}

// hoursRemedies are what helps where stations are left out for their hours.
func (d *Drive) hoursRemedies(g Goal, n *NoPlan) []Remedy {
	var out []Remedy
	for _, c := range n.MayBeClosed {
		others := shut{}
		for _, other := range n.MayBeClosed {
			others[other.Site] = other != c
		}
		if _, err := stops.Solve(d.untimed(g, others)); err == nil {
			out = append(out, Remedy{Open: c})
		}
	}
	byEstimate := g
	byEstimate.Confidence, byEstimate.Excess = 0, 0
	if g.Confidence > 0 && d.possible(byEstimate) {
		out = append(out, Remedy{Surely: true})
	}
	return out
}

// firstGap is the first drive that lacks energy, see stops.Problem.FirstGap, by
// the road alone: closed sites count as absent, nothing else that is asked does.
func (d *Drive) firstGap(g Goal, closed shut) (stops.Gap, bool) {
	g.Fallback, g.pricedOnly, g.MustNot = false, false, nil
	return d.untimed(g, closed).FirstGap()
}

// node returns the charger and the chainage of a place.
func (d *Drive) node(i int) (*Charger, float64) {
	switch i {
	case stops.Origin:
		return nil, 0
	case stops.Destination:
		return nil, d.Profile.LengthM()
	}
	return &d.Chargers[i], d.Chargers[i].ChainageM
}

func (d *Drive) remedies(g Goal, n *NoPlan) []Remedy {
	if g.Fallback {
		g = g.withoutFallback()
		if d.holds(g) {
			return []Remedy{{NoFallback: true}}
		}
	}
	out := append(d.otherInlets(g, n), d.lessWished(g)...)
	out = append(out, d.withoutMust(g)...)
	if r, ok := d.farther(g); ok {
		out = append(out, r)
	}
	if soc, ok := least(g.DepartSoC, 1, func(soc float64) bool { h := g; h.DepartSoC = soc; return d.holds(h) }); ok {
		out = append(out, Remedy{DepartSoC: soc})
	}
	top := max(g.ReserveSoC, g.ArriveReserveSoC)
	if soc, ok := least(0, top, func(lower float64) bool { return d.holds(g.withReserve(top - lower)) }); ok {
		out = append(out, Remedy{Reserve: true, ReserveSoC: top - soc})
	}
	if cap, ok := d.slower(g); ok {
		out = append(out, Remedy{SpeedCapMS: cap})
	}
	if at, ok := d.stationAt(g, n); ok {
		out = append(out, Remedy{Station: true, StationM: at})
	}
	if r, ok := d.surest(g); ok {
		out = append(out, r)
	}
	unlimited := g
	unlimited.MostStops = 0
	if g.MostStops > 0 && d.holds(unlimited) {
		out = append(out, Remedy{Unlimited: true})
	}
	return out
}

// withReserve lowers both reserves to at most soc.
func (g Goal) withReserve(soc float64) Goal {
	g.ReserveSoC = min(g.ReserveSoC, soc)
	g.ArriveReserveSoC = min(g.ArriveReserveSoC, soc)
	return g
}

// least finds the smallest x in (lo, hi] that works, where all larger ones
// work too, to within 1e-6.
func least(lo, hi float64, works func(float64) bool) (float64, bool) {
	if hi <= lo || !works(hi) {
		return 0, false
	}
	for hi-lo > 1e-6 {
		if mid := (lo + hi) / 2; works(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}

// slower tries speed caps in steps of 5 km/h from just below the fastest
// piece down to 60 km/h.
func (d *Drive) slower(g Goal) (float64, bool) {
	const stepKMH, leastKMH = 5.0, 60.0
	fastest := 0.0
	for _, s := range steps(d.Corridor.Route, d.Options) {
		fastest = max(fastest, s.SpeedMS*3.6)
	}
	if cap := d.Conditions.SpeedCapMS * 3.6; cap > 0 {
		fastest = min(fastest, cap)
	}
	for kmh := stepKMH * (math.Ceil(fastest/stepKMH) - 1); kmh >= leastKMH; kmh -= stepKMH {
		cond := d.Conditions
		cond.SpeedCapMS = kmh / 3.6
		slow, err := NewDrive(d.Corridor, d.Car, cond, d.Options)
		if err != nil {
			return 0, false
		}
		if slow.holds(g) {
			return cond.SpeedCapMS, true
		}
	}
	return 0, false
}

// stationAt returns the middle of the stretch of road on which one more
// station, beside the road and of the car's full power, would make the trip
// possible.
func (d *Drive) stationAt(g Goal, n *NoPlan) (float64, bool) {
	const stepM = 1000.0
	first, last := math.NaN(), math.NaN()
	for atM := n.FromM + stepM; atM < n.ToM; atM += stepM {
		if d.with(atM).holds(g) {
			if math.IsNaN(first) {
				first = atM
			}
			last = atM
		}
	}
	return (first + last) / 2, !math.IsNaN(first)
}

// with returns the drive with one more charger beside the road, of the car's
// full power.
func (d *Drive) with(chainageM float64) *Drive {
	here := energy.Leg{CapKWh: d.Profile.CapacityKWh()}
	added := Charger{
		Pass: Pass{Site: &stations.Site{Name: "one more station"}, ChainageM: chainageM},
		In:   here, Out: here,
		Charge: d.fullPower(),
	}
	more := *d
	i := sort.Search(len(d.Chargers), func(i int) bool { return d.Chargers[i].ChainageM > chainageM })
	more.Chargers = slices.Insert(slices.Clone(d.Chargers), i, added)
	return &more
}

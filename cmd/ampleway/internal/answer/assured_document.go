package answer

import (
	"math"

	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Risk is what straying consumption breaks, from simulated trips. The pointers
// are nil for a car for which no probability is known.
type Risk struct {
	MadeFrom              string   `json:"made_from" jsonschema:"enum=class,enum=label,enum=tables,enum=log,enum=not said" jsonschema_description:"what the car was made from"`
	ProbabilityBasis      string   `json:"probability_basis" jsonschema_description:"what the probabilities here rest on, or that how often the margin suffices is not known, and why; then all of them are absent"`
	SpreadTripPct         float64  `json:"spread_trip_pct" jsonschema:"minimum=0" jsonschema_description:"standard deviation of consumption shared by a whole trip that is allowed for"`
	SpreadLegPct          float64  `json:"spread_leg_pct" jsonschema:"minimum=0" jsonschema_description:"standard deviation of consumption of one leg that is allowed for"`
	ConfidencePct         *float64 `json:"confidence_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"with which every reserve was asked to hold; 0: planned by the estimate alone"`
	PlannedExcessPct      float64  `json:"planned_excess_pct" jsonschema:"minimum=0" jsonschema_description:"the margin: sized for so much higher consumption than estimated"`
	SimulatedTrips        *int     `json:"simulated_trips,omitempty" jsonschema:"minimum=1"`
	Seed                  *uint64  `json:"seed,omitempty"`
	BelowReservePct       *float64 `json:"below_reserve_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"simulated trips that fall below a reserve anywhere"`
	BelowReserveStdErrPct *float64 `json:"below_reserve_std_error_pct,omitempty" jsonschema:"minimum=0" jsonschema_description:"error of the simulation only"`
	EmptyPct              *float64 `json:"empty_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"simulated trips that run the battery empty"`
	EmptyStdErrPct        *float64 `json:"empty_std_error_pct,omitempty" jsonschema:"minimum=0" jsonschema_description:"error of the simulation only"`
	MeanDurationMin       *float64 `json:"mean_duration_min,omitempty" jsonschema:"minimum=0" jsonschema_description:"of the simulated trips that arrive; absent: none does"`
	NineInTenWithinMin    *float64 `json:"nine_in_ten_within_min,omitempty" jsonschema:"minimum=0" jsonschema_description:"nine in ten simulated trips that arrive take no longer; absent: none does"`
	InTimePct             *float64 `json:"in_time_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"simulated trips that are there by the wanted time, where one was given"`
	InTimeStdErrPct       *float64 `json:"in_time_std_error_pct,omitempty" jsonschema:"minimum=0" jsonschema_description:"error of the simulation only"`
	MealLatePct           *float64 `json:"meal_late_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"simulated trips that begin the meal after its hours, where one was asked for"`
	MealLateStdErrPct     *float64 `json:"meal_late_std_error_pct,omitempty" jsonschema:"minimum=0" jsonschema_description:"error of the simulation only"`
}

// LeaveRow is one line of a leave rule, in whole percents of the gauge.
type LeaveRow struct {
	FromPct   int    `json:"from_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"holds from this state of charge on arrival"`
	BelowPct  int    `json:"below_pct" jsonschema:"minimum=1,maximum=101" jsonschema_description:"and below this one; 101 in the last line"`
	LeavePct  int    `json:"leave_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"charge to this; 0: drive on at once"`
	Next      string `json:"next" jsonschema_description:"where to drive"`
	AsPlanned bool   `json:"as_planned" jsonschema_description:"the line that the plan follows"`
	Likely    bool   `json:"likely" jsonschema_description:"consumption within three standard deviations leads here"`
}

// Fallback is what to do where a stop fails on arrival.
type Fallback struct {
	Possible   bool     `json:"possible" jsonschema_description:"false: no other station is within reach"`
	To         string   `json:"to,omitempty" jsonschema_description:"a station, or destination"`
	Station    *Station `json:"station,omitempty"`
	Back       bool     `json:"back" jsonschema_description:"against the direction of the trip"`
	DistanceKM float64  `json:"distance_km" jsonschema:"minimum=0"`
	DriveMin   float64  `json:"drive_min" jsonschema:"minimum=0"`
	ReachPct   float64  `json:"reach_pct" jsonschema:"minimum=0,maximum=100"`
	LaterMin   float64  `json:"later_min" jsonschema_description:"the whole trip takes so much longer than planned; a meal that is still to come is not in it"`
	Anew       bool     `json:"plan_anew,omitempty" jsonschema_description:"the drive ends with less than planned, and the drives after it are to be planned again"`
	MoreStops  int      `json:"further_stops" jsonschema:"minimum=0" jsonschema_description:"from there on, that one included"`
}

// HarderDay is something that takes more than estimated, and what comes of it.
type HarderDay struct {
	Name      string   `json:"name"`
	ReachPct  *float64 `json:"reach_pct,omitempty" jsonschema_description:"with the same stops left with the same states of charge; below 0: not reached"`
	LeastPct  *float64 `json:"least_pct,omitempty" jsonschema_description:"lowest on the way; below 0: the battery is empty before"`
	Beyond    bool     `json:"beyond_a_full_battery,omitempty" jsonschema_description:"true: a leg takes more than a full battery; then reach_pct and least_pct are absent"`
	Holds     bool     `json:"reserve_holds"`
	BreaksLeg int      `json:"breaks_leg,omitempty" jsonschema:"minimum=1" jsonschema_description:"the first leg that breaks a reserve, counted from 1"`
	Replanned *Outline `json:"replanned,omitempty" jsonschema_description:"the best plan then, where a reserve breaks; absent: none was found"`
}

// Choice is another plan worth knowing.
type Choice struct {
	For         string     `json:"for" jsonschema:"enum=slower,enum=fewer_stops,enum=surer,enum=cheaper,enum=other_stops"`
	Text        string     `json:"text" jsonschema_description:"what is different, gained and paid"`
	LaterMin    float64    `json:"later_min" jsonschema_description:"negative: earlier"`
	MoreStops   int        `json:"more_stops" jsonschema_description:"negative: fewer"`
	MoreCost    *MoneyMore `json:"more_cost,omitempty" jsonschema_description:"absent where the costs cannot be compared"`
	HeadroomPct float64    `json:"headroom_pct"`
	Plan        Outline    `json:"plan"`
}

// MoneyMore is what is paid more, or less, in a currency.
type MoneyMore struct {
	Amount   float64 `json:"amount" jsonschema_description:"negative: less"`
	Currency string  `json:"currency" jsonschema_description:"ISO 4217"`
}

// Outline is a plan in short.
type Outline struct {
	DurationMin   float64       `json:"duration_min" jsonschema:"minimum=0"`
	ReachPct      float64       `json:"reach_pct" jsonschema:"minimum=0,maximum=100"`
	HeadroomPct   float64       `json:"headroom_pct"`
	Cost          []Money       `json:"cost"`
	UnpricedStops int           `json:"unpriced_stops" jsonschema:"minimum=0" jsonschema_description:"stops whose price is not known and not in the cost"`
	Stops         []OutlineStop `json:"stops"`
}

// OutlineStop is a stop in short.
type OutlineStop struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	ChainageKM float64 `json:"chainage_km" jsonschema:"minimum=0"`
	ReachPct   float64 `json:"reach_pct" jsonschema:"minimum=0,maximum=100"`
	LeavePct   float64 `json:"leave_pct" jsonschema:"minimum=0,maximum=100"`
	DwellMin   float64 `json:"dwell_min" jsonschema:"minimum=0"`
}

// assure fills what trip.Plan.Assure has found.
func (d *Drive) assure(p *trip.Plan) {
	for i := range p.Rules {
		d.Rules = append(d.Rules, leaveRows(p, i))
	}
	for i := range p.Fallbacks {
		d.Fallbacks = append(d.Fallbacks, fallbackDocument(&p.Fallbacks[i]))
	}
	for i := range p.Stresses {
		d.HarderDays = append(d.HarderDays, harderDay(&p.Stresses[i]))
	}
	for i := range p.Choices {
		d.Choices = append(d.Choices, choiceDocument(&p.Choices[i]))
	}
}

func riskDocument(r *trip.Risk, car *energy.Car, g *trip.Goal) *Risk {
	out := &Risk{
		MadeFrom: string(car.MadeFrom), ProbabilityBasis: trip.ProbabilityBasis(car),
		SpreadTripPct: round(100*r.Spread.Trip, 4), SpreadLegPct: round(100*r.Spread.Leg, 4), PlannedExcessPct: round(100*g.Excess, 4),
	}
	if out.MadeFrom == "" {
		out.MadeFrom = "not said"
	}
	if r.Simulated == nil {
		out.ProbabilityBasis = trip.NotKnown(car)
		return out
	}
	share := func(x float64) *float64 { return new(round(100*x, 4)) }
	out.ConfidencePct, out.SimulatedTrips, out.Seed = share(g.Confidence), new(r.Trips), new(r.Seed)
	out.BelowReservePct, out.BelowReserveStdErrPct = share(r.BelowReserve.Value), share(r.BelowReserve.Error)
	out.EmptyPct, out.EmptyStdErrPct = share(r.Empty.Value), share(r.Empty.Error)
	if !math.IsNaN(r.LateS) {
		out.MeanDurationMin, out.NineInTenWithinMin = new(minutes(r.MeanS)), new(minutes(r.LateS))
	}
	if r.InTime != nil {
		out.InTimePct, out.InTimeStdErrPct = share(r.InTime.Value), share(r.InTime.Error)
	}
	if r.MealLate != nil {
		out.MealLatePct, out.MealLateStdErrPct = share(r.MealLate.Value), share(r.MealLate.Error)
	}
	return out
}

func leaveRows(p *trip.Plan, i int) []LeaveRow {
	var out []LeaveRow
	likely := len(p.LikelyRules(i))
	for n, r := range p.Rules[i] {
		out = append(out, LeaveRow{r.FromPct, r.ToPct, r.LeavePct, r.NextName, r.AsPlanned, n < likely})
	}
	return out
}

func fallbackDocument(f *trip.Fallback) Fallback {
	if f.None {
		return Fallback{}
	}
	out := Fallback{
		Possible: true, To: f.ToName, Back: f.Back,
		DistanceKM: km(f.DistanceM), DriveMin: minutes(f.DriveS), ReachPct: pct(f.ArriveSoC),
		LaterMin: minutes(f.LateS), Anew: f.Anew, MoreStops: f.MoreStops,
	}
	if f.To != nil {
		out.Station = new(station(f.To))
	}
	return out
}

func harderDay(s *trip.Stress) HarderDay {
	out := HarderDay{
		Name: s.Text(question.Metric), Holds: s.Holds(), BreaksLeg: s.BreaksLeg + 1, Beyond: math.IsNaN(s.ArriveSoC),
	}
	if !out.Beyond {
		out.ReachPct, out.LeastPct = new(round(100*s.ArriveSoC, 4)), new(round(100*s.LeastSoC, 4))
	}
	if s.Plan != nil {
		out.Replanned = new(outline(s.Plan))
	}
	return out
}

var choiceNames = map[trip.ChoiceKind]string{
	trip.Slower: "slower", trip.FewerStops: "fewer_stops", trip.Surer: "surer", trip.Cheaper: "cheaper", trip.OtherStops: "other_stops",
}

func choiceDocument(c *trip.Choice) Choice {
	out := Choice{
		For: choiceNames[c.Kind], Text: c.Text(question.Metric),
		LaterMin: minutes(c.MoreS), MoreStops: c.Stops, HeadroomPct: headroomPct(c.Plan.Headroom), Plan: outline(c.Plan),
	}
	if c.Cost != nil {
		out.MoreCost = new(MoneyMore(amount(*c.Cost)))
	}
	return out
}

func outline(p *trip.Plan) Outline {
	out := Outline{
		DurationMin: minutes(p.TimeS), ReachPct: pct(p.ArriveSoC), HeadroomPct: headroomPct(p.Headroom),
		Cost: amounts(p.Cost), UnpricedStops: p.Cost.Unknown(), Stops: []OutlineStop{},
	}
	for i := range p.Stops {
		s := &p.Stops[i]
		out.Stops = append(out.Stops, OutlineStop{
			s.Charger.Site.ID, trip.SiteName(s.Charger.Site), km(s.Charger.ChainageM), pct(s.ArriveSoC), pct(s.LeaveSoC), minutes(s.DwellS),
		})
	}
	return out
}

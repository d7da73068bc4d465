package answer

import (
	"math"
	"time"

	"ampleway/data/money"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Format names the JSON form of a journey and its version. It changes when a
// key changes its meaning or goes.
const Format = "ampleway-journey/1"

// Document is a journey as JSON: SI-derived units in the keys, shares in
// percent, times in minutes or ISO 8601 with offset. A trip has one drive.
type Document struct {
	Format        string  `json:"format" jsonschema:"enum=ampleway-journey/1" jsonschema_description:"name and version of this form"`
	Note          string  `json:"note,omitempty" jsonschema_description:"a sentence about the input, such as that it is invented"`
	Name          string  `json:"name" jsonschema_description:"where it leads"`
	Car           string  `json:"car" jsonschema_description:"name of the car"`
	CapacityKWh   float64 `json:"capacity_kwh" jsonschema:"minimum=0" jsonschema_description:"usable energy of the battery"`
	ReservePct    float64 `json:"reserve_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"least on reaching a stop"`
	EndReservePct float64 `json:"destination_reserve_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"least at the end of every drive"`
	Short
	ArriveBy    string   `json:"arrive_by,omitempty" jsonschema:"format=date-time" jsonschema_description:"the wanted arrival, if one was given: depart_at is then the latest that does it"`
	EndsAtStart bool     `json:"ends_at_start" jsonschema_description:"the last drive ends where the first began: home again"`
	Drives      []*Drive `json:"drives" jsonschema:"minItems=1" jsonschema_description:"in their order"`
	Stays       []Stay   `json:"stays" jsonschema_description:"one after each drive but the last"`
	Risk        *Risk    `json:"risk,omitempty" jsonschema_description:"how often straying consumption breaks a reserve; the times hold the stays"`
	Assumptions []string `json:"assumptions"`
	Warnings    []string `json:"warnings" jsonschema_description:"what to look at before setting out, the gravest first"`
	Cautions    []string `json:"cautions"`
	Credits     []string `json:"credits" jsonschema_description:"whose data this is made from, under which licence, for people; to be shown with it"`
}

// Short is a journey in a few figures.
type Short struct {
	DepartAt      string  `json:"depart_at,omitempty" jsonschema:"format=date-time" jsonschema_description:"departure, if one was given"`
	ArriveAt      string  `json:"arrive_at,omitempty" jsonschema:"format=date-time"`
	DistanceKM    float64 `json:"distance_km" jsonschema:"minimum=0" jsonschema_description:"with the detours"`
	DurationMin   float64 `json:"duration_min" jsonschema:"minimum=0" jsonschema_description:"from the first departure to the last arrival, the stays included"`
	DrivingMin    float64 `json:"driving_min" jsonschema:"minimum=0" jsonschema_description:"with the detours"`
	ChargingMin   float64 `json:"charging_min" jsonschema:"minimum=0" jsonschema_description:"time at the stops in which power flows"`
	OffRoadMin    float64 `json:"off_road_min" jsonschema:"minimum=0" jsonschema_description:"at the stops, from leaving the road to rejoining it"`
	StopCount     int     `json:"stop_count" jsonschema:"minimum=0"`
	LeavePct      float64 `json:"leave_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"state of charge at the start"`
	ReachPct      float64 `json:"reach_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"state of charge at the end"`
	LeastPct      float64 `json:"least_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"lowest anywhere on the way"`
	HeadroomPct   float64 `json:"headroom_pct" jsonschema_description:"consumption may be this much above the estimate before a reserve is broken on some leg; 1000 stands for more"`
	ToEmptyPct    float64 `json:"to_empty_pct" jsonschema_description:"the same before the battery is empty"`
	DrivenKWh     float64 `json:"driven_kwh" jsonschema_description:"drawn from the battery on the road"`
	ChargedKWh    float64 `json:"charged_kwh" jsonschema:"minimum=0" jsonschema_description:"put into the battery at the stops"`
	Cost          []Money `json:"cost" jsonschema_description:"of the stops, one for each currency"`
	UnpricedStops int     `json:"unpriced_stops" jsonschema:"minimum=0" jsonschema_description:"stops whose price is not known and not in the cost"`
}

// Drive is one drive of a journey.
type Drive struct {
	Route string `json:"route" jsonschema_description:"name of the route"`
	Short
	SetupMin    float64      `json:"setup_min" jsonschema:"minimum=0" jsonschema_description:"at the bays without power: parking, paying, waiting"`
	LeastAtKM   float64      `json:"least_at_km" jsonschema:"minimum=0"`
	HeadroomLeg int          `json:"headroom_leg" jsonschema:"minimum=1" jsonschema_description:"the leg that decides the headroom, counted from 1"`
	FuelCar     *Fuel        `json:"fuel_car,omitempty" jsonschema_description:"the same road in a fuel car, where one was named"`
	Stops       []Stop       `json:"stops"`
	Legs        []Leg        `json:"legs" jsonschema:"minItems=1"`
	Track       []Track      `json:"track" jsonschema_description:"state of charge along the road; two at a stop"`
	Rules       [][]LeaveRow `json:"rules,omitempty" jsonschema_description:"for each stop: what to leave with, by the gauge on arrival; figures are rounded so that the reserves hold"`
	Fallbacks   []Fallback   `json:"fallbacks,omitempty" jsonschema_description:"for each stop: what to do if its charger is down, taken or closed on arrival"`
	HarderDays  []HarderDay  `json:"harder_days,omitempty" jsonschema_description:"what takes more than estimated, and what comes of it"`
	Choices     []Choice     `json:"choices,omitempty" jsonschema_description:"at most five other plans worth knowing"`
	Proof       Proof        `json:"proof" jsonschema_description:"whether the plan is proven to be the best"`
}

// Stay is a time between two drives.
type Stay struct {
	After       string  `json:"after" jsonschema_description:"name of the route that ends there"`
	Plug        string  `json:"plug" jsonschema_description:"what the car is plugged into, for people"`
	DurationMin float64 `json:"duration_min" jsonschema:"minimum=0"`
	ReachPct    float64 `json:"reach_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"as the stay begins"`
	LeavePct    float64 `json:"leave_pct" jsonschema:"minimum=0,maximum=100"`
	EnergyKWh   float64 `json:"energy_kwh" jsonschema:"minimum=0" jsonschema_description:"into the battery"`
}

// Fuel is the same road in a fuel car.
type Fuel struct {
	Litres   float64    `json:"litres" jsonschema:"minimum=0"`
	Cost     Money      `json:"cost"`
	MoreCost *MoneyMore `json:"more_cost" jsonschema:"oneof_type=object;null" jsonschema_description:"than the charging on the way; null where that is not wholly known in the same currency or by a stated rate"`
	Text     string     `json:"text" jsonschema_description:"for people"`
}

func fuelDocument(p *trip.Plan) *Fuel {
	cost, litres, ok := p.FuelCost()
	if !ok {
		return nil
	}
	out := &Fuel{Litres: round(litres, 3), Cost: amount(cost), Text: p.FuelText(question.Metric)}
	if more, ok := p.FuelMore(); ok {
		out.MoreCost = new(MoneyMore(amount(more)))
	}
	return out
}

// Money is an amount in a currency.
type Money struct {
	Amount   float64 `json:"amount" jsonschema:"minimum=0"`
	Currency string  `json:"currency" jsonschema_description:"ISO 4217"`
}

// Stop is one visit to a station.
type Stop struct {
	Station    Station `json:"station"`
	ChainageKM float64 `json:"chainage_km" jsonschema:"minimum=0" jsonschema_description:"where the driver leaves the road"`
	DetourKM   float64 `json:"detour_km" jsonschema:"minimum=0" jsonschema_description:"off the road and back"`
	ArriveAt   string  `json:"arrive_at,omitempty" jsonschema:"format=date-time"`
	LeaveAt    string  `json:"leave_at,omitempty" jsonschema:"format=date-time"`
	ArriveMin  float64 `json:"arrive_min" jsonschema:"minimum=0" jsonschema_description:"at the bay, after departure"`
	ReachPct   float64 `json:"reach_pct" jsonschema:"minimum=0,maximum=100"`
	LeavePct   float64 `json:"leave_pct" jsonschema:"minimum=0,maximum=100"`
	DwellMin   float64 `json:"dwell_min" jsonschema:"minimum=0" jsonschema_description:"from leaving the road to rejoining it: detour, setup, waiting, charging"`
	DetourMin  float64 `json:"detour_min" jsonschema:"minimum=0"`
	SetupMin   float64 `json:"setup_min" jsonschema:"minimum=0"`
	WaitMin    float64 `json:"wait_min" jsonschema:"minimum=0"`
	ChargeMin  float64 `json:"charge_min" jsonschema:"minimum=0"`
	EnergyKWh  float64 `json:"energy_kwh" jsonschema:"minimum=0" jsonschema_description:"into the battery"`
	BilledKWh  float64 `json:"billed_kwh" jsonschema:"minimum=0" jsonschema_description:"drawn by the station"`
	PowerInKW  float64 `json:"power_in_kw" jsonschema:"minimum=0" jsonschema_description:"into the battery on plugging in"`
	PowerOutKW float64 `json:"power_out_kw" jsonschema:"minimum=0" jsonschema_description:"into the battery on leaving"`
	PackTempC  float64 `json:"pack_temp_c" jsonschema_description:"battery temperature that the power is taken at"`
	Cost       *Money  `json:"cost" jsonschema:"oneof_type=object;null" jsonschema_description:"null where the price is not known"`
	Meal       *Meal   `json:"meal,omitempty" jsonschema_description:"where the meal that was asked for is had here"`
}

// Meal is the meal at a stop.
type Meal struct {
	BeginAt   string  `json:"begin_at" jsonschema:"format=date-time"`
	LeastMin  float64 `json:"least_min" jsonschema:"minimum=0" jsonschema_description:"how long it lasts; the stay may be longer"`
	FoodKnown bool    `json:"food_known" jsonschema_description:"the data name something to eat at the station"`
	Text      string  `json:"text" jsonschema_description:"for people"`
}

// Proof is what is known about how good the plan is.
type Proof struct {
	Proven bool   `json:"proven" jsonschema_description:"no plan is better by what was asked for"`
	Text   string `json:"text,omitempty" jsonschema_description:"for people: how the plan was searched for, and how much better another one can be at most, where that is known"`
}

// Station is where a stop is made.
type Station struct {
	ID           string   `json:"id"`
	Name         string   `json:"name"`
	Operator     string   `json:"operator"`
	Network      string   `json:"network,omitempty"`
	Address      string   `json:"address,omitempty"`
	Phone        string   `json:"phone,omitempty" jsonschema_description:"telephone number, as the data have it"`
	Lon          float64  `json:"lon" jsonschema:"minimum=-180,maximum=180"`
	Lat          float64  `json:"lat" jsonschema:"minimum=-90,maximum=90"`
	Connector    string   `json:"connector"`
	PowerKW      float64  `json:"power_kw" jsonschema:"minimum=0" jsonschema_description:"of one bay that fits the car"`
	PowerAssumed bool     `json:"power_assumed" jsonschema_description:"the power is a default, not from the data"`
	Bays         int      `json:"bays" jsonschema:"minimum=0" jsonschema_description:"that give this"`
	BaysAtHalf   int      `json:"bays_at_half_power" jsonschema:"minimum=0" jsonschema_description:"that give half of this or more"`
	Hours        string   `json:"opening_hours,omitempty"`
	There        []string `json:"there,omitempty" jsonschema_description:"what else there is"`
	Source       string   `json:"source,omitempty"`
	Licence      string   `json:"licence,omitempty"`
}

// Leg is the drive between two stops, detours included.
type Leg struct {
	From        string  `json:"from"`
	To          string  `json:"to"`
	DistanceKM  float64 `json:"distance_km" jsonschema:"minimum=0"`
	DurationMin float64 `json:"duration_min" jsonschema:"minimum=0"`
	EnergyKWh   float64 `json:"energy_kwh" jsonschema_description:"in the battery at departure less at arrival"`
	LeavePct    float64 `json:"leave_pct" jsonschema:"minimum=0,maximum=100"`
	ReachPct    float64 `json:"reach_pct" jsonschema:"minimum=0,maximum=100"`
	LeastPct    float64 `json:"least_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"lowest on the way"`
	HeadroomPct float64 `json:"headroom_pct" jsonschema_description:"1000 stands for more"`
	LostKWh     float64 `json:"lost_kwh" jsonschema:"minimum=0" jsonschema_description:"regeneration that a full battery could not take"`
}

// Track is the state of charge at a place on the road.
type Track struct {
	ChainageKM float64 `json:"chainage_km" jsonschema:"minimum=0"`
	SoCPct     float64 `json:"soc_pct" jsonschema:"minimum=0,maximum=100"`
	ElapsedMin float64 `json:"elapsed_min" jsonschema:"minimum=0"`
}

// JSON is a *Document.
func (j Journey) JSON(o Options) any { return NewDocument(j, o) }

// NewDocument turns a journey into its JSON form.
func NewDocument(j Journey, o Options) *Document {
	first := j.Plans[0]
	d := &Document{
		Format: Format, Note: o.Note, Name: journeyName(j.drives()), Car: first.Drive.Car.Name, CapacityKWh: kwh(first.Drive.Profile.CapacityKWh()),
		ReservePct: pct(first.Goal.ReserveSoC), EndReservePct: pct(first.Goal.ArriveReserveSoC),
		Short: short(j), EndsAtStart: endsAtStart(j.drives()), Stays: []Stay{},
		Assumptions: assumptions(j, question.Metric), Warnings: warnings(j, question.Metric), Cautions: cautions(j), Credits: trip.Credits(j.Plans...),
	}
	if by := first.Goal.ArriveBy; !by.IsZero() {
		d.ArriveBy = by.Format(time.RFC3339)
	}
	for _, p := range j.Plans {
		d.Drives = append(d.Drives, driveDocument(p))
	}
	for _, s := range j.Stays {
		d.Stays = append(d.Stays, stayDocument(&s))
	}
	if j.Risk != nil {
		d.Risk = riskDocument(j.Risk, first.Drive.Car, &first.Goal)
	}
	return d
}

func stayDocument(s *trip.StayPlan) Stay {
	return Stay{
		After: s.At, Plug: s.Plug.Text(), DurationMin: minutes(s.TimeS),
		ReachPct: pct(s.ArriveSoC), LeavePct: pct(s.LeaveSoC), EnergyKWh: kwh(s.BatteryKWh),
	}
}

// short is a journey in figures; what is lowest is the lowest of any drive.
func short(j Journey) Short {
	first, last := j.Plans[0], j.last()
	cost := j.cost()
	out := Short{
		DepartAt: clock(first, 0), ArriveAt: clock(last, last.TimeS), DurationMin: minutes(j.timeS()),
		LeavePct: pct(first.Goal.DepartSoC), ReachPct: pct(last.ArriveSoC), Cost: amounts(cost), UnpricedStops: cost.Unknown(),
	}
	leastSoC, headroom, toEmpty := math.Inf(1), math.Inf(1), math.Inf(1)
	var distanceM, driveS, chargeS, offRoadS, driven, charged float64
	for _, p := range j.Plans {
		out.StopCount += len(p.Stops)
		distanceM, driveS, chargeS, driven, charged = distanceM+p.DistanceM, driveS+p.DriveS, chargeS+p.ChargeS, driven+p.DrivenKWh, charged+p.ChargedKWh
		offRoadS += dwellS(p)
		leastSoC, headroom, toEmpty = min(leastSoC, p.LeastSoC), min(headroom, p.Headroom), min(toEmpty, p.ToEmpty)
	}
	out.DistanceKM, out.DrivingMin, out.ChargingMin, out.OffRoadMin = km(distanceM), minutes(driveS), minutes(chargeS), minutes(offRoadS)
	out.DrivenKWh, out.ChargedKWh = kwh(driven), kwh(charged)
	out.LeastPct, out.HeadroomPct, out.ToEmptyPct = pct(leastSoC), headroomPct(headroom), headroomPct(toEmpty)
	return out
}

func driveDocument(p *trip.Plan) *Drive {
	d := &Drive{
		Route: p.Drive.Corridor.Route.Name, Short: short(Alone(p)), SetupMin: minutes(p.StopS - p.ChargeS),
		LeastAtKM: km(p.LeastAtM), HeadroomLeg: p.HeadroomLeg + 1, FuelCar: fuelDocument(p),
		Stops: []Stop{}, Legs: []Leg{}, Track: []Track{}, Proof: Proof{p.ProofText() == "", p.ProofText()},
	}
	for i := range p.Stops {
		d.Stops = append(d.Stops, stopDocument(p, i))
	}
	for i := range p.Legs {
		d.Legs = append(d.Legs, legDocument(&p.Legs[i]))
	}
	for _, t := range p.Track {
		d.Track = append(d.Track, Track{km(t.ChainageM), pct(t.SoC), minutes(t.TimeS)})
	}
	d.assure(p)
	return d
}

func stopDocument(p *trip.Plan, i int) Stop {
	s := &p.Stops[i]
	out := Stop{
		Station:    station(s.Charger),
		ChainageKM: km(s.Charger.ChainageM), DetourKM: km(2 * s.Charger.OneWayM),
		ArriveAt: clock(p, s.ArriveS), LeaveAt: clock(p, s.LeaveS), ArriveMin: minutes(s.ArriveS),
		ReachPct: pct(s.ArriveSoC), LeavePct: pct(s.LeaveSoC),
		DwellMin: minutes(s.DwellS), DetourMin: minutes(s.DetourS), SetupMin: minutes(s.OverheadS),
		WaitMin: minutes(s.WaitS), ChargeMin: minutes(s.ChargeS),
		EnergyKWh: kwh(s.BatteryKWh), BilledKWh: kwh(s.BilledKWh),
		PowerInKW: round(s.PowerInKW, 2), PowerOutKW: round(s.PowerOutKW, 2), PackTempC: round(s.Charger.PackTempC, 1),
	}
	if s.Cost != nil {
		out.Cost = new(amount(*s.Cost))
	}
	if s.Meal {
		out.Meal = &Meal{clock(p, s.MealFromS), minutes(p.Goal.Meal.LeastS), trip.ServesFood(s.Charger.Site), p.MealText(i)}
	}
	return out
}

func station(c *trip.Charger) Station {
	s := c.Site
	return Station{
		ID: s.ID, Name: trip.SiteName(s), Operator: s.Operator, Network: s.Network, Address: s.Address, Phone: s.Phone,
		Lon: s.Lon, Lat: s.Lat, Connector: string(c.Offer.Connector),
		PowerKW: c.Offer.PowerKW, PowerAssumed: c.Offer.Assumed, Bays: c.Offer.Stalls, BaysAtHalf: c.Bays,
		Hours: s.Hours, There: s.Amenities, Source: s.Source, Licence: s.Licence,
	}
}

func legDocument(l *trip.Leg) Leg {
	return Leg{
		From: l.From, To: l.To,
		DistanceKM: km(l.DistanceM), DurationMin: minutes(l.TimeS), EnergyKWh: kwh(l.EnergyKWh),
		LeavePct: pct(l.DepartSoC), ReachPct: pct(l.ArriveSoC), LeastPct: pct(l.LeastSoC),
		HeadroomPct: headroomPct(l.Headroom), LostKWh: kwh(math.Max(l.LostKWh, 0)),
	}
}

func amount(a money.Amount) Money { return Money{Amount: round(a.Float(), 4), Currency: a.Currency} }

func amounts(s money.Sum) []Money {
	out := []Money{}
	for _, a := range s.Amounts() {
		out = append(out, amount(a))
	}
	return out
}

func clock(p *trip.Plan, timeS float64) string {
	t, ok := p.At(timeS)
	if !ok {
		return ""
	}
	return t.Round(time.Second).Format(time.RFC3339)
}

func round(x float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(x*scale)/scale + 0 // no negative zero
}

func km(m float64) float64      { return round(m/1000, 3) }
func minutes(s float64) float64 { return round(s/60, 3) }
func kwh(e float64) float64     { return round(e, 4) }

// pct keeps a share that rounding pushed below nothing, or above all, inside.
func pct(share float64) float64 { return round(100*math.Min(math.Max(share, 0), 1), 4) }

// headroomPct is a percentage; a headroom without bound prints as 1000.
func headroomPct(share float64) float64 { return round(100*math.Min(share, 10), 2) }

package report

import (
	"math"
	"time"

	"ampleway/data/money"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Format names the JSON form and its version. It changes when a key changes
// its meaning or goes.
const Format = "ampleway-trip/1"

// Document is a trip as JSON: SI-derived units in the keys, shares in percent,
// times in minutes or ISO 8601 with offset.
type Document struct {
	Format             string       `json:"format" jsonschema:"enum=ampleway-trip/1" jsonschema_description:"name and version of this form"`
	Note               string       `json:"note,omitempty" jsonschema_description:"a sentence about the input, such as that it is invented"`
	Route              string       `json:"route" jsonschema_description:"name of the route"`
	Car                string       `json:"car" jsonschema_description:"name of the car"`
	DepartAt           string       `json:"depart_at,omitempty" jsonschema:"format=date-time" jsonschema_description:"departure, if one was given"`
	ArriveAt           string       `json:"arrive_at,omitempty" jsonschema:"format=date-time"`
	ArriveBy           string       `json:"arrive_by,omitempty" jsonschema:"format=date-time" jsonschema_description:"the wanted arrival, if one was given: depart_at is then the latest that does it"`
	DistanceKM         float64      `json:"distance_km" jsonschema:"minimum=0" jsonschema_description:"with the detours"`
	DurationMin        float64      `json:"duration_min" jsonschema:"minimum=0" jsonschema_description:"driving and stops"`
	DrivingMin         float64      `json:"driving_min" jsonschema:"minimum=0" jsonschema_description:"with the detours"`
	ChargingMin        float64      `json:"charging_min" jsonschema:"minimum=0" jsonschema_description:"time in which power flows"`
	OverheadMin        float64      `json:"overhead_min" jsonschema:"minimum=0" jsonschema_description:"at the bays without power: parking, paying, waiting"`
	DepartSoCPct       float64      `json:"depart_soc_pct" jsonschema:"minimum=0,maximum=100"`
	ArrivalSoCPct      float64      `json:"arrival_soc_pct" jsonschema:"minimum=0,maximum=100"`
	ReservePct         float64      `json:"reserve_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"least on reaching a stop"`
	DestinationReserve float64      `json:"destination_reserve_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"least at the destination"`
	LeastSoCPct        float64      `json:"least_soc_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"lowest anywhere on the trip"`
	LeastSoCAtKM       float64      `json:"least_soc_at_km" jsonschema:"minimum=0"`
	HeadroomPct        float64      `json:"headroom_pct" jsonschema_description:"consumption may be this much above the estimate before a reserve is broken on some leg; 1000 stands for more"`
	HeadroomLeg        int          `json:"headroom_leg" jsonschema:"minimum=1" jsonschema_description:"the leg that decides it, counted from 1"`
	ToEmptyPct         float64      `json:"to_empty_pct" jsonschema_description:"the same before the battery is empty"`
	CapacityKWh        float64      `json:"capacity_kwh" jsonschema:"minimum=0" jsonschema_description:"usable energy of the battery"`
	DrivenKWh          float64      `json:"driven_kwh" jsonschema_description:"drawn from the battery on the road"`
	ChargedKWh         float64      `json:"charged_kwh" jsonschema:"minimum=0" jsonschema_description:"put into the battery at the stops"`
	Cost               []Money      `json:"cost" jsonschema_description:"of the stops, one for each currency"`
	UnpricedStops      int          `json:"unpriced_stops" jsonschema:"minimum=0" jsonschema_description:"stops whose price is not known and not in the cost"`
	FuelCar            *Fuel        `json:"fuel_car,omitempty" jsonschema_description:"the same road in a fuel car, where one was named"`
	Stops              []Stop       `json:"stops"`
	Legs               []Leg        `json:"legs" jsonschema:"minItems=1"`
	Track              []Track      `json:"track" jsonschema_description:"state of charge along the road; two at a stop"`
	Risk               *Risk        `json:"risk,omitempty" jsonschema_description:"how often straying consumption breaks a reserve"`
	LeaveRules         [][]LeaveRow `json:"leave_rules,omitempty" jsonschema_description:"for each stop: what to leave with, by the gauge on arrival; figures are rounded so that the reserves hold"`
	Fallbacks          []Fallback   `json:"fallbacks,omitempty" jsonschema_description:"for each stop: what to do if its charger is down, taken or closed on arrival"`
	Hardships          []Hardship   `json:"hardships,omitempty" jsonschema_description:"what takes more than estimated, and what comes of it"`
	Choices            []Choice     `json:"choices,omitempty" jsonschema_description:"at most five other plans worth knowing"`
	Proof              Proof        `json:"proof" jsonschema_description:"whether the plan is proven to be the best"`
	Assumptions        []string     `json:"assumptions"`
	Warnings           []string     `json:"warnings"`
	Cautions           []string     `json:"cautions"`
	Credits            []string     `json:"credits" jsonschema_description:"whose data this is made from, under which licence, for people; to be shown with it"`
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
		out.MoreCost = &MoneyMore{Amount: round(more.Float(), 4), Currency: more.Currency}
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
	Station      Station `json:"station"`
	ChainageKM   float64 `json:"chainage_km" jsonschema:"minimum=0" jsonschema_description:"where the driver leaves the road"`
	DetourKM     float64 `json:"detour_km" jsonschema:"minimum=0" jsonschema_description:"off the road and back"`
	ArriveAt     string  `json:"arrive_at,omitempty" jsonschema:"format=date-time"`
	LeaveAt      string  `json:"leave_at,omitempty" jsonschema:"format=date-time"`
	ArriveMin    float64 `json:"arrive_min" jsonschema:"minimum=0" jsonschema_description:"at the bay, after departure"`
	ArriveSoCPct float64 `json:"arrive_soc_pct" jsonschema:"minimum=0,maximum=100"`
	LeaveSoCPct  float64 `json:"leave_soc_pct" jsonschema:"minimum=0,maximum=100"`
	DwellMin     float64 `json:"dwell_min" jsonschema:"minimum=0" jsonschema_description:"from leaving the road to rejoining it: detour, overhead, waiting, charging"`
	DetourMin    float64 `json:"detour_min" jsonschema:"minimum=0"`
	OverheadMin  float64 `json:"overhead_min" jsonschema:"minimum=0"`
	WaitMin      float64 `json:"wait_min" jsonschema:"minimum=0"`
	ChargeMin    float64 `json:"charge_min" jsonschema:"minimum=0"`
	EnergyKWh    float64 `json:"energy_kwh" jsonschema:"minimum=0" jsonschema_description:"into the battery"`
	BilledKWh    float64 `json:"billed_kwh" jsonschema:"minimum=0" jsonschema_description:"drawn by the station"`
	PowerInKW    float64 `json:"power_in_kw" jsonschema:"minimum=0" jsonschema_description:"into the battery on plugging in"`
	PowerOutKW   float64 `json:"power_out_kw" jsonschema:"minimum=0" jsonschema_description:"into the battery on leaving"`
	PackTempC    float64 `json:"pack_temp_c" jsonschema_description:"battery temperature that the power is taken at"`
	Cost         *Money  `json:"cost" jsonschema:"oneof_type=object;null" jsonschema_description:"null where the price is not known"`
	Meal         *Meal   `json:"meal,omitempty" jsonschema_description:"where the meal that was asked for is had here"`
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
	Stalls       int      `json:"stalls" jsonschema:"minimum=0" jsonschema_description:"bays that give this"`
	Bays         int      `json:"bays" jsonschema:"minimum=0" jsonschema_description:"that give half of this or more"`
	Hours        string   `json:"opening_hours,omitempty"`
	Amenities    []string `json:"amenities,omitempty"`
	Source       string   `json:"source,omitempty"`
	Licence      string   `json:"licence,omitempty"`
}

// Leg is the drive between two stops, detours included.
type Leg struct {
	From         string  `json:"from"`
	To           string  `json:"to"`
	DistanceKM   float64 `json:"distance_km" jsonschema:"minimum=0"`
	DurationMin  float64 `json:"duration_min" jsonschema:"minimum=0"`
	EnergyKWh    float64 `json:"energy_kwh" jsonschema_description:"in the battery at departure less at arrival"`
	DepartSoCPct float64 `json:"depart_soc_pct" jsonschema:"minimum=0,maximum=100"`
	ArriveSoCPct float64 `json:"arrive_soc_pct" jsonschema:"minimum=0,maximum=100"`
	MinSoCPct    float64 `json:"min_soc_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"lowest on the way"`
	HeadroomPct  float64 `json:"headroom_pct" jsonschema_description:"1000 stands for more"`
	LostKWh      float64 `json:"lost_kwh" jsonschema:"minimum=0" jsonschema_description:"regeneration that a full battery could not take"`
}

// Track is the state of charge at a place on the road.
type Track struct {
	ChainageKM float64 `json:"chainage_km" jsonschema:"minimum=0"`
	SoCPct     float64 `json:"soc_pct" jsonschema:"minimum=0,maximum=100"`
	ElapsedMin float64 `json:"elapsed_min" jsonschema:"minimum=0"`
}

// NewDocument turns a plan into its JSON form.
func NewDocument(p *trip.Plan, o Options) *Document {
	d := &Document{
		Format: Format, Note: o.Note,
		Route: p.Drive.Corridor.Route.Name, Car: p.Drive.Car.Name,
		DepartAt: clock(p, 0), ArriveAt: clock(p, p.TimeS),
		DistanceKM: km(p.DistanceM), DurationMin: minutes(p.TimeS), DrivingMin: minutes(p.DriveS),
		ChargingMin: minutes(p.ChargeS), OverheadMin: minutes(p.StopS - p.ChargeS),
		DepartSoCPct: pct(p.Goal.DepartSoC), ArrivalSoCPct: pct(p.ArriveSoC),
		ReservePct: pct(p.Goal.ReserveSoC), DestinationReserve: pct(p.Goal.ArriveReserveSoC),
		LeastSoCPct: pct(p.LeastSoC), LeastSoCAtKM: km(p.LeastAtM),
		HeadroomPct: headroomPct(p.Headroom), HeadroomLeg: p.HeadroomLeg + 1, ToEmptyPct: headroomPct(p.ToEmpty),
		CapacityKWh: kwh(p.Drive.Profile.CapacityKWh()), DrivenKWh: kwh(p.DrivenKWh), ChargedKWh: kwh(p.ChargedKWh),
		Cost: amounts(p.Cost), UnpricedStops: p.Cost.Unknown(), FuelCar: fuelDocument(p),
		Stops: []Stop{}, Legs: []Leg{}, Track: []Track{},
		Proof:       Proof{p.ProofText() == "", p.ProofText()},
		Assumptions: p.Assumptions(question.Metric), Warnings: append([]string{}, p.Warnings(question.Metric)...), Cautions: trip.Cautions, Credits: trip.Credits(p),
	}
	if by := p.Goal.ArriveBy; !by.IsZero() {
		d.ArriveBy = by.Format(time.RFC3339)
	}
	d.assure(p)
	for i := range p.Stops {
		d.Stops = append(d.Stops, stopDocument(p, i))
	}
	for i := range p.Legs {
		d.Legs = append(d.Legs, legDocument(&p.Legs[i]))
	}
	for _, t := range p.Track {
		d.Track = append(d.Track, Track{km(t.ChainageM), pct(t.SoC), minutes(t.TimeS)})
	}
	return d
}

func stopDocument(p *trip.Plan, i int) Stop {
	s := &p.Stops[i]
	out := Stop{
		Station:    station(s.Charger),
		ChainageKM: km(s.Charger.ChainageM), DetourKM: km(2 * s.Charger.OneWayM),
		ArriveAt: clock(p, s.ArriveS), LeaveAt: clock(p, s.LeaveS), ArriveMin: minutes(s.ArriveS),
		ArriveSoCPct: pct(s.ArriveSoC), LeaveSoCPct: pct(s.LeaveSoC),
		DwellMin: minutes(s.DwellS), DetourMin: minutes(s.DetourS), OverheadMin: minutes(s.OverheadS),
		WaitMin: minutes(s.WaitS), ChargeMin: minutes(s.ChargeS),
		EnergyKWh: kwh(s.BatteryKWh), BilledKWh: kwh(s.BilledKWh),
		PowerInKW: round(s.PowerInKW, 2), PowerOutKW: round(s.PowerOutKW, 2), PackTempC: round(s.Charger.PackTempC, 1),
	}
	if s.Cost != nil {
		m := amount(*s.Cost)
		out.Cost = &m
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
		PowerKW: c.Offer.PowerKW, PowerAssumed: c.Offer.Assumed, Stalls: c.Offer.Stalls, Bays: c.Bays,
		Hours: s.Hours, Amenities: s.Amenities, Source: s.Source, Licence: s.Licence,
	}
}

func legDocument(l *trip.Leg) Leg {
	return Leg{
		From: l.From, To: l.To,
		DistanceKM: km(l.DistanceM), DurationMin: minutes(l.TimeS), EnergyKWh: kwh(l.EnergyKWh),
		DepartSoCPct: pct(l.DepartSoC), ArriveSoCPct: pct(l.ArriveSoC), MinSoCPct: pct(l.LeastSoC),
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

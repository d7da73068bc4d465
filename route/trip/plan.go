package trip

import (
	"time"

	"ampleway/data/money"
	"ampleway/route/stops"
)

// Plan is one trip, ready to be written out. Shares are fractions, times are
// seconds.
type Plan struct {
	Drive *Drive
	Goal  Goal

	DistanceM  float64 // with the detours
	TimeS      float64 // DriveS + StopS
	DriveS     float64 // with the detours
	ChargeS    float64 // power flows
	StopS      float64 // at the stalls: overhead, charging, waiting
	DrivenKWh  float64 // drawn from the battery on the road
	ChargedKWh float64 // put into the battery at the stops
	ArriveSoC  float64
	LeastSoC   float64 // lowest anywhere on the trip
	LeastAtM   float64 // the chainage of that
	Headroom   float64 // consumption may be this share higher before a reserve is broken, on the leg HeadroomLeg
	ToEmpty    float64 // the same before the battery is empty, on the leg ToEmptyLeg

	HeadroomLeg, ToEmptyLeg int

	Cost money.Sum // of the stops

	Stops []Stop
	Legs  []Leg // one more than stops
	Track []TrackPoint

	// What Assure adds.
	Rules     [][]LeaveRow // for each stop
	Risk      *Risk
	Fallbacks []Fallback // one for each stop
	Stresses  []Stress
	Choices   []Choice

	Exact stops.Plan

	course      *Goal   // what its leave rules are the best for, where that is not Goal itself: see Drive.polish
	allowedLegs int     // of the plan for Goal.Excess, which may have more than Legs
	openBy      float64 // on the day that it is planned for, where that is a hard one, no plan is known to be better by more; of stops.Plan.Value
}

// Stop is one visit to a station.
type Stop struct {
	Charger    *Charger
	ArriveS    float64 // after departure, at the stall
	LeaveS     float64
	ArriveSoC  float64
	LeaveSoC   float64
	DwellS     float64 // from leaving the road to rejoining it
	DetourS    float64
	OverheadS  float64
	WaitS      float64
	ChargeS    float64
	BatteryKWh float64       // put into the battery
	BilledKWh  float64       // drawn by the station
	PowerInKW  float64       // into the battery, on plugging in
	PowerOutKW float64       // on leaving
	Cost       *money.Amount // nil: the price is not known
	Meal       bool          // the meal is had here
	MealFromS  float64       // when it begins, after departure
}

// Leg is the drive between two stops, detours included.
type Leg struct {
	From, To   string
	FromM, ToM float64 // chainages on the road
	DistanceM  float64
	TimeS      float64
	EnergyKWh  float64 // departure less arrival
	DepartSoC  float64
	ArriveSoC  float64
	LeastSoC   float64 // lowest on the way
	LeastAtM   float64
	Headroom   float64 // as in Plan
	ToEmpty    float64
	ReserveSoC float64 // what the leg must arrive with
	LostKWh    float64 // regeneration lost into a full battery
}

// TrackPoint is the state of charge at a place on the road. At a stop there
// are two: on leaving the road and on rejoining it.
type TrackPoint struct {
	ChainageM float64
	SoC       float64
	TimeS     float64
}

// At returns the clock time so many seconds after departure, and false where
// the goal has no departure time.
func (p *Plan) At(timeS float64) (time.Time, bool) {
	if p.Goal.Depart.IsZero() {
		return time.Time{}, false
	}
	return p.Goal.Depart.Add(seconds(timeS)), true
}

// wantedS is how long after departure the wanted arrival is.
func (p *Plan) wantedS() (timeS float64, wanted bool) {
	if p.Goal.Depart.IsZero() || p.Goal.ArriveBy.IsZero() {
		return 0, false
	}
	return p.Goal.ArriveBy.Sub(p.Goal.Depart).Seconds(), true
}

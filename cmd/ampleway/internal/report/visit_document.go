package report

import (
	"ampleway/route/trip"
)

// VisitFormat names the JSON form of several drives and its version. It changes
// when a key changes its meaning or goes.
const VisitFormat = "ampleway-visit/1"

// VisitDocument is a visit as JSON: a trip for each drive, and the stays
// between them.
type VisitDocument struct {
	Format        string         `json:"format" jsonschema:"enum=ampleway-visit/1" jsonschema_description:"name and version of this form"`
	DurationMin   float64        `json:"duration_min" jsonschema:"minimum=0" jsonschema_description:"from the first departure to the last arrival"`
	ArrivalSoCPct float64        `json:"arrival_soc_pct" jsonschema:"minimum=0,maximum=100" jsonschema_description:"at the end of the last drive"`
	EndsAtStart   bool           `json:"ends_at_start" jsonschema_description:"the last drive ends where the first began: home again"`
	Cost          []Money        `json:"cost" jsonschema_description:"of the stops of all drives, one for each currency"`
	UnpricedStops int            `json:"unpriced_stops" jsonschema:"minimum=0" jsonschema_description:"stops whose price is not known and not in the cost"`
	Drives        []*Document    `json:"drives" jsonschema:"minItems=1" jsonschema_description:"in their order, each as a trip of its own"`
	Stays         []StayDocument `json:"stays" jsonschema_description:"one after each drive but the last"`
	Risk          *Risk          `json:"risk,omitempty" jsonschema_description:"of the whole visit; its times hold the stays"`
	Cautions      []string       `json:"cautions"`
	Credits       []string       `json:"credits" jsonschema_description:"whose data this is made from, under which licence, for people; to be shown with it"`
}

// StayDocument is a time between two drives.
type StayDocument struct {
	After        string  `json:"after" jsonschema_description:"name of the route that ends there"`
	Plug         string  `json:"plug" jsonschema_description:"what the car is plugged into, for people"`
	DurationMin  float64 `json:"duration_min" jsonschema:"minimum=0"`
	ArriveSoCPct float64 `json:"arrive_soc_pct" jsonschema:"minimum=0,maximum=100"`
	LeaveSoCPct  float64 `json:"leave_soc_pct" jsonschema:"minimum=0,maximum=100"`
	EnergyKWh    float64 `json:"energy_kwh" jsonschema:"minimum=0" jsonschema_description:"into the battery"`
}

// NewVisitDocument turns a visit into its JSON form.
func NewVisitDocument(v *trip.JourneyPlan, o Options) *VisitDocument {
	d := &VisitDocument{
		Format: VisitFormat, DurationMin: minutes(visitS(v)), ArrivalSoCPct: pct(lastDrive(v).ArriveSoC), EndsAtStart: endsAtStart(drivesOf(v)),
		Stays: []StayDocument{}, Cautions: visitCautions(v), Credits: trip.Credits(v.Plans...),
	}
	cost := visitCost(v)
	d.Cost, d.UnpricedStops = amounts(cost), cost.Unknown()
	for _, p := range v.Plans {
		d.Drives = append(d.Drives, NewDocument(p, o))
	}
	for _, s := range v.Stays {
		d.Stays = append(d.Stays, StayDocument{
			After: s.At, Plug: s.Plug.Text(), DurationMin: minutes(s.TimeS),
			ArriveSoCPct: pct(s.ArriveSoC), LeaveSoCPct: pct(s.LeaveSoC), EnergyKWh: kwh(s.BatteryKWh),
		})
	}
	if v.Risk != nil {
		d.Risk = riskDocument(v.Risk, v.Plans[0].Drive.Car, &v.Plans[0].Goal)
	}
	return d
}

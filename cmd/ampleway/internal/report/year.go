package report

import (
	"encoding/json"
	"io"
	"math"

	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/route/trip"
	"ampleway/route/year"
)

// YearFormat names the JSON form of a year and its version.
const YearFormat = "ampleway-year/1"

// YearDocument is a household's year as JSON.
type YearDocument struct {
	Format       string        `json:"format"`
	Note         string        `json:"note,omitempty"`
	Household    string        `json:"household"`
	Year         int           `json:"year"`
	Currency     string        `json:"currency"`
	Home         YearTotal     `json:"home"`
	Level1       YearTotal     `json:"level_1"`
	FastOnly     YearTotal     `json:"no_charging_at_home"`
	FuelCost     float64       `json:"fuel_cost"`
	ImbalanceKWh float64       `json:"imbalance_kwh"`
	Months       []YearMonth   `json:"months"`
	Journeys     []YearJourney `json:"journeys"`
	Circuits     []YearCircuit `json:"circuits"`
	Cautions     []string      `json:"cautions"`
}

// YearTotal is a year in one of the ways it is compared.
type YearTotal struct {
	DistanceKM   float64 `json:"distance_km"`
	DrivenKWh    float64 `json:"driven_kwh"`
	HomeKWh      float64 `json:"home_kwh"`
	FastKWh      float64 `json:"fast_kwh"`
	HomeSharePct float64 `json:"home_share_pct"`
	Cost         float64 `json:"cost"`
	FastHours    float64 `json:"fast_hours"`
	FastVisits   int     `json:"fast_visits"`
	ChargeNights int     `json:"charge_nights"`
	DearNights   int     `json:"dear_nights"`
	ShortNights  int     `json:"short_nights"`
}

// YearMonth is one month as the household is.
type YearMonth struct {
	Month int `json:"month"`
	YearTotal
}

// YearJourney is one journey there and back.
type YearJourney struct {
	Name          string  `json:"name"`
	Month         int     `json:"month"`
	DistanceKM    float64 `json:"distance_km"`
	Stops         int     `json:"stops"`
	FastHours     float64 `json:"fast_hours"`
	FastKWh       float64 `json:"fast_kwh"`
	Cost          float64 `json:"cost"`
	ArriveHomePct float64 `json:"arrive_home_soc_pct"`
}

// YearCircuit is what one car draws at home.
type YearCircuit struct {
	Car       string  `json:"car"`
	VoltageV  float64 `json:"voltage_v"`
	BreakerA  float64 `json:"breaker_a"`
	CurrentA  float64 `json:"current_a"`
	BatteryKW float64 `json:"battery_kw"`
	LimitedBy string  `json:"limited_by"`
}

// YearCautions belong under every year that a person reads.
var YearCautions = []string{
	energy.ElectricianDecides,
	"A year is an estimate from means: your own weather, driving and prices differ.",
	trip.Cautions[1],
}

// NewYearDocument turns a year into its JSON form.
func NewYearDocument(r *year.Result, note string) *YearDocument {
	d := &YearDocument{
		Format: YearFormat, Note: note, Household: r.Inputs.Name, Year: r.Inputs.Year, Currency: r.Inputs.Tariff.Currency,
		Home: yearTotal(r.Home.Total()), Level1: yearTotal(r.Level1.Total()), FastOnly: yearTotal(r.FastOnly.Total()),
		FuelCost: round(r.FuelCost, 2), ImbalanceKWh: round(r.Home.ImbalanceKWh, 6),
		Journeys: []YearJourney{}, Circuits: []YearCircuit{}, Cautions: YearCautions,
	}
	for m, month := range r.Home.Months {
		d.Months = append(d.Months, YearMonth{m + 1, yearTotal(month)})
	}
	for _, j := range r.Journeys {
		d.Journeys = append(d.Journeys, YearJourney{
			Name: j.Name, Month: j.Month, DistanceKM: round(j.KM, 1), Stops: j.Stops, FastHours: round(j.FastH, 2),
			FastKWh: round(j.FastKWh, 2), Cost: round(j.Cost, 2), ArriveHomePct: pct(j.ArriveSoC),
		})
	}
	for _, c := range r.Simulate.Cars {
		if circuit := r.Inputs.Household.Circuit; circuit != nil {
			d.Circuits = append(d.Circuits, YearCircuit{
				Car: c.Name, VoltageV: circuit.VoltageV, BreakerA: circuit.BreakerA,
				CurrentA: round(c.Charge.CurrentA, 1), BatteryKW: round(c.Charge.BatteryKW, 2), LimitedBy: c.Charge.Limit,
			})
		}
	}
	return d
}

func yearTotal(m home.Month) YearTotal {
	t := YearTotal{
		DistanceKM: round(m.Km, 1), DrivenKWh: round(m.DrivenKWh, 2), HomeKWh: round(m.HomeBatteryKWh, 2), FastKWh: round(m.FastKWh, 2),
		Cost: round(m.Cost(), 2), FastHours: round(m.FastH, 2), FastVisits: m.FastVisits,
		ChargeNights: m.ChargeNights, DearNights: m.DearNights, ShortNights: m.ShortNights,
	}
	if share := m.HomeShare(); !math.IsNaN(share) {
		t.HomeSharePct = pct(share)
	}
	return t
}

// YearJSON writes a YearDocument, indented.
func YearJSON(w io.Writer, r *year.Result, o Options) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(NewYearDocument(r, o.Note))
}

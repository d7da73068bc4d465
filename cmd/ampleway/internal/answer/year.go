package answer

import (
	"math"
	"time"

	"ampleway/energy"
	"ampleway/energy/home"
	"ampleway/route/question"
	"ampleway/route/trip"
	"ampleway/route/year"
)

// YearFormat names the JSON form of a year and its version.
const YearFormat = "ampleway-year/3"

// YearDocument is a household's year as JSON.
type YearDocument struct {
	Format        string              `json:"format"`
	Headline      string              `json:"headline"`
	Note          string              `json:"note,omitempty"`
	Household     string              `json:"household"`
	Year          int                 `json:"year"`
	Currency      string              `json:"currency"`
	ClimateOf     string              `json:"climate_of"`
	DemoClimate   bool                `json:"climate_is_the_demos"`
	FastPerKWh    *float64            `json:"fast_price_per_kwh"` // null: not known
	Home          YearTotal           `json:"home"`
	FastOnly      YearTotal           `json:"no_charging_at_home"`
	FuelCost      *float64            `json:"fuel_cost"` // null: no fuel car
	ImbalanceKWh  float64             `json:"imbalance_kwh"`
	StoredMoreKWh float64             `json:"stored_more_kwh"` // in the batteries on 31 December than on 1 January
	Months        []YearMonth         `json:"months"`
	Journeys      []YearJourney       `json:"journeys"`
	Circuits      []YearCircuit       `json:"circuits"`
	Compared      []YearCircuitResult `json:"circuits_compared"`
	Assumptions   []string            `json:"assumptions"`
	Cautions      []string            `json:"cautions"`
	Credits       []string            `json:"credits"` // whose data this is made from, under which licence; to be shown with it
}

// YearTotal is a year in one of the ways it is compared.
type YearTotal struct {
	DistanceKM   float64  `json:"distance_km"`
	DrivenKWh    float64  `json:"driven_kwh"`
	HomeKWh      float64  `json:"home_kwh"`        // into the batteries
	OutletKWh    float64  `json:"home_outlet_kwh"` // of the circuits
	FastKWh      float64  `json:"fast_kwh"`
	HostKWh      float64  `json:"host_kwh"` // from plugs at the destinations, at no cost
	HomeSharePct float64  `json:"home_share_pct"`
	Cost         *float64 `json:"cost"` // of what has a price; null: nothing has
	HomeCost     float64  `json:"home_cost"`
	Unpriced     int      `json:"unpriced_stops"`
	FastHours    float64  `json:"fast_hours"`
	FastVisits   int      `json:"fast_visits"` // on ordinary days
	ChargeNights int      `json:"charge_nights"`
	DearNights   int      `json:"dear_nights"`
	DearKWh      float64  `json:"dear_kwh"`
	ShortNights  int      `json:"short_nights"`
}

// YearCircuitResult is a year with one circuit at home.
type YearCircuitResult struct {
	Name         string    `json:"name"`
	VoltageV     float64   `json:"voltage_v"`
	BreakerA     float64   `json:"breaker_a"`
	BatteryKW    []float64 `json:"battery_kw"` // for each car
	HoursToFull  float64   `json:"hours_to_full"`
	AfterTrip    bool      `json:"hours_are_after_a_journey"`
	NightsToFull int       `json:"nights_to_full"` // 0: no journey
	YearTotal
}

// YearMonth is one month as the household is.
type YearMonth struct {
	Month int `json:"month"`
	YearTotal
}

// YearJourney is what one journey there and back comes to, over all its times.
type YearJourney struct {
	Name         string   `json:"name"`
	Times        int      `json:"times"`
	Dates        []string `json:"dates"`
	Level        bool     `json:"driven_on_the_level"` // a distance without a road
	DistanceKM   float64  `json:"distance_km"`
	DrivenKWh    float64  `json:"driven_kwh"`
	Stops        int      `json:"stops"`
	FastHours    float64  `json:"fast_hours"`
	FastKWh      float64  `json:"fast_kwh"`
	HostKWh      float64  `json:"host_kwh"` // from a plug at the destination
	Cost         []Money  `json:"cost"`
	Unpriced     int      `json:"unpriced_stops"`
	ReachHomePct float64  `json:"reach_home_pct"` // the least
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
	"An ordinary outlet carries a car's current for hours only on a circuit of its own that an electrician has inspected, without extension lead or plug adapter. Stop if plug or outlet gets warm.",
	"A year is an estimate from means: your own weather, driving and prices differ.",
	trip.Cautions[1],
}

// NewYearDocument turns a year into its JSON form.
func NewYearDocument(r *year.Result, note string) *YearDocument {
	share, rest := yearHeadline(r)
	d := &YearDocument{
		Format: YearFormat, Headline: share + rest, Note: note, Household: r.Inputs.Name, Year: r.Inputs.Year, Currency: r.Inputs.Tariff.Currency,
		ClimateOf: r.Inputs.Climate.Place, DemoClimate: r.Inputs.Invented,
		Home: yearTotal(r.Home.Total()), FastOnly: yearTotal(r.FastOnly.Total()),
		ImbalanceKWh: round(r.Home.ImbalanceKWh, 6), StoredMoreKWh: round(r.Home.EndKWh-r.Home.StartKWh, 3),
		Journeys: []YearJourney{}, Circuits: []YearCircuit{}, Compared: []YearCircuitResult{},
		Assumptions: yearAssumptions(r, question.Metric), Cautions: YearCautions, Credits: r.Credits(),
	}
	if !r.Inputs.Fast.Unpriced {
		d.FastPerKWh = new(round(r.Inputs.Fast.PerKWh, 4))
	}
	if r.Inputs.Household.Fuel != nil {
		d.FuelCost = new(round(r.FuelCost, 2))
	}
	for m, month := range r.Home.Months {
		d.Months = append(d.Months, YearMonth{m + 1, yearTotal(month)})
	}
	for i := range r.Journeys {
		d.Journeys = append(d.Journeys, yearJourney(&r.Journeys[i]))
	}
	for _, c := range r.Simulate.Cars {
		if circuit := r.Inputs.Household.Circuit; circuit != nil {
			d.Circuits = append(d.Circuits, YearCircuit{
				Car: c.Name, VoltageV: circuit.VoltageV, BreakerA: circuit.BreakerA,
				CurrentA: round(c.Charge.CurrentA, 1), BatteryKW: round(c.Charge.BatteryKW, 2), LimitedBy: c.Charge.Limit,
			})
		}
	}
	for i := range r.Circuits {
		d.Compared = append(d.Compared, yearCircuitResult(&r.Circuits[i]))
	}
	return d
}

func yearJourney(j *year.Journey) YearJourney {
	t := j.Total()
	out := YearJourney{
		Name: j.Name, Times: len(j.Runs), Level: j.Level(), DistanceKM: round(t.KM, 1), DrivenKWh: round(t.DrivenKWh, 2), Stops: t.Stops,
		FastHours: round(t.FastH, 2), FastKWh: round(t.FastKWh, 2), HostKWh: round(t.HostKWh, 2),
		Cost: amounts(t.Cost), Unpriced: t.Cost.Unknown(), ReachHomePct: pct(t.ArriveSoC),
	}
	for _, run := range j.Runs {
		out.Dates = append(out.Dates, run.Date.Format(time.DateOnly))
	}
	return out
}

func yearCircuitResult(c *year.CircuitYear) YearCircuitResult {
	out := YearCircuitResult{
		Name: circuitName(c), VoltageV: c.Circuit.VoltageV, BreakerA: c.Circuit.BreakerA,
		HoursToFull: round(c.HoursToFull, 1), AfterTrip: c.AfterTrip, NightsToFull: c.NightsToFull, YearTotal: yearTotal(c.Total()),
	}
	for _, charge := range c.Charge {
		out.BatteryKW = append(out.BatteryKW, round(charge.BatteryKW, 2))
	}
	return out
}

func yearTotal(m home.Month) YearTotal {
	t := YearTotal{
		DistanceKM: round(m.Km, 1), DrivenKWh: round(m.DrivenKWh, 2), HomeKWh: round(m.HomeBatteryKWh, 2), OutletKWh: round(m.HomeOutletKWh, 2), FastKWh: round(m.FastKWh, 2), HostKWh: round(m.HostKWh, 2),
		HomeCost: round(m.HomeCost, 2), Unpriced: m.Unpriced, FastHours: round(m.FastH, 2), FastVisits: m.FastVisits,
		ChargeNights: m.ChargeNights, DearNights: m.DearNights, DearKWh: round(m.DearKWh, 2), ShortNights: m.ShortNights,
	}
	if anyPriced(m) {
		t.Cost = new(round(m.Cost(), 2))
	}
	if share := m.HomeShare(); !math.IsNaN(share) {
		t.HomeSharePct = pct(share)
	}
	return t
}

// anyPriced says whether what a month or a year costs is known at least in
// part.
func anyPriced(m home.Month) bool { return m.Cost() != 0 || m.Unpriced == 0 }

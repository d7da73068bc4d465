package study

import (
	"strconv"

	"ampleway/data/wording"
)

// Row is one case. A nil figure is one that there is not: a trip that cannot be
// made has no time, a station without a price no cost.
type Row struct {
	Corridor      string   `parquet:"corridor,dict"`
	Case          int64    `parquet:"case,delta"` // number within the corridor
	Car           string   `parquet:"car,dict"`
	TempC         float64  `parquet:"temp_c"`
	WindKMH       float64  `parquet:"wind_kmh"`
	WindFromDeg   *float64 `parquet:"wind_from_deg"` // absent: head wind
	Surface       string   `parquet:"surface,dict"`
	SpeedCapKMH   float64  `parquet:"speed_cap_kmh"` // 0: none
	Asked         string   `parquet:"asked,dict"`    // on the other axes, KEY=VALUE with ";" between
	ConfidencePct float64  `parquet:"confidence_pct"`
	Outage        string   `parquet:"outage,dict"` // sites out of order, with ";" between
	ReservePct    float64  `parquet:"reserve_pct"`
	DepartSoCPct  float64  `parquet:"depart_soc_pct"`

	Feasible   bool     `parquet:"feasible"`
	Why        string   `parquet:"why,dict"` // "energy" or the limit in the way
	FailFromKM *float64 `parquet:"fail_from_km"`
	FailToKM   *float64 `parquet:"fail_to_km"`
	MissingKWh *float64 `parquet:"missing_kwh"`

	TimeMin      *float64 `parquet:"time_min"`
	DriveMin     *float64 `parquet:"drive_min"` // detours included
	DwellMin     *float64 `parquet:"dwell_min"` // from leaving the road to rejoining it
	ChargeMin    *float64 `parquet:"charge_min"`
	Stops        *int64   `parquet:"stops"`
	Sites        string   `parquet:"sites,dict"` // where, with ";" between
	ChargedKWh   *float64 `parquet:"charged_kwh"`
	Cost         *float64 `parquet:"cost"` // bands of power counted at a typical one
	Currency     string   `parquet:"currency,dict"`
	ArriveSoCPct *float64 `parquet:"arrive_soc_pct"`
	LeastSoCPct  *float64 `parquet:"least_soc_pct"`
	HeadroomPct  *float64 `parquet:"headroom_pct"`
	BelowPct     *float64 `parquet:"below_reserve_pct"`           // probability, the plan kept as it is; nil where none is known for the car
	SimBelowPct  *float64 `parquet:"simulated_below_reserve_pct"` // the driver follows the leave rule
	SimErrorPct  *float64 `parquet:"simulated_error_pct"`         // standard error of that, of the simulation only
	HighestPct   *float64 `parquet:"highest_reserve_pct"`         // the frontier; none: impossible at any reserve
	WorstOutage  string   `parquet:"worst_outage,dict"`           // the site whose loss costs most
	WorstOutMin  *float64 `parquet:"worst_outage_min"`            // minutes it costs; none where WorstEnds
	WorstEnds    *bool    `parquet:"worst_outage_ends_trip"`
	GapFromKM    *float64 `parquet:"gap_from_km"` // the longest stretch without a usable charger
	GapToKM      *float64 `parquet:"gap_to_km"`
	UsableCount  int64    `parquet:"usable_chargers"`
}

// column is a column of the CSV form.
type column struct {
	name string
	text func(*Row) string
}

func columns() []column {
	return []column{
		{"corridor", func(r *Row) string { return wording.Cell(r.Corridor) }},
		{"case", func(r *Row) string { return strconv.FormatInt(r.Case, 10) }},
		{"car", func(r *Row) string { return wording.Cell(r.Car) }},
		{"temp_c", func(r *Row) string { return number(r.TempC) }},
		{"wind_kmh", func(r *Row) string { return number(r.WindKMH) }},
		{"wind_from_deg", func(r *Row) string { return maybe(r.WindFromDeg) }},
		{"surface", func(r *Row) string { return r.Surface }},
		{"speed_cap_kmh", func(r *Row) string { return number(r.SpeedCapKMH) }},
		{"asked", func(r *Row) string { return wording.Cell(r.Asked) }},
		{"confidence_pct", func(r *Row) string { return number(r.ConfidencePct) }},
		{"outage", func(r *Row) string { return wording.Cell(r.Outage) }},
		{"reserve_pct", func(r *Row) string { return number(r.ReservePct) }},
		{"depart_soc_pct", func(r *Row) string { return number(r.DepartSoCPct) }},
		{"feasible", func(r *Row) string { return strconv.FormatBool(r.Feasible) }},
		{"why", func(r *Row) string { return r.Why }},
		{"fail_from_km", func(r *Row) string { return maybe(r.FailFromKM) }},
		{"fail_to_km", func(r *Row) string { return maybe(r.FailToKM) }},
		{"missing_kwh", func(r *Row) string { return maybe(r.MissingKWh) }},
		{"time_min", func(r *Row) string { return maybe(r.TimeMin) }},
		{"drive_min", func(r *Row) string { return maybe(r.DriveMin) }},
		{"dwell_min", func(r *Row) string { return maybe(r.DwellMin) }},
		{"charge_min", func(r *Row) string { return maybe(r.ChargeMin) }},
		{"stops", func(r *Row) string { return count(r.Stops) }},
		{"sites", func(r *Row) string { return wording.Cell(r.Sites) }},
		{"charged_kwh", func(r *Row) string { return maybe(r.ChargedKWh) }},
		{"cost", func(r *Row) string { return maybe(r.Cost) }},
		{"currency", func(r *Row) string { return r.Currency }},
		{"arrive_soc_pct", func(r *Row) string { return maybe(r.ArriveSoCPct) }},
		{"least_soc_pct", func(r *Row) string { return maybe(r.LeastSoCPct) }},
		{"headroom_pct", func(r *Row) string { return maybe(r.HeadroomPct) }},
		{"below_reserve_pct", func(r *Row) string { return maybe(r.BelowPct) }},
		{"simulated_below_reserve_pct", func(r *Row) string { return maybe(r.SimBelowPct) }},
		{"simulated_error_pct", func(r *Row) string { return maybe(r.SimErrorPct) }},
		{"highest_reserve_pct", func(r *Row) string { return maybe(r.HighestPct) }},
		{"worst_outage", func(r *Row) string { return wording.Cell(r.WorstOutage) }},
		{"worst_outage_min", func(r *Row) string { return maybe(r.WorstOutMin) }},
		{"worst_outage_ends_trip", func(r *Row) string { return yesNo(r.WorstEnds) }},
		{"gap_from_km", func(r *Row) string { return maybe(r.GapFromKM) }},
		{"gap_to_km", func(r *Row) string { return maybe(r.GapToKM) }},
		{"usable_chargers", func(r *Row) string { return strconv.FormatInt(r.UsableCount, 10) }},
	}
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// windFromDeg tells winds apart; head wind has no direction and is -1.
func (r *Row) windFromDeg() float64 {
	if r.WindFromDeg == nil {
		return -1
	}
	return *r.WindFromDeg
}

func maybe(v *float64) string {
	if v == nil {
		return ""
	}
	return number(*v)
}

func count(v *int64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatInt(*v, 10)
}

func yesNo(v *bool) string {
	if v == nil {
		return ""
	}
	return strconv.FormatBool(*v)
}

// slab keeps figures close together, many to an allocation.
type slab[T any] struct{ free []T }

func (s *slab[T]) keep(v T) *T {
	if len(s.free) == 0 {
		s.free = make([]T, 1024)
	}
	p := &s.free[0]
	s.free = s.free[1:]
	*p = v
	return p
}

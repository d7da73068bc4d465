package study

import (
	"reflect"
	"strconv"
	"strings"

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

// columns are the names of the columns, those of the fields in Parquet.
func columns() []string {
	var out []string
	for _, f := range reflect.VisibleFields(reflect.TypeFor[Row]()) {
		name, _, _ := strings.Cut(f.Tag.Get("parquet"), ",")
		out = append(out, name)
	}
	return out
}

// cell is the text of a field; a figure that there is not is empty.
func cell(v reflect.Value) string {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return ""
		}
		v = v.Elem()
	}
	switch v.Kind() {
	case reflect.String:
		return wording.Cell(v.String())
	case reflect.Int64:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Float64:
		return number(v.Float())
	}
	return strconv.FormatBool(v.Bool())
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// windFrom is the direction of the wind as a study file has it.
func (r *Row) windFrom() string {
	if r.WindFromDeg == nil {
		return "null"
	}
	return number(*r.WindFromDeg)
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

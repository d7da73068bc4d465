package carsheet

import (
	"math"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/energy"
)

// sheetFormat is the name and version of the sheet's form.
const sheetFormat = "ampleway-car-sheet/1"

type sheetJSON struct {
	Format      string       `json:"format"`
	Name        string       `json:"name"`
	Note        string       `json:"note,omitempty"`
	UsableKWh   float64      `json:"usable_kwh"`
	MassKg      float64      `json:"mass_kg"`
	DragAreaM2  float64      `json:"drag_area_m2"`
	TopSpeedKMH float64      `json:"top_speed_km_per_h"`
	Connectors  []string     `json:"connectors"`
	Asked       []string     `json:"asked,omitempty"` // of the conditions of the ranges, in words
	Ranges      []rangeJSON  `json:"ranges"`
	Ratings     []ratingJSON `json:"ratings"`
	Charging    chargingJSON `json:"dc_charging"`
}

type rangeJSON struct {
	SpeedKMH float64 `json:"speed_km_per_h"`
	TempC    float64 `json:"temp_c"`
	RangeKm  float64 `json:"range_km"`
}

type ratingJSON struct {
	Rating             energy.Rating `json:"rating"`
	RangeKm            float64       `json:"range_km"`
	BatteryKWhPer100km float64       `json:"battery_kwh_per_100_km"`
	OutletKWhPer100km  float64       `json:"outlet_kwh_per_100_km"`
}

type chargingJSON struct {
	Minutes10to80 float64     `json:"from_10_to_80_pct_min"`
	MeanKW        float64     `json:"mean_power_kw"`
	Rows          []chargeRow `json:"rows"`
}

type chargeRow struct {
	SoCPct  float64 `json:"soc_pct"`
	PowerKW float64 `json:"power_kw"`
	TimeMin float64 `json:"since_10_pct_min"`
	RangeKm float64 `json:"range_since_10_pct_km"`
}

// JSON is the sheet as one object, metric whatever the units.
func (s Sheet) JSON(answer.Options) any {
	c := s.Car
	out := sheetJSON{
		Format: sheetFormat,
		Name:   c.Name, Note: c.Note, UsableKWh: c.UsableKWh, MassKg: c.MassKg,
		DragAreaM2: round(c.RoadLoad.CdAM2(), 3), TopSpeedKMH: round(c.TopSpeedMS*3.6, 1), Connectors: c.Connectors, Asked: s.Asked,
		Charging: chargingJSON{Minutes10to80: round(s.Time10to80S/60, 2), MeanKW: round(s.MeanKW, 2)},
	}
	for i, v := range s.SpeedsMS {
		for j, temp := range s.TempsC {
			out.Ranges = append(out.Ranges, rangeJSON{round(v*3.6, 2), temp, round(s.RangeM[i][j]/1000, 1)})
		}
	}
	for _, l := range s.Labels {
		out.Ratings = append(out.Ratings, ratingJSON{l.Rating, round(l.Rated.RangeKm, 1), round(l.Rated.BatteryKWhPer100km, 2), round(l.Rated.OutletKWhPer100km, 2)})
	}
	for _, r := range s.Charge {
		out.Charging.Rows = append(out.Charging.Rows, chargeRow{round(r.SoC*100, 1), round(r.PowerKW, 2), round(r.TimeS/60, 2), round(r.EnergyM/1000, 1)})
	}
	return out
}

func round(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(x*scale) / scale
}

package energy

import (
	"cmp"
	"encoding/json"
	"fmt"

	"ampleway/energy/taper"
)

// carFile is the form of a car on disk. Every key that has a unit carries it.
// A pointer is a key that may be left out for a stated default.
type carFile struct {
	Name            quoted        `yaml:"name" json:"name"`
	Note            quoted        `yaml:"note,omitempty" json:"note,omitempty"`
	MadeFrom        Origin        `yaml:"made_from,omitempty" json:"made_from,omitempty"`
	UsableKWh       float64       `yaml:"usable_kwh" json:"usable_kwh"`
	MassKg          float64       `yaml:"mass_kg" json:"mass_kg"`
	RotatingShare   *float64      `yaml:"rotating_share_pct,omitempty" json:"rotating_share_pct,omitempty"`
	RoadLoad        roadLoadFile  `yaml:"road_load" json:"road_load"`
	TractionFactor  float64       `yaml:"traction_factor,omitempty" json:"traction_factor,omitempty"`
	DriveEfficiency *float64      `yaml:"drive_efficiency_pct,omitempty" json:"drive_efficiency_pct,omitempty"`
	RegenEfficiency *float64      `yaml:"regen_efficiency_pct,omitempty" json:"regen_efficiency_pct,omitempty"`
	RegenLimitKW    *float64      `yaml:"regen_limit_kw,omitempty" json:"regen_limit_kw,omitempty"`
	AuxiliaryW      *float64      `yaml:"auxiliary_w,omitempty" json:"auxiliary_w,omitempty"`
	Climate         climateFile   `yaml:"climate,omitempty" json:"climate,omitzero"`
	TopSpeedKMH     float64       `yaml:"top_speed_kmh,omitempty" json:"top_speed_kmh,omitempty"`
	Taper           []taperFile   `yaml:"dc_taper" json:"dc_taper"`
	Pack            []packFile    `yaml:"pack,omitempty" json:"pack,omitempty"`
	AC              acFile        `yaml:"ac,omitempty" json:"ac,omitzero"`
	Connectors      []quoted      `yaml:"connectors,flow" json:"connectors"`
	Adapters        []adapterFile `yaml:"adapters,omitempty" json:"adapters,omitempty"`
	Extras          []extraFile   `yaml:"extras,omitempty" json:"extras,omitempty"`
	Spread          *spreadFile   `yaml:"spread,omitempty" json:"spread,omitempty"`
}

// quoted is free text, written in double quotes: the YAML library leaves some
// text bare that it does not read back.
type quoted string

// MarshalYAML writes the text as JSON does, which YAML reads.
func (q quoted) MarshalYAML() ([]byte, error) { return json.Marshal(string(q)) }

// MarshalYAML writes a point on one line, as a person would.
func (p powerFile) MarshalYAML() ([]byte, error) {
	return fmt.Appendf(nil, "{temp_c: %s, power_kw: %s}", digits(p.TempC), digits(p.PowerKW)), nil
}

// MarshalYAML writes a point on one line, as a person would.
func (p taperFile) MarshalYAML() ([]byte, error) {
	return fmt.Appendf(nil, "{soc_pct: %s, power_kw: %s}", digits(p.SoCPct), digits(p.PowerKW)), nil
}

// MarshalYAML writes a point on one line, as a person would.
func (p packFile) MarshalYAML() ([]byte, error) {
	return fmt.Appendf(nil, "{soc_pct: %s, voltage_v: %s}", digits(p.SoCPct), digits(p.VoltageV)), nil
}

type roadLoadFile struct {
	RollingCoefficient float64        `yaml:"rolling_coefficient,omitempty" json:"rolling_coefficient,omitempty"`
	DragCoefficient    float64        `yaml:"drag_coefficient,omitempty" json:"drag_coefficient,omitempty"`
	FrontalAreaM2      float64        `yaml:"frontal_area_m2,omitempty" json:"frontal_area_m2,omitempty"`
	DragAreaM2         float64        `yaml:"drag_area_m2,omitempty" json:"drag_area_m2,omitempty"`
	CoastDown          *coastDownFile `yaml:"coast_down,omitempty" json:"coast_down,omitempty"`
}

type coastDownFile struct {
	AN           float64  `yaml:"a_n" json:"a_n"`
	BNPerKMH     float64  `yaml:"b_n_per_kmh" json:"b_n_per_kmh"`
	CNPerKMH2    float64  `yaml:"c_n_per_kmh2" json:"c_n_per_kmh2"`
	TestMassKg   float64  `yaml:"test_mass_kg" json:"test_mass_kg"`
	AeroSharePct *float64 `yaml:"aero_share_pct,omitempty" json:"aero_share_pct,omitempty"`
}

type climateFile struct {
	Heater      string      `yaml:"heater,omitempty" json:"heater,omitempty"`
	Curve       []powerFile `yaml:"curve,omitempty" json:"curve,omitempty"`
	StartWhPerK float64     `yaml:"start_wh_per_k,omitempty" json:"start_wh_per_k,omitempty"`
	PackCurve   []powerFile `yaml:"pack_curve,omitempty" json:"pack_curve,omitempty"`
}

type powerFile struct {
	TempC   float64 `yaml:"temp_c" json:"temp_c"`
	PowerKW float64 `yaml:"power_kw" json:"power_kw"`
}

type taperFile struct {
	SoCPct  float64 `yaml:"soc_pct" json:"soc_pct"`
	PowerKW float64 `yaml:"power_kw" json:"power_kw"`
}

type packFile struct {
	SoCPct   float64 `yaml:"soc_pct" json:"soc_pct"`
	VoltageV float64 `yaml:"voltage_v" json:"voltage_v"`
}

type acFile struct {
	PowerKW       float64  `yaml:"power_kw,omitempty" json:"power_kw,omitempty"`
	Phases        int      `yaml:"phases,omitempty" json:"phases,omitempty"`
	CurrentA      float64  `yaml:"current_a,omitempty" json:"current_a,omitempty"`
	EfficiencyPct *float64 `yaml:"efficiency_pct,omitempty" json:"efficiency_pct,omitempty"`
}

type adapterFile struct {
	Station quoted  `yaml:"station" json:"station"`
	Inlet   quoted  `yaml:"inlet" json:"inlet"`
	LimitKW float64 `yaml:"limit_kw,omitempty" json:"limit_kw,omitempty"`
	LimitA  float64 `yaml:"limit_a,omitempty" json:"limit_a,omitempty"`
}

type extraFile struct {
	Name        quoted  `yaml:"name" json:"name"`
	MassKg      float64 `yaml:"mass_kg,omitempty" json:"mass_kg,omitempty"`
	DragAreaM2  float64 `yaml:"drag_area_m2,omitempty" json:"drag_area_m2,omitempty"`
	TopSpeedKMH float64 `yaml:"top_speed_kmh,omitempty" json:"top_speed_kmh,omitempty"`
}

type spreadFile struct {
	TripPct float64 `yaml:"trip_pct" json:"trip_pct"`
	LegPct  float64 `yaml:"leg_pct" json:"leg_pct"`
}

// Defaults for what a car file leaves out. The efficiencies are the constant
// set that fits the US test cars (see the tests).
const (
	DefaultRotatingShare   = 0.03
	DefaultDriveEfficiency = 0.89
	DefaultRegenEfficiency = 0.82
	DefaultRegenLimitKW    = 60
	DefaultAuxiliaryW      = 250
	DefaultTopSpeedMS      = 160 * metreSPerKMH
	DefaultACKW            = 7.4
	DefaultACEfficiency    = 0.88
)

func scaledOr(p *float64, scale, otherwise float64) float64 {
	if p == nil {
		return otherwise
	}
	return *p / scale
}

func (f *carFile) car() *Car {
	c := &Car{
		Name:            string(f.Name),
		Note:            string(f.Note),
		MadeFrom:        f.MadeFrom,
		UsableKWh:       f.UsableKWh,
		MassKg:          f.MassKg,
		RotatingShare:   scaledOr(f.RotatingShare, 100, DefaultRotatingShare),
		RoadLoad:        f.RoadLoad.roadLoad(),
		TractionFactor:  cmp.Or(f.TractionFactor, 1),
		DriveEfficiency: scaledOr(f.DriveEfficiency, 100, DefaultDriveEfficiency),
		RegenEfficiency: scaledOr(f.RegenEfficiency, 100, DefaultRegenEfficiency),
		RegenLimitKW:    scaledOr(f.RegenLimitKW, 1, DefaultRegenLimitKW),
		AuxiliaryW:      scaledOr(f.AuxiliaryW, 1, DefaultAuxiliaryW),
		Climate: Climate{
			HeatPump:    f.Climate.Heater == heaterPump,
			Curve:       climatePoints(f.Climate.Curve),
			StartWhPerK: f.Climate.StartWhPerK,
			PackCurve:   climatePoints(f.Climate.PackCurve),
		},
		TopSpeedMS: f.TopSpeedKMH * metreSPerKMH,
		AC: OnBoard{
			PowerKW:    f.AC.PowerKW,
			Phases:     f.AC.Phases,
			CurrentA:   f.AC.CurrentA,
			Efficiency: scaledOr(f.AC.EfficiencyPct, 100, DefaultACEfficiency),
		},
		Spread: spreadOf(f.MadeFrom),
	}
	if f.TopSpeedKMH == 0 {
		c.TopSpeedMS = DefaultTopSpeedMS
	}
	if f.AC.PowerKW == 0 {
		c.AC.PowerKW = DefaultACKW
	}
	if f.AC.Phases == 0 {
		c.AC.Phases = 1
	}
	if s := f.Spread; s != nil && !f.unasked() {
		c.Spread = Spread{s.TripPct / 100, s.LegPct / 100}
		c.OwnSpread = f.MadeFrom != FromLog
	}
	for _, p := range f.Taper {
		c.Taper = append(c.Taper, taper.Point{SoC: p.SoCPct / 100, PowerKW: p.PowerKW})
	}
	for _, p := range f.Pack {
		c.Pack = append(c.Pack, PackPoint{SoC: p.SoCPct / 100, VoltageV: p.VoltageV})
	}
	for _, name := range f.Connectors {
		c.Connectors = append(c.Connectors, string(name))
	}
	for _, a := range f.Adapters {
		c.Adapters = append(c.Adapters, Adapter{string(a.Station), string(a.Inlet), a.LimitKW, a.LimitA})
	}
	for _, e := range f.Extras {
		c.Extras = append(c.Extras, Extra{string(e.Name), e.MassKg, e.DragAreaM2, e.TopSpeedKMH * metreSPerKMH})
	}
	return c
}

// unasked reports whether the spread is the one that was once written into
// every file: nobody answers for it.
func (f *carFile) unasked() bool {
	return f.MadeFrom == "" && *f.Spread == spreadFile{TripPct: 8, LegPct: 4}
}

const (
	heaterPump      = "heat pump"
	heaterResistive = "resistive"
)

func (f *roadLoadFile) roadLoad() RoadLoad {
	r := RoadLoad{
		RollingCoefficient: f.RollingCoefficient,
		DragCoefficient:    f.DragCoefficient,
		FrontalAreaM2:      f.FrontalAreaM2,
		DragAreaM2:         f.DragAreaM2,
	}
	if c := f.CoastDown; c != nil {
		r.CoastDown = &CoastDown{
			AN:         c.AN,
			BNPerMS:    c.BNPerKMH / metreSPerKMH,
			CNPerMS2:   c.CNPerKMH2 / (metreSPerKMH * metreSPerKMH),
			TestMassKg: c.TestMassKg,
			AeroShare:  scaledOr(c.AeroSharePct, 100, 1),
		}
	}
	return r
}

func climatePoints(points []powerFile) []ClimatePoint {
	var out []ClimatePoint
	for _, p := range points {
		out = append(out, ClimatePoint(p))
	}
	return out
}

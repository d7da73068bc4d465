package energy

import (
	"cmp"
	"encoding/json"
	"io"
	"strconv"

	"github.com/goccy/go-yaml"
)

// WriteCarYAML writes a car file that ReadCar reads back to the same car, to
// 12 significant digits.
func WriteCarYAML(w io.Writer, c *Car) error {
	return yaml.NewEncoder(w, yaml.IndentSequence(true)).Encode(newCarFile(c))
}

// WriteCarJSON writes the same content as WriteCarYAML, as JSON.
func WriteCarJSON(w io.Writer, c *Car) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(newCarFile(c))
}

// tidy rounds to 12 significant digits, so that 0.29 × 100 is written as 29.
func tidy(x float64) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	if err != nil {
		return x
	}
	return rounded
}

func tidyPointer(x float64) *float64 {
	x = tidy(x)
	return &x
}

func newCarFile(c *Car) *carFile {
	f := &carFile{
		Name:            quoted(c.Name),
		Note:            quoted(c.Note),
		MadeFrom:        c.MadeFrom,
		UsableKWh:       tidy(c.UsableKWh),
		MassKg:          tidy(c.MassKg),
		RotatingShare:   tidyPointer(c.RotatingShare * 100),
		RoadLoad:        newRoadLoadFile(&c.RoadLoad),
		TractionFactor:  tidy(cmp.Or(c.TractionFactor, 1)),
		DriveEfficiency: tidyPointer(c.DriveEfficiency * 100),
		RegenEfficiency: tidyPointer(c.RegenEfficiency * 100),
		RegenLimitKW:    tidyPointer(c.RegenLimitKW),
		AuxiliaryW:      tidyPointer(c.AuxiliaryW),
		Climate: climateFile{
			Heater:      heaterResistive,
			StartWhPerK: tidy(c.Climate.StartWhPerK),
			Curve:       newPowerFile(c.Climate.Curve),
			PackCurve:   newPowerFile(c.Climate.PackCurve),
		},
		TopSpeedKMH: tidy(c.TopSpeedMS / metreSPerKMH),
		AC: acFile{
			PowerKW:       tidy(c.AC.PowerKW),
			Phases:        c.AC.Phases,
			CurrentA:      tidy(c.AC.CurrentA),
			EfficiencyPct: tidyPointer(c.AC.Efficiency * 100),
		},
	}
	if c.OwnSpread || c.Spread != spreadOf(c.MadeFrom) {
		f.Spread = &spreadFile{tidy(c.Spread.Trip * 100), tidy(c.Spread.Leg * 100)}
	}
	if c.Climate.HeatPump {
		f.Climate.Heater = heaterPump
	}
	for _, p := range c.Taper {
		f.Taper = append(f.Taper, taperFile{tidy(p.SoC * 100), tidy(p.PowerKW)})
	}
	for _, p := range c.Pack {
		f.Pack = append(f.Pack, packFile{tidy(p.SoC * 100), tidy(p.VoltageV)})
	}
	for _, name := range c.Connectors {
		f.Connectors = append(f.Connectors, quoted(name))
	}
	for _, a := range c.Adapters {
		f.Adapters = append(f.Adapters, adapterFile{quoted(a.Station), quoted(a.Inlet), tidy(a.LimitKW), tidy(a.LimitA)})
	}
	for _, e := range c.Extras {
		f.Extras = append(f.Extras, extraFile{quoted(e.Name), tidy(e.MassKg), tidy(e.DragAreaM2), tidy(e.TopSpeedMS / metreSPerKMH)})
	}
	return f
}

func newRoadLoadFile(r *RoadLoad) roadLoadFile {
	if c := r.CoastDown; c != nil {
		return roadLoadFile{CoastDown: &coastDownFile{
			AN:           tidy(c.AN),
			BNPerKMH:     tidy(c.BNPerMS * metreSPerKMH),
			CNPerKMH2:    tidy(c.CNPerMS2 * metreSPerKMH * metreSPerKMH),
			TestMassKg:   tidy(c.TestMassKg),
			AeroSharePct: tidyPointer(c.AeroShare * 100),
		}}
	}
	f := roadLoadFile{RollingCoefficient: tidy(r.RollingCoefficient)}
	if r.DragCoefficient != 0 {
		f.DragCoefficient, f.FrontalAreaM2 = tidy(r.DragCoefficient), tidy(r.FrontalAreaM2)
	} else {
		f.DragAreaM2 = tidy(r.DragAreaM2)
	}
	return f
}

func newPowerFile(points []ClimatePoint) []powerFile {
	var out []powerFile
	for _, p := range points {
		out = append(out, powerFile{tidy(p.TempC), tidy(p.PowerKW)})
	}
	return out
}

package carsheet

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route/question"
)

// Tree says the sheet.
func (s Sheet) Tree(o answer.Options) *answer.Answer {
	u, c := o.Units, s.Car
	a := &answer.Answer{
		Title: "The sheet of a car", Number: c.Name,
		Rest:     fmt.Sprintf(" has %.4g kWh usable, a mass of %s with the driver, a drag area of %.2f m² and a top speed of %s.", c.UsableKWh, u.Mass(c.MassKg), c.RoadLoad.CdAM2(), u.Speed(c.TopSpeedMS)),
		About:    []string{fmt.Sprintf("Connectors %s; AC up to %.3g kW on %s.", strings.Join(c.Connectors, ", "), c.AC.PowerKW, wording.Count(c.AC.Phases, "phase"))},
		Cautions: []string{"Estimates for a sound car on ordinary tyres. Keep a reserve and watch the car's own gauge."},
	}
	if c.Note != "" {
		a.About = append(a.About, c.Note)
	}
	a.Parts = []answer.Part{
		{List: fittings(c, u)},
		{Only: answer.OnPaper, Figure: &answer.Figure{Draw: func(answer.Medium) []template.HTML { return []template.HTML{s.panels(o).SVG()} }}},
		{Title: fmt.Sprintf("Range in %s from full to empty, at a steady speed on a level, dry road without wind%s", u.DistanceUnit(), butFor(s.Sheet)), Table: s.ranges(u)},
		{Title: "On the ratings, from the model", Table: s.ratings(u)},
		{
			Title: "DC charging where the charger gives all the car takes, battery at 25 °C",
			Text:  []string{fmt.Sprintf("10 to 80 %% takes %s, %.0f kW on average.", minutes(s.Time10to80S), s.MeanKW)},
			Table: s.charging(u),
		},
	}
	return a
}

// fittings are the adapters and what the car may carry or tow.
func fittings(c *energy.Car, u question.Units) []string {
	var out []string
	for _, a := range c.Adapters {
		out = append(out, fmt.Sprintf("adapter: %s at the station to %s%s", a.Station, a.Inlet, limits(a)))
	}
	for _, e := range c.Extras {
		text := fmt.Sprintf("extra: %s, %s, drag area +%.2f m²", e.Name, u.Mass(e.MassKg), e.DragAreaM2)
		if e.TopSpeedMS > 0 {
			text += ", up to " + u.Speed(e.TopSpeedMS)
		}
		out = append(out, text)
	}
	return out
}

func limits(a energy.Adapter) string {
	text := ""
	if a.LimitKW > 0 {
		text += fmt.Sprintf(", up to %.4g kW", a.LimitKW)
	}
	if a.LimitA > 0 {
		text += fmt.Sprintf(", up to %.4g A", a.LimitA)
	}
	return text
}

// butFor says what else the ranges are for.
func butFor(s *energy.Sheet) string {
	if len(s.Asked) == 0 {
		return ""
	}
	return ", but for: " + strings.Join(s.Asked, "; ")
}

func (s Sheet) ranges(u question.Units) *answer.Table {
	t := &answer.Table{Head: []string{"Speed"}, Align: "r"}
	for _, c := range s.TempsC {
		t.Head = append(t.Head, u.Temperature(c))
	}
	for i, v := range s.SpeedsMS {
		cells := []string{u.Speed(v)}
		for _, m := range s.RangeM[i] {
			cells = append(cells, u.Chainage(m))
		}
		t.Add(cells...)
	}
	return t
}

func (s Sheet) ratings(u question.Units) *answer.Table {
	t := &answer.Table{Head: []string{"Rating", "range", "from the battery", "at the outlet"}}
	for _, l := range s.Labels {
		t.Add(string(l.Rating), u.Distance(l.Rated.RangeKm*1000), consumption(l.Rated.BatteryKWhPer100km, u), consumption(l.Rated.OutletKWhPer100km, u))
	}
	return t
}

func consumption(kWhPer100km float64, u question.Units) string {
	if u == question.US {
		return fmt.Sprintf("%.1f kWh/100 mi", energy.KWhPer100MilesFrom100km(kWhPer100km))
	}
	return fmt.Sprintf("%.1f kWh/100 km", kWhPer100km)
}

func (s Sheet) charging(u question.Units) *answer.Table {
	t := &answer.Table{Head: []string{"SoC", "kW", "since 10 %", fmt.Sprintf("%s at %s", u.DistanceUnit(), u.Speed(energy.GainSpeedMS)), "power"}, Align: "rrrrl"}
	peak := s.Car.Taper.PeakKW()
	for _, r := range s.Charge {
		since, gained := "", ""
		if r.TimeS >= 0 {
			since, gained = minutes(r.TimeS), "+"+u.Chainage(r.EnergyM)
		}
		t.Add(fmt.Sprintf("%.0f %%", r.SoC*100), fmt.Sprintf("%.0f", r.PowerKW), since, gained, bar(r.PowerKW/peak))
	}
	return t
}

func minutes(s float64) string { return fmt.Sprintf("%.0f min", s/60) }

// bar is a share of barWidth in blocks of one eighth.
func bar(share float64) string {
	const barWidth = 40
	eighths := int(math.Round(share * barWidth * 8))
	parts := []string{"", "▏", "▎", "▍", "▌", "▋", "▊", "▉"}
	return strings.Repeat("█", eighths/8) + parts[eighths%8]
}

package carsheet

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route/question"
)

// Text writes the sheet for a person.
func Text(w io.Writer, s *energy.Sheet, units question.Units) error {
	t := &textWriter{bufio.NewWriter(w), units}
	t.head(s.Car)
	t.ranges(s)
	t.ratings(s)
	t.charging(s)
	t.line("")
	t.line("Estimates for a sound car on ordinary tyres. Keep a reserve and watch the car's own gauge.")
	return t.w.Flush()
}

type textWriter struct {
	w     *bufio.Writer
	units question.Units
}

func (t *textWriter) line(format string, values ...any) { fmt.Fprintf(t.w, format+"\n", values...) }

func (t *textWriter) head(c *energy.Car) {
	t.line("%s", c.Name)
	if c.Note != "" {
		t.line("%s", c.Note)
	}
	t.line("")
	t.line("%.4g kWh usable, %s with the driver, drag area %.2f m², top speed %s",
		c.UsableKWh, t.units.Mass(c.MassKg), c.RoadLoad.CdAM2(), t.units.Speed(c.TopSpeedMS))
	t.line("connectors %s; AC up to %.3g kW on %s", strings.Join(c.Connectors, ", "), c.AC.PowerKW, wording.Count(c.AC.Phases, "phase"))
	for _, a := range c.Adapters {
		t.line("adapter: %s at the station to %s%s", a.Station, a.Inlet, limits(a))
	}
	for _, e := range c.Extras {
		t.line("extra: %s, %s, drag area +%.2f m²%s", e.Name, t.units.Mass(e.MassKg), e.DragAreaM2, t.upTo(e.TopSpeedMS))
	}
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

func (t *textWriter) upTo(speedMS float64) string {
	if speedMS == 0 {
		return ""
	}
	return ", up to " + t.units.Speed(speedMS)
}

// butFor says what else the ranges are for.
func butFor(s *energy.Sheet) string {
	if len(s.Asked) == 0 {
		return ""
	}
	return ", but for: " + strings.Join(s.Asked, "; ")
}

func (t *textWriter) ranges(s *energy.Sheet) {
	t.line("")
	t.line("Range in %s from full to empty, at a steady speed on a level, dry road without wind%s", t.units.DistanceUnit(), butFor(s))
	fmt.Fprintf(t.w, "%10s", "")
	for _, c := range s.TempsC {
		fmt.Fprintf(t.w, "%8s", t.units.Temperature(c))
	}
	t.line("")
	for i, v := range s.SpeedsMS {
		fmt.Fprintf(t.w, "%10s", t.units.Speed(v))
		for _, m := range s.RangeM[i] {
			fmt.Fprintf(t.w, "%8s", t.units.Chainage(m))
		}
		t.line("")
	}
}

func (t *textWriter) ratings(s *energy.Sheet) {
	t.line("")
	t.line("On the ratings, from the model")
	for _, l := range s.Labels {
		t.line("%10s%8s  %s from the battery, %s at the outlet", l.Rating, t.units.Distance(l.Rated.RangeKm*1000),
			t.consumption(l.Rated.BatteryKWhPer100km), t.consumption(l.Rated.OutletKWhPer100km))
	}
}

func (t *textWriter) consumption(kWhPer100km float64) string {
	if t.units == question.US {
		return fmt.Sprintf("%.1f kWh/100 mi", energy.KWhPer100MilesFrom100km(kWhPer100km))
	}
	return fmt.Sprintf("%.1f kWh/100 km", kWhPer100km)
}

const barWidth = 40

func (t *textWriter) charging(s *energy.Sheet) {
	t.line("")
	t.line("DC charging where the charger gives all the car takes, battery at 25 °C")
	t.line("10 to 80 %% takes %s, %.0f kW on average", minutes(s.Time10to80S), s.MeanKW)
	t.line("")
	t.line("%6s%8s%12s%17s", "SoC", "kW", "since 10 %", fmt.Sprintf("%s at %s", t.units.DistanceUnit(), t.units.Speed(energy.GainSpeedMS)))
	peak := s.Car.Taper.PeakKW()
	for _, r := range s.Charge {
		since, gained := "", ""
		if r.TimeS >= 0 {
			since, gained = minutes(r.TimeS), "+"+t.units.Chainage(r.EnergyM)
		}
		t.line("%s", strings.TrimRight(fmt.Sprintf("%4.0f %%%8.0f%12s%17s  %s", r.SoC*100, r.PowerKW, since, gained, bar(r.PowerKW/peak)), " "))
	}
}

func minutes(s float64) string { return fmt.Sprintf("%.0f min", s/60) }

// bar is a share of barWidth in blocks of one eighth.
func bar(share float64) string {
	eighths := int(math.Round(share * barWidth * 8))
	parts := []string{"", "▏", "▎", "▍", "▌", "▋", "▊", "▉"}
	return strings.Repeat("█", eighths/8) + parts[eighths%8]
}

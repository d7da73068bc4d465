package study

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// detailed is how many corridors are described one by one.
const detailed = 10

// WriteText writes a summary for people.
func (s *Summary) WriteText(w io.Writer) error {
	var b bytes.Buffer
	if s.Name != "" {
		fmt.Fprintf(&b, "%s\n", s.Name)
	}
	if s.Note != "" {
		fmt.Fprintf(&b, "%s\n", s.Note)
	}
	fmt.Fprintf(&b, "\n%d cases on %d corridors; %d can be made (%s).\n", s.Cases, len(s.Corridors), s.Feasible, share(s.Feasible, s.Cases))
	if m := s.Manifest; m != nil && !m.Complete {
		fmt.Fprintf(&b, "NOT COMPLETE: %d jobs are still to be done (--resume).\n", m.JobsLeft)
	}
	s.table(&b)
	for i, c := range s.Ranked() {
		if i == detailed {
			break
		}
		c.describe(&b)
	}
	s.faults(&b)
	b.WriteString("\nAll figures are estimates from the models and the data given; check a station's status before relying on it.\n")
	_, err := w.Write(b.Bytes())
	return err
}

func (s *Summary) table(b *bytes.Buffer) {
	if len(s.Corridors) == 0 {
		return
	}
	b.WriteString("\nWhich corridor fails first (all stations working)\n")
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  \tcorridor\tkm\tchargers\tfails from\tcan be made\thighest reserve for all\tlongest gap")
	for i, c := range s.Ranked() {
		fmt.Fprintf(t, "  %d\t%s\t%.0f\t%d\t%s\t%s\t%s\t%.0f km\n", i+1, c.Name, c.LengthKM, len(c.Chargers), c.FailsFrom(), c.Share(), c.HighestForAll(), c.GapKM())
	}
	t.Flush()
}

// FailsFrom is the warmest temperature at which a case cannot be made.
func (c *CorridorView) FailsFrom() string {
	if c.First == nil {
		return "-"
	}
	return fmt.Sprintf("%g °C", c.First.TempC)
}

// Share is how many of the cases can be made.
func (c *CorridorView) Share() string { return fmt.Sprintf("%.1f %%", 100*c.share()) }

// GapKM is the longest stretch without a charger that the car could use.
func (c *CorridorView) GapKM() float64 { return c.GapToKM - c.GapFromKM }

// HighestForAll is the highest reserve that every car can keep on every day.
func (c *CorridorView) HighestForAll() string {
	switch v := c.lowest(); {
	case v < 0:
		return "none"
	case math.IsInf(v, 1):
		return "-"
	default:
		return fmt.Sprintf("%.1f %%", floor(v, 0.1))
	}
}

func (c *CorridorView) describe(b *bytes.Buffer) {
	fmt.Fprintf(b, "\n%s\n", c.Name)
	for _, sentence := range c.Sentences() {
		fmt.Fprintf(b, "  %s\n", sentence)
	}
}

// Sentences say where the corridor fails, which station it can least do
// without, and where one more would help most.
func (c *CorridorView) Sentences() []string {
	var out []string
	if c.First != nil {
		out = append(out, c.First.sentence())
	}
	if len(c.Stretches) > 0 {
		s := c.Stretches[0]
		out = append(out, fmt.Sprintf("Where it fails most: km %.0f to km %.0f, %s, up to %.1f kWh missing.", s.FromKM, s.ToKM, cases(s.Cases), ceil(s.MostMissingKWh, 0.1)))
	}
	if o := c.WorstOutage; o != nil {
		out = append(out, o.sentence())
	}
	return append(out, c.buildSentences()...)
}

func (f *Failure) sentence() string {
	text := fmt.Sprintf("First failure: %s at %g °C", f.Car, f.TempC)
	if f.WindKMH > 0 {
		text += fmt.Sprintf(", wind %g km/h", f.WindKMH)
	}
	text += fmt.Sprintf(", leaving with %g %%, reserve %g %%: ", f.DepartSoCPct, f.ReservePct)
	if f.Why == lacksEnergy {
		return text + fmt.Sprintf("from km %.0f to km %.0f %.1f kWh are missing.", f.FromKM, f.ToKM, ceil(f.MissingKWh, 0.1))
	}
	return text + f.Why + "."
}

func (o *OutageView) sentence() string {
	text := fmt.Sprintf("Worst station to lose: %s; without it every case can still be made", o.Site)
	if o.Ends > 0 {
		text = fmt.Sprintf("Worst station to lose: %s; without it %s cannot be made", o.Site, cases(o.Ends))
	}
	if o.MostMin > 0 {
		text += fmt.Sprintf(", others take up to %.0f min more", o.MostMin)
	}
	return text + "."
}

func (c *CorridorView) buildSentences() []string {
	var out []string
	for _, v := range c.Build {
		if v.BestForTime {
			out = append(out, v.timeSentence())
		}
		if v.BestForReserve {
			out = append(out, fmt.Sprintf("It helps the reserve most at km %.0f with %.0f kW: the highest reserves rise by %.1f points, summed over cars, days and departures.", v.KM, v.PowerKW, v.ReservePoints))
		}
	}
	return out
}

func (v *BuildView) timeSentence() string {
	text := fmt.Sprintf("One more station helps time most at km %.0f with %.0f kW: ", v.KM, v.PowerKW)
	if v.MadePossible == 0 {
		return text + fmt.Sprintf("it saves %.0f min over all cases.", v.MinutesSaved)
	}
	return text + fmt.Sprintf("%s can be made that could not, and it saves %.0f min over the others.", cases(int64(v.MadePossible)), v.MinutesSaved)
}

func cases(n int64) string {
	if n == 1 {
		return "1 case"
	}
	return fmt.Sprintf("%d cases", n)
}

func (s *Summary) faults(b *bytes.Buffer) {
	if s.Manifest == nil || len(s.Manifest.Faults) == 0 {
		return
	}
	fmt.Fprintf(b, "\nNot used: %d\n", s.Manifest.FaultCount())
	for _, f := range s.Manifest.Faults {
		fmt.Fprintf(b, "  %s: %s\n", f.What, f.Reason)
	}
}

func share(part, of int64) string {
	return fmt.Sprintf("%.1f %%", 100*float64(part)/float64(max(of, 1)))
}

// floor and ceil round to the safe side, with slack for rounding errors.
func floor(v, step float64) float64 { return math.Floor(v/step+1e-6) * step }
func ceil(v, step float64) float64  { return math.Ceil(v/step-1e-6) * step }

// GeoJSON is where one more station was tried on each corridor, RFC 7946.
func (s *Summary) GeoJSON() *geojson.FeatureCollection {
	fc := geojson.NewFeatureCollection()
	for i := range s.Corridors {
		c := &s.Corridors[i]
		for _, b := range c.Build {
			f := geojson.NewFeature(orb.Point{b.Lon, b.Lat})
			f.Properties = geojson.Properties{
				"corridor": c.Name, "chainage_km": b.KM, "power_kw": b.PowerKW, "cases_made_possible": b.MadePossible,
				"minutes_saved": b.MinutesSaved, "reserve_points": b.ReservePoints, "best_for_time": b.BestForTime, "best_for_reserve": b.BestForReserve,
			}
			fc.Append(f)
		}
	}
	return fc
}

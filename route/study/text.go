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
	b.WriteString("\nWhich corridor fails first (all stations working)\n")
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  \tcorridor\tkm\tchargers\tfails from\tcan be made\thighest reserve for all\tlongest gap")
	for i, c := range s.Ranked() {
		at := "-"
		if c.First != nil {
			at = fmt.Sprintf("%g °C", c.First.TempC)
		}
		fmt.Fprintf(t, "  %d\t%s\t%.0f\t%d\t%s\t%.1f %%\t%s\t%.0f km\n", i+1, c.Name, c.LengthKM, len(c.Chargers), at, 100*c.share(), c.lowestText(), c.GapToKM-c.GapFromKM)
	}
	t.Flush()
}

func (c *CorridorView) lowestText() string {
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
	if f := c.First; f != nil {
		fmt.Fprintf(b, "  First failure: %s at %g °C", f.Car, f.TempC)
		if f.WindKMH > 0 {
			fmt.Fprintf(b, ", wind %g km/h", f.WindKMH)
		}
		fmt.Fprintf(b, ", leaving with %g %%, reserve %g %%: ", f.DepartSoCPct, f.ReservePct)
		if f.Why == lacksEnergy {
			fmt.Fprintf(b, "from km %.0f to km %.0f %.1f kWh are missing.\n", f.FromKM, f.ToKM, ceil(f.MissingKWh, 0.1))
		} else {
			fmt.Fprintf(b, "%s.\n", f.Why)
		}
	}
	if len(c.Stretches) > 0 {
		s := c.Stretches[0]
		fmt.Fprintf(b, "  Where it fails most: km %.0f to km %.0f, %d cases, up to %.1f kWh missing.\n", s.FromKM, s.ToKM, s.Cases, ceil(s.MostMissingKWh, 0.1))
	}
	if o := c.WorstOutage; o != nil {
		fmt.Fprintf(b, "  Worst station to lose: %s; without it %d cases cannot be made", o.Site, o.Ends)
		if o.MostMin > 0 {
			fmt.Fprintf(b, ", others take up to %.0f min more", o.MostMin)
		}
		b.WriteString(".\n")
	}
	c.describeBuild(b)
}

func (c *CorridorView) describeBuild(b *bytes.Buffer) {
	for _, v := range c.Build {
		if v.BestForTime {
			fmt.Fprintf(b, "  One more station helps time most at km %.0f with %.0f kW: %d more cases can be made, %.0f min saved in the others.\n", v.KM, v.PowerKW, v.MadePossible, v.MinutesSaved)
		}
		if v.BestForReserve {
			fmt.Fprintf(b, "  It helps the reserve most at km %.0f with %.0f kW: the highest reserves rise by %.1f points in all.\n", v.KM, v.PowerKW, v.ReservePoints)
		}
	}
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

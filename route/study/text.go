package study

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"ampleway/data/wording"
	"ampleway/route/question"

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
	b.WriteString("\n")
	for _, sentence := range s.Counts() {
		fmt.Fprintln(&b, sentence)
	}
	s.table(&b)
	for i, c := range s.Ranked() {
		if i == detailed {
			break
		}
		c.describe(&b)
	}
	s.faults(&b)
	if len(s.Credits) > 0 {
		fmt.Fprintf(&b, "\n%s\n", strings.Join(s.Credits, "\n"))
	}
	b.WriteString("\nAll figures are estimates from the models and the data given; check a station's status before relying on it.\n")
	_, err := w.Write(b.Bytes())
	return err
}

// Judged counts the cases on corridors that there are stations for.
func (s *Summary) Judged() (feasible, cases int64, corridors int) {
	for i := range s.Corridors {
		if c := &s.Corridors[i]; !c.NoData {
			feasible, cases, corridors = feasible+c.Feasible, cases+c.Cases, corridors+1
		}
	}
	return feasible, cases, corridors
}

// Counts say how many cases can be made, and what is left out of that.
func (s *Summary) Counts() []string {
	feasible, judged, corridors := s.Judged()
	out := []string{"No case was worked out."}
	if judged > 0 {
		out[0] = fmt.Sprintf("%s on %s%s; %d can be made (%s).", wording.Count(judged, "case"), wording.Count(corridors, "corridor"), s.withOutage(), feasible, share(feasible, judged))
	}
	if n := len(s.Corridors) - corridors; n > 0 {
		out = append(out, fmt.Sprintf("No data for %s (%s): the station files have no station there.", wording.Count(n, "corridor"), wording.Count(s.Cases-judged, "case")))
	}
	if len(s.NoChance) > 0 {
		out = append(out, "How often a margin suffices is not known for "+strings.Join(s.NoChance, ", ")+": no probability is given, and a confidence only sets the margin.")
	}
	if m := s.Manifest; m != nil && !m.Complete {
		out = append(out, fmt.Sprintf("NOT COMPLETE: %s still to be done (--resume).", wording.CountIs(m.JobsLeft, "job")))
	}
	return out
}

func (s *Summary) withOutage() string {
	n := int64(0)
	for i := range s.Corridors {
		n += s.Corridors[i].Outages.Cases
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", %d of them with stations out of order", n)
}

func (s *Summary) table(b *bytes.Buffer) {
	if len(s.Corridors) == 0 {
		return
	}
	b.WriteString("\nWhich corridor fails first (all stations working)\n")
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  \tcorridor\tkm\tchargers\tfails from\tcan be made\thighest reserve for all\tlongest gap")
	for i, c := range s.Ranked() {
		fmt.Fprintf(t, "  %d\t%s\t%.0f\t%d\t%s\t%s\t%s\t%s\n", i+1, c.Name, c.LengthKM, len(c.Chargers), c.FailsFrom(), c.Share(), c.HighestForAll(), c.Gap())
	}
	t.Flush()
}

// FailsFrom is the warmest temperature at which a case cannot be made.
func (c *CorridorView) FailsFrom() string {
	switch {
	case c.NoData:
		return "no data"
	case c.First == nil:
		return "-"
	}
	return fmt.Sprintf("%g °C", c.First.TempC)
}

// Share is how many of the cases can be made.
func (c *CorridorView) Share() string {
	if c.NoData {
		return "no data"
	}
	return fmt.Sprintf("%.1f %%", 100*c.share())
}

// Gap is the longest stretch without a charger that the car could use.
func (c *CorridorView) Gap() string {
	if c.NoData {
		return "no data"
	}
	return fmt.Sprintf("%.0f km", c.GapToKM-c.GapFromKM)
}

// HighestForAll is the highest reserve that every car can keep on every day.
func (c *CorridorView) HighestForAll() string {
	switch v := c.lowest(); {
	case c.NoData:
		return "no data"
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
	if c.NoData {
		return []string{"No data: the station files have no station beside this road. Where it fails is not known."}
	}
	var out []string
	if c.First != nil {
		out = append(out, c.First.sentence())
	}
	if len(c.Stretches) > 0 {
		s := c.Stretches[0]
		out = append(out, fmt.Sprintf("Where it fails most: km %.0f to km %.0f, %s, up to %.1f kWh missing.", s.FromKM, s.ToKM, wording.Count(s.Cases, "case"), ceil(s.MostMissingKWh, 0.1)))
	}
	if o := c.Outages; o.Sets > 0 {
		out = append(out, fmt.Sprintf("With stations out of order, %s: %d of %s can be made.", wording.Count(o.Sets, "different outage"), o.Feasible, wording.Count(o.Cases, "case")))
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
	for asked := range strings.SplitSeq(f.Asked, ";") {
		text += saidOf(asked)
	}
	text += fmt.Sprintf(", leaving with %g %%, reserve %g %%: ", f.DepartSoCPct, f.ReservePct)
	if f.Why == lacksEnergy {
		return text + fmt.Sprintf("%.1f kWh are missing between km %.0f and km %.0f.", max(0.1, ceil(f.MissingKWh, 0.1)), f.FromKM, f.ToKM)
	}
	return text + f.Why + "."
}

// saidOf says a value of an axis, KEY=VALUE, in the words of its row.
func saidOf(asked string) string {
	key, value, _ := strings.Cut(asked, "=")
	r, _, known := question.Find(key)
	var q question.Question
	if !known || r.Set(&q, []string{value}, question.Metric) != nil {
		return ""
	}
	return ", " + r.Say(&q, question.Metric)
}

func (o *OutageView) sentence() string {
	text := fmt.Sprintf("Worst station to lose: %s at km %.0f (%s); without it ", o.Name, o.KM, o.Site)
	if o.Ends > 0 {
		text += wording.Count(o.Ends, "case") + " cannot be made"
	} else {
		text += "every case can still be made"
	}
	if o.MostMin > 0 {
		text += fmt.Sprintf(", others take up to %.0f min more", o.MostMin)
	}
	return text + "."
}

func (c *CorridorView) buildSentences() []string {
	var time, reserve []string
	for _, v := range c.Build {
		if v.BestForTime {
			time = append(time, v.timeSentence())
		}
		if v.BestForReserve {
			reserve = append(reserve, v.reserveSentence())
		}
	}
	return append(time, reserve...)
}

// Place says where on the road a new station would stand.
func (v *BuildView) Place() string {
	text := fmt.Sprintf("km %.0f", v.KM)
	switch a, b := v.After, v.Before; {
	case a != nil && b != nil:
		return text + fmt.Sprintf(", between %s (km %.0f) and %s (km %.0f)", a.Name, a.KM, b.Name, b.KM)
	case a != nil:
		return text + fmt.Sprintf(", beyond %s (km %.0f)", a.Name, a.KM)
	case b != nil:
		return text + fmt.Sprintf(", before %s (km %.0f)", b.Name, b.KM)
	}
	return text
}

func (v *BuildView) timeSentence() string {
	text := fmt.Sprintf("One more station, of %.0f kW, helps time most at %s: ", v.PowerKW, v.Place())
	saves := fmt.Sprintf("it saves %.1f min a trip on average, over the %s that can be made either way", v.MinutesSaved/float64(max(v.Trips, 1)), wording.Count(v.Trips, "case"))
	switch {
	case v.MadePossible == 0:
		return text + saves + "."
	case v.Trips == 0:
		return text + wording.Count(v.MadePossible, "case") + " can be made that could not."
	}
	return text + wording.Count(v.MadePossible, "case") + " can be made that could not, and " + saves + "."
}

func (v *BuildView) reserveSentence() string {
	return fmt.Sprintf("One more station, of %.0f kW, helps the reserve most at %s: the highest reserve that can be kept rises by %.1f percentage points of charge on average, over %s of car, day and departure.",
		v.PowerKW, v.Place(), v.ReservePoints/float64(max(v.Reserves, 1)), wording.Count(v.Reserves, "combination"))
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
	fc.ExtraMembers = geojson.Properties{"credits": s.Credits}
	for i := range s.Corridors {
		c := &s.Corridors[i]
		for _, b := range c.Build {
			f := geojson.NewFeature(orb.Point{b.Lon, b.Lat})
			f.Properties = geojson.Properties{
				"corridor": c.Name, "chainage_km": b.KM, "power_kw": b.PowerKW, "cases_made_possible": b.MadePossible,
				"minutes_saved": b.MinutesSaved, "trips": b.Trips, "reserve_points": b.ReservePoints, "reserves": b.Reserves, "place": b.Place(), "best_for_time": b.BestForTime, "best_for_reserve": b.BestForReserve,
			}
			fc.Append(f)
		}
	}
	return fc
}

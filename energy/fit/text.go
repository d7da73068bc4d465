package fit

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"ampleway/energy"
)

// WriteJSON writes the result as one JSON object, units in the keys.
func (r *Result) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// WriteText writes the result for a person.
func (r *Result) WriteText(w io.Writer) error {
	t := &page{w: w}
	t.line("Fitted from %s", r.CarName)
	if len(r.Trips) > 0 {
		t.consumption(r)
	}
	if r.Taper != nil {
		t.taper(r.Taper)
	}
	if len(r.Warnings) > 0 {
		t.line("\nNoted")
		for _, x := range r.Warnings {
			t.line("  %s", x)
		}
	}
	t.line("\n%s", r.Caution)
	return t.err
}

const caution = "An estimate from these logs: other weather, loads and roads move consumption by tens of percent. Keep a reserve and watch the car's own gauge."

// page keeps the first error of a writer.
type page struct {
	w   io.Writer
	err error
}

func (p *page) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

// table writes rows of cells in columns; the first row is the head.
func (p *page) table(rows [][]string) {
	if p.err != nil {
		return
	}
	t := tabwriter.NewWriter(p.w, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, r := range rows {
		fmt.Fprintln(t, "  "+strings.Join(r, "\t")+"\t")
	}
	p.err = t.Flush()
}

func (p *page) consumption(r *Result) {
	p.line("%d drives, %.0f km, %.1f h: %s\n", len(r.Trips), r.DistanceKm, r.TimeH, detailWords[r.Detail])
	rows := [][]string{{"", "fitted", "95 % interval", "given", ""}}
	for _, e := range r.Estimates {
		given := "-"
		if e.Given != 0 {
			given = figure(e.Given)
		}
		rows = append(rows, []string{e.Name, figure(e.Value), figure(e.Low) + " to " + figure(e.High), given, e.Unit})
	}
	p.table(rows)
	if c := r.Climate; c != nil {
		p.line("\nHeating and cooling, against the given car's model: steady power × %.2f, energy to start × %.2f", c.SteadyFactor, c.StartFactor)
	}
	p.spread(r.Spread)
	p.drives(r)
	p.bands(r.Bands)
}

var detailWords = map[Detail]string{Full: "the road load as a whole", Factor: "one factor on traction, and the auxiliaries"}

func (p *page) spread(s *Spread) {
	from := "seen in the drives: " + figure(s.SeenPct) + " %"
	if !s.Measured {
		from = "the given car's, too few drives to see it"
	}
	p.line("\nSpread: %.1f %% shared by a whole trip (%s), %.1f %% from one %.0f km to the next, which is %.1f %% over a leg of %.0f km",
		s.TripPct, from, s.PiecePct, s.PieceKm, s.LegPct, s.LegKm)
	p.line("A plan takes twice that, or %.0f and %.0f %% if more, as its margin; how often that suffices is not known for a fitted car.",
		100*energy.DayTripSpread, 100*energy.LegSpread)
}

func (p *page) drives(r *Result) {
	head := "\nEach drive, predicted by the fit to the others (climate as recorded, and modelled)"
	if len(r.Trips) > 0 && !r.Trips[0].LeftOut {
		head = "\nEach drive, predicted by the fit to all"
	}
	p.line("%s", head)
	rows := [][]string{{"drive", "km", "min", "°C", "gaps %", "measured kWh", "predicted kWh", "error %", "modelled kWh", "error %"}}
	for _, t := range r.Trips {
		rows = append(rows, []string{
			t.Name, fmt.Sprintf("%.1f", t.DistanceKm), fmt.Sprintf("%.0f", t.TimeMin), fmt.Sprintf("%.0f", t.AmbientC), fmt.Sprintf("%.0f", t.GapPct),
			fmt.Sprintf("%.2f", t.MeasuredKWh), fmt.Sprintf("%.2f", t.PredictedKWh), fmt.Sprintf("%+.1f", t.ErrorPct), fmt.Sprintf("%.2f", t.ModelledKWh), fmt.Sprintf("%+.1f", t.ModelledPct),
		})
	}
	a, b := r.Recorded, r.Modelled
	rows = append(rows,
		[]string{"mean absolute", "", "", "", "", "", "", fmt.Sprintf("%.1f", a.MeanAbsolutePct), "", fmt.Sprintf("%.1f", b.MeanAbsolutePct)},
		[]string{"total", "", "", "", "", "", "", fmt.Sprintf("%+.1f", a.TotalPct), "", fmt.Sprintf("%+.1f", b.TotalPct)})
	p.table(rows)
}

func (p *page) bands(bands []Band) {
	p.line("\nMeasured less expected power over 20 s, by speed")
	rows := [][]string{{"km/h", "windows", "expected kW", "mean kW", "deviation kW"}}
	for _, b := range bands {
		rows = append(rows, []string{
			fmt.Sprintf("%.0f-%.0f", b.FromKMH, b.ToKMH), fmt.Sprint(b.Windows), fmt.Sprintf("%.1f", b.ExpectedKW), fmt.Sprintf("%+.2f", b.MeanKW), fmt.Sprintf("%.2f", b.SpreadKW),
		})
	}
	p.table(rows)
}

func (p *page) taper(t *Taper) {
	p.line("\nCharging curve from %d charges, power at the battery", t.Charges)
	rows := [][]string{{"SoC %", "kW", "95 % interval"}}
	for _, x := range t.Points {
		rows = append(rows, []string{fmt.Sprintf("%.0f", x.SoCPct), fmt.Sprintf("%.1f", x.PowerKW), fmt.Sprintf("%.1f to %.1f", x.LowKW, x.HighKW)})
	}
	p.table(rows)
	p.line("")
	rows = [][]string{{"charge", "from %", "to %", "kWh", "recorded min", "by the curve min"}}
	for _, s := range t.Sessions {
		rows = append(rows, []string{s.Name, fmt.Sprintf("%.0f", s.FromPct), fmt.Sprintf("%.0f", s.ToPct), fmt.Sprintf("%.1f", s.ChargedKWh), fmt.Sprintf("%.1f", s.RecordedMin), fmt.Sprintf("%.1f", s.ComputedMin)})
	}
	p.table(rows)
}

// figure writes three significant digits.
func figure(x float64) string {
	if x == 0 {
		return "0"
	}
	decimals := max(0, 2-int(math.Floor(math.Log10(math.Abs(x)))))
	return fmt.Sprintf("%.*f", decimals, x)
}

package report

import (
	"fmt"
	"html/template"
	"math"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/route/question"
	"ampleway/route/trip"
)

const (
	metresPerKM   = 1000.0
	metresPerMile = 1609.344
	metresPerFoot = 0.3048
)

// perUnit is the length of the reader's unit of distance, m.
func (w *viewer) perUnit() float64 {
	if w.o.Units == question.US {
		return metresPerMile
	}
	return metresPerKM
}

// On the sheet of a visit the profile and the map stand side by side.
// On so small a map the numbers of the stops and the ends have room.
const besideProfilePx, besideMapPx, besideMapHighPx = 560.0, 300.0, 240.0

func (w *viewer) beside() bool { return w.o.Paper && w.o.Drive > 0 }

// wide is the width of the profile where there is room for it.
func (w *viewer) wide() float64 {
	if w.beside() {
		return besideProfilePx
	}
	return 960
}

// profile draws the battery and the height of the road over its length.
func (w *viewer) profile(id string, widthPx float64) template.HTML {
	p := w.p
	unit := w.perUnit()
	c := chart.Profile{
		ID: w.o.id(id), WidthPx: widthPx, Low: w.o.Paper,
		Title: "Battery and height along the road",
		Description: fmt.Sprintf("The battery falls from %s at the start to %s at the destination; each stop lifts it. The table of legs gives the same in figures.",
			settingOut(p), Arriving(p.ArriveSoC)),
		Length: p.Drive.Profile.LengthM() / unit, DistanceUnit: w.o.Units.DistanceUnit(),
		ReservePct: 100 * math.Min(p.Goal.ReserveSoC, p.Goal.ArriveReserveSoC), EndReservePct: 100 * p.Goal.ArriveReserveSoC,
	}
	for _, t := range p.Track {
		c.SoCPct = append(c.SoCPct, chart.XY{X: t.ChainageM / unit, Y: 100 * t.SoC})
	}
	c.Height, c.HeightUnit = w.heights()
	for i := range p.Stops {
		s := &p.Stops[i]
		leave := LeavingStop(p, i)
		if ifLess(p, i) != "" {
			leave = ""
		}
		c.Stops = append(c.Stops, chart.ProfileStop{
			At: s.Charger.ChainageM / unit, Label: fmt.Sprint(i + 1),
			ArrivePct: 100 * s.ArriveSoC, LeavePct: 100 * s.LeaveSoC, Arrive: ArrivingStop(p, i), Leave: leave,
		})
	}
	for i := range p.Legs {
		l := w.leg(i)
		c.Legs = append(c.Legs, chart.ProfileLeg{From: p.Legs[i].FromM / unit, To: p.Legs[i].ToM / unit, Label: l.ToEmpty + " to empty", Thin: l.Thin})
	}
	return c.SVG()
}

func (w *viewer) heights() ([]chart.XY, string) {
	r := w.p.Drive.Corridor.Route
	if !r.HasElevation() {
		return nil, ""
	}
	scale, unit := 1.0, "m"
	if w.o.Units == question.US {
		scale, unit = metresPerFoot, "ft"
	}
	heights := r.Elevations(0)
	out := make([]chart.XY, len(heights))
	for i, h := range heights {
		out[i] = chart.XY{X: r.ChainageM(i) / w.perUnit(), Y: h / scale}
	}
	return out, unit
}

// charge draws one stop's power over time, and lists the same.
func (w *viewer) charge(i int) (template.HTML, []PowerRow) {
	p := w.p
	s := &p.Stops[i]
	f := s.Charger.Charge
	leaveMin := s.ChargeS / 60
	c := chart.Charge{
		ID:    w.o.id(fmt.Sprintf("charge-%d", i+1)),
		Title: fmt.Sprintf("Charging at stop %d, %s", i+1, trip.SiteName(s.Charger.Site)),
		Description: fmt.Sprintf("Power begins at %.0f kW with %s in the battery and has come to %.0f kW with %s, after %s. The table beside it gives the same in figures.",
			s.PowerInKW, Arriving(s.ArriveSoC), s.PowerOutKW, LeavingStop(w.p, i), span(s.ChargeS)),
		LeaveMin: leaveMin, Leave: LeavingStop(w.p, i),
	}
	if w.o.Paper {
		c.WidthPx, c.HeightPx = w.paperSize()
	}
	if i+1 < len(p.Stops) {
		c.NextKW, c.Next = p.Stops[i+1].PowerInKW, trip.SiteName(p.Stops[i+1].Charger.Site)
	}
	end := w.shownTo(i)
	minute := func(soc float64) float64 { return f.TimeS(s.ArriveSoC, soc) / 60 }
	for _, soc := range samples(s, end) {
		c.Power = append(c.Power, chart.XY{X: minute(soc), Y: f.PowerKW(soc)})
	}
	var table []PowerRow
	row := func(soc float64) {
		table = append(table, PowerRow{fmt.Sprintf("%.0f", minute(soc)), percent(soc), fmt.Sprintf("%.0f kW", f.PowerKW(soc))})
	}
	row(s.ArriveSoC)
	left := false
	for _, soc := range tens(s.ArriveSoC, end) {
		if !left && soc >= s.LeaveSoC {
			row(s.LeaveSoC)
			left = true
		}
		c.SoC = append(c.SoC, chart.XY{X: minute(soc), Y: math.Round(100 * soc)})
		if math.Abs(soc-s.LeaveSoC) > 1e-6 {
			row(soc)
		}
	}
	return c.SVG(), table
}

// paperSize is that of a drawing of which two, or for more than two stops
// three, stand side by side on a sheet.
func (w *viewer) paperSize() (widthPx, heightPx float64) {
	if len(w.p.Stops) > 2 {
		return 236, 150
	}
	return 360, 148
}

// shownTo is how far the picture follows the charge beyond leaving: to 95 %,
// but no longer than the stop again plus twenty minutes.
func (w *viewer) shownTo(i int) float64 {
	const fullest, extraS = 0.95, 20 * 60
	s := &w.p.Stops[i]
	f := s.Charger.Charge
	soc := math.Min(fullest, f.SoCAfter(s.ArriveSoC, 2*s.ChargeS+extraS))
	return math.Max(soc, s.LeaveSoC)
}

// samples are the states of charge at which a curve is drawn: every half
// percent, the corners of the taper from both sides, and where one leaves.
func samples(s *trip.Stop, end float64) []float64 {
	const step, side = 0.005, 1e-6
	out := []float64{s.ArriveSoC}
	pieces := s.Charger.Charge.Pieces()
	for soc := s.ArriveSoC + step; soc < end+step; soc += step {
		last := out[len(out)-1]
		to := math.Min(soc, end)
		for _, corner := range pieces {
			if at := corner.FromSoC; at-side > last && at < to {
				out = append(out, at-side, at)
			}
		}
		if s.LeaveSoC > last && s.LeaveSoC < to {
			out = append(out, s.LeaveSoC)
		}
		out = append(out, to)
	}
	return out
}

func tens(from, to float64) []float64 {
	var out []float64
	for pct := 10 * math.Ceil(10*from+1e-9); pct <= 100*to+1e-9; pct += 10 {
		out = append(out, pct/100)
	}
	return out
}

// roadMap draws the road, each leg as thick as it is far from empty.
func (w *viewer) roadMap() template.HTML {
	p := w.p
	r := p.Drive.Corridor.Route
	m := chart.Map{
		ID: w.o.id("roadmap"), WidthPx: 460, MostHeightPx: 460,
		Title:       "The road and its stops",
		Description: fmt.Sprintf("A map of %s with %s. The line is thinner where the figure to empty is smaller, and dashed where it is smallest.", r.Name, count(len(p.Stops), "stop")),
		Start:       chart.Place{Lon: r.Point(0).Lon, Lat: r.Point(0).Lat, Name: p.Legs[0].From},
		End:         chart.Place{Lon: r.Point(r.Len() - 1).Lon, Lat: r.Point(r.Len() - 1).Lat, Name: p.Legs[len(p.Legs)-1].To},
		Unit:        w.o.Units.DistanceUnit(), MetresPerUnit: w.perUnit(), TileURL: w.o.TileURL,
	}
	if w.beside() {
		m.WidthPx, m.MostHeightPx = besideMapPx, besideMapHighPx
	}
	for i := range p.Legs {
		l := w.leg(i)
		leg := chart.MapLeg{Width: thickness(l.toEmpty), Thin: l.Thin, Label: l.ToEmpty + " to empty"}
		if part, ok := r.Part(p.Legs[i].FromM, p.Legs[i].ToM); ok {
			for _, q := range part.All() {
				leg.Line = append(leg.Line, chart.XY{X: q.Lon, Y: q.Lat})
			}
		}
		m.Legs = append(m.Legs, leg)
	}
	for i := range p.Stops {
		site := p.Stops[i].Charger.Site
		m.Stops = append(m.Stops, chart.Place{Lon: site.Lon, Lat: site.Lat, Mark: fmt.Sprint(i + 1), Name: trip.SiteName(site)})
	}
	if w.beside() {
		for i := range m.Legs {
			m.Legs[i].Label = ""
		}
	}
	return m.SVG()
}

// thickness maps how much more a leg may take until the battery is empty to
// 0..1: nothing at all, and as much again as the leg takes.
func thickness(toEmpty float64) float64 { return math.Min(math.Max(toEmpty, 0), 1) }

package answer

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// perUnit is the length of the reader's unit of distance, m.
func (d *driveTeller) perUnit() float64 { return 1000 * question.Kilometres.Metric(1, d.o.Units) }

// id is an id that no other drive of a journey has.
func (d *driveTeller) id(name string) string { return fmt.Sprintf("drive-%d-%s", d.i+1, name) }

// On paper the profile and the map stand side by side. On so small a map the
// numbers of the stops and the ends have room.
const (
	paperProfilePx, paperMapPx, paperMapHighPx = 560.0, 300.0, 240.0
	wideProfilePx, narrowProfilePx             = 960.0, 360.0
	mapPx                                      = 460.0
	paperChargePx, paperChargeHighPx           = 250.0, 140.0
)

// profile draws the battery and the height of the road over its length.
func (d *driveTeller) profile(m Medium) []template.HTML {
	if m == OnPaper {
		return []template.HTML{d.profileOf("profile", paperProfilePx, true)}
	}
	return []template.HTML{d.profileOf("profile", wideProfilePx, false), d.profileOf("profile-narrow", narrowProfilePx, false)}
}

func (d *driveTeller) profileOf(id string, widthPx float64, low bool) template.HTML {
	p := d.p
	unit := d.perUnit()
	c := chart.Profile{
		ID: d.id(id), WidthPx: widthPx, Low: low,
		Title: "Battery and height along the road",
		Description: fmt.Sprintf("The battery falls from %s at the start to %s at the destination; each stop lifts it. The table of legs gives the same in figures.",
			settingOut(p), Arriving(p.ArriveSoC)),
		Length: p.Drive.Profile.LengthM() / unit, DistanceUnit: d.o.Units.DistanceUnit(),
		ReservePct: 100 * math.Min(p.Goal.ReserveSoC, p.Goal.ArriveReserveSoC), EndReservePct: 100 * p.Goal.ArriveReserveSoC,
	}
	for _, t := range p.Track {
		c.SoCPct = append(c.SoCPct, chart.XY{X: t.ChainageM / unit, Y: 100 * t.SoC})
	}
	c.Height, c.HeightUnit = d.heights()
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
		l := &p.Legs[i]
		c.Legs = append(c.Legs, chart.ProfileLeg{From: l.FromM / unit, To: l.ToM / unit, Label: margin(l.ToEmpty) + " to empty", Thin: d.closest(i)})
	}
	return c.SVG()
}

func (d *driveTeller) heights() ([]chart.XY, string) {
	r := d.p.Drive.Corridor.Route
	if !r.HasElevation() {
		return nil, ""
	}
	heights, unit := r.Elevations(0), question.Metres
	out := make([]chart.XY, len(heights))
	for i, h := range heights {
		out[i] = chart.XY{X: r.ChainageM(i) / d.perUnit(), Y: unit.Figure(h, d.o.Units)}
	}
	return out, unit.In(d.o.Units)
}

// charge draws one stop's power over time.
func (d *driveTeller) charge(i int) func(Medium) []template.HTML {
	p := d.p
	s := &p.Stops[i]
	f := s.Charger.Charge
	return func(m Medium) []template.HTML {
		c := chart.Charge{
			ID:    d.id(fmt.Sprintf("charge-%d", i+1)),
			Title: fmt.Sprintf("Charging at stop %d, %s", i+1, trip.SiteName(s.Charger.Site)),
			Description: fmt.Sprintf("Power begins at %.0f kW with %s in the battery and has come to %.0f kW with %s, after %s. The table beside it gives the same in figures.",
				s.PowerInKW, Arriving(s.ArriveSoC), s.PowerOutKW, LeavingStop(p, i), span(s.ChargeS)),
			LeaveMin: s.ChargeS / 60, Leave: LeavingStop(p, i),
		}
		if m == OnPaper {
			c.WidthPx, c.HeightPx = paperChargePx, paperChargeHighPx
		}
		if i+1 < len(p.Stops) {
			c.NextKW, c.Next = p.Stops[i+1].PowerInKW, trip.SiteName(p.Stops[i+1].Charger.Site)
		}
		end := d.shownTo(i)
		for _, soc := range samples(s, end) {
			c.Power = append(c.Power, chart.XY{X: f.TimeS(s.ArriveSoC, soc) / 60, Y: f.PowerKW(soc)})
		}
		for _, soc := range tens(s.ArriveSoC, end) {
			c.SoC = append(c.SoC, chart.XY{X: f.TimeS(s.ArriveSoC, soc) / 60, Y: math.Round(100 * soc)})
		}
		return []template.HTML{c.SVG()}
	}
}

// powers is a charge in figures.
func (d *driveTeller) powers(i int) *Table {
	s := &d.p.Stops[i]
	f := s.Charger.Charge
	shown := append([]float64{s.ArriveSoC, s.LeaveSoC}, tens(s.ArriveSoC, d.shownTo(i))...)
	slices.Sort(shown)
	t := &Table{Head: powerHead}
	for _, soc := range slices.CompactFunc(shown, func(a, b float64) bool { return b-a < 1e-6 }) {
		t.Add(fmt.Sprintf("%.0f", f.TimeS(s.ArriveSoC, soc)/60), percent(soc), fmt.Sprintf("%.0f kW", f.PowerKW(soc)))
	}
	return t
}

// shownTo is how far the picture follows the charge beyond leaving: to 95 %,
// but no longer than the stop again plus twenty minutes.
func (d *driveTeller) shownTo(i int) float64 {
	const fullest, extraS = 0.95, 20 * 60
	s := &d.p.Stops[i]
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
func (d *driveTeller) roadMap(medium Medium) []template.HTML {
	p := d.p
	r := p.Drive.Corridor.Route
	m := chart.Map{
		ID: d.id("roadmap"), WidthPx: mapPx, MostHeightPx: mapPx,
		Title:       "The road and its stops",
		Description: fmt.Sprintf("A map of %s with %s. The line is thinner where the figure to empty is smaller, and dashed where it is smallest.", r.Name, count(len(p.Stops), "stop")),
		Start:       chart.Place{Lon: r.Point(0).Lon, Lat: r.Point(0).Lat, Name: p.Legs[0].From},
		End:         chart.Place{Lon: r.Point(r.Len() - 1).Lon, Lat: r.Point(r.Len() - 1).Lat, Name: p.Legs[len(p.Legs)-1].To},
		Unit:        d.o.Units.DistanceUnit(), MetresPerUnit: d.perUnit(), TileURL: d.o.TileURL,
	}
	if medium == OnPaper {
		m.WidthPx, m.MostHeightPx = paperMapPx, paperMapHighPx
	}
	for i := range p.Legs {
		l := &p.Legs[i]
		leg := chart.MapLeg{Width: thickness(l.ToEmpty), Thin: d.closest(i)}
		if medium != OnPaper {
			leg.Label = margin(l.ToEmpty) + " to empty"
		}
		if part, ok := r.Part(l.FromM, l.ToM); ok {
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
	return []template.HTML{m.SVG()}
}

// thickness maps how much more a leg may take until the battery is empty to
// 0..1: nothing at all, and as much again as the leg takes.
func thickness(toEmpty float64) float64 { return math.Min(math.Max(toEmpty, 0), 1) }

package chart

import (
	"fmt"
	"html/template"
	"math"
)

// Profile is the battery along the road over one axis of distance, with the
// height of the road below it on the same axis.
type Profile struct {
	ID, Title, Description string
	WidthPx                float64 // of the view box: 960 for a wide place, 360 for a telephone
	Length                 float64 // of the road, in DistanceUnit
	DistanceUnit           string
	SoCPct                 []XY    // distance, state of charge in percent; two at a stop
	ReservePct             float64 // floor along the road
	EndReservePct          float64 // floor at the destination
	Height                 []XY    // distance, elevation; empty where unknown
	HeightUnit             string
	Stops                  []ProfileStop
	Legs                   []ProfileLeg
	Low                    bool // about half as high, as on paper
}

// ProfileStop is a stop on the distance axis.
type ProfileStop struct {
	At                  float64
	Label               string // its number
	ArrivePct, LeavePct float64
	Arrive, Leave       string // the same as people read them
}

// ProfileLeg is a stretch between two stops.
type ProfileLeg struct {
	From, To float64
	Label    string // stands above it
	Thin     bool   // marked: the leg that comes closest to empty
}

const (
	marginLeftPx, marginRightPx = 38.0, 30.0
	socTopPx                    = 46.0
	crowdedPx                   = 64.0 // a last leg so short leaves no room for two figures beside each other
)

// heights are those of the battery's part and of the road's part below it.
func (p *Profile) heights() (socPx, roadPx float64) {
	if p.Low {
		return 116, 40
	}
	return 210, 62
}

// SVG draws the profile.
func (p *Profile) SVG() template.HTML {
	const betweenPx = 14
	socPx, roadPx := p.heights()
	bottom := socTopPx + socPx
	roadTop := bottom + betweenPx
	if len(p.Height) > 1 {
		bottom = roadTop + roadPx
	}
	d := open(p.ID, "chart profile", p.WidthPx, bottom+38, p.Title, p.Description)
	x := scale{0, p.Length, marginLeftPx, p.WidthPx - marginRightPx}
	y := scale{0, 100, socTopPx + socPx, socTopPx}
	p.socAxis(d, x, y)
	p.legs(d, x, y)
	p.reserve(d, x, y)
	if len(p.Height) > 1 {
		p.height(d, x, roadTop, bottom)
	}
	p.distanceAxis(d, x, bottom)
	p.curve(d, x, y, bottom)
	return d.close()
}

func (p *Profile) socAxis(d *drawing, x, y scale) {
	for _, v := range ticks(0, 100, 20) {
		d.line("c-grid", x.p0, y.at(v), x.p1, y.at(v))
		d.text("c-small", "end", x.p0-6, y.at(v)+4, number(v))
	}
	d.text("c-small", "start", 2, socTopPx-30, "battery, %")
}

// legs writes the label of each leg above it, and marks the one that comes
// closest to empty.
func (p *Profile) legs(d *drawing, x, y scale) {
	for _, l := range p.Legs {
		from, to := x.at(l.From), x.at(l.To)
		class := "c-small"
		if l.Thin {
			d.rect("c-thin", from, socTopPx, to-from, y.p0-socTopPx)
			class = "c-small c-strong"
		}
		if wide(l.Label) < to-from-22 {
			d.text(class, "middle", (from+to)/2, socTopPx-12, l.Label)
		}
	}
}

func (p *Profile) reserve(d *drawing, x, y scale) {
	d.rect("c-reserve", x.p0, y.at(p.ReservePct), x.p1-x.p0, y.p0-y.at(p.ReservePct))
	d.line("c-reserveline", x.p0, y.at(p.ReservePct), x.p1, y.at(p.ReservePct))
	if p.ReservePct > 0 {
		label := fmt.Sprintf("reserve %s %%", number(p.ReservePct))
		if p.EndReservePct > p.ReservePct {
			label += fmt.Sprintf(" on the way, %s %% on arrival", number(p.EndReservePct))
		}
		d.text("c-small", "start", x.p0+4, y.at(p.ReservePct)+12, label)
	}
	if p.EndReservePct > 0 && p.EndReservePct != p.ReservePct {
		d.line("c-reserveend", x.p1-14, y.at(p.EndReservePct), x.p1+4, y.at(p.EndReservePct))
	}
}

func (p *Profile) height(d *drawing, x scale, topPx, bottomPx float64) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, h := range p.Height {
		low, high = math.Min(low, h.Y), math.Max(high, h.Y)
	}
	cut := step(math.Max(high-math.Min(low, 0), 1), 2)
	base, top := math.Floor(math.Min(low, 0)/cut)*cut, math.Max(math.Ceil(high/cut), 1)*cut
	y := scale{base, top, bottomPx, topPx}
	points := []XY{{x.at(p.Height[0].X), y.p0}}
	for _, h := range p.Height {
		points = append(points, XY{x.at(h.X), y.at(h.Y)})
	}
	points = append(points, XY{x.at(p.Height[len(p.Height)-1].X), y.p0})
	d.path("c-height", points, true)
	for _, v := range ticks(base, top, cut) {
		d.text("c-small", "end", x.p0-6, y.at(v)+4, number(v))
	}
	d.text("c-small c-over", "start", x.p0+4, topPx+10, "height of the road, "+p.HeightUnit)
}

func (p *Profile) distanceAxis(d *drawing, x scale, bottom float64) {
	d.line("c-axis", x.p0, bottom, x.p1, bottom)
	most := int(math.Max(3, (x.p1-x.p0)/70))
	for _, v := range ticks(0, p.Length, step(p.Length, most)) {
		d.line("c-axis", x.at(v), bottom, x.at(v), bottom+4)
		d.text("c-small", "middle", x.at(v), bottom+17, number(v))
	}
	d.text("c-small", "end", x.p1+marginRightPx-2, bottom+32, p.DistanceUnit+" along the road")
}

func (p *Profile) curve(d *drawing, x, y scale, bottom float64) {
	points := make([]XY, len(p.SoCPct))
	for i, s := range p.SoCPct {
		points[i] = XY{x.at(s.X), y.at(s.Y)}
	}
	for _, s := range p.Stops {
		d.line("c-stop", x.at(s.At), socTopPx-8, x.at(s.At), bottom)
	}
	d.path("c-curve", points, false)
	for _, s := range p.Stops {
		at := x.at(s.At)
		d.line("c-gain", at, y.at(s.ArrivePct), at, y.at(s.LeavePct))
		d.numbered(at, socTopPx-16, s.Label)
		d.text("c-value", "end", at-6, y.at(s.ArrivePct)+4, s.Arrive)
		if s.Leave == "" {
			continue
		}
		if at+6+bold*wide(s.Leave) > p.WidthPx {
			d.text("c-value", "end", at-6, y.at(s.LeavePct)-4, s.Leave)
			continue
		}
		d.text("c-value", "start", at+6, y.at(s.LeavePct)-4, s.Leave)
	}
	if n := len(p.SoCPct); n > 0 {
		d.circle("c-end", points[0].X, points[0].Y, 3.5)
		d.text("c-value", "start", points[0].X+6, points[0].Y-5, number(math.Floor(p.SoCPct[0].Y+1e-4))+" %")
		d.circle("c-end", points[n-1].X, points[n-1].Y, 3.5)
		dy := -8.0
		if k := len(p.Stops); k > 0 && points[n-1].X-x.at(p.Stops[k-1].At) < crowdedPx {
			dy = 18
		}
		d.text("c-value c-strong", "end", points[n-1].X+marginRightPx-2, points[n-1].Y+dy, number(math.Floor(p.SoCPct[n-1].Y+1e-4))+" %")
	}
}

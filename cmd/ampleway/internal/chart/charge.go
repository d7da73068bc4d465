package chart

import (
	"fmt"
	"html/template"
	"math"
)

// Charge is the power at one stop over the minutes since plugging in, with the
// state of charge on the upper edge of the same axis: its marks stand further
// apart as the power falls, which is why one leaves.
type Charge struct {
	ID, Title, Description string
	Power                  []XY    // minutes, kW: from plugging in to beyond leaving
	SoC                    []XY    // minutes, percent: where whole tens are reached
	WidthPx, HeightPx      float64 // of the view box; 0: 360 by 218
	LeaveMin               float64
	Leave                  string  // state of charge on leaving, as people read it
	NextKW                 float64 // power on plugging in at the next stop; 0: there is none
	Next                   string  // its name
}

const (
	chargeWidthPx, chargeHeightPx = 360.0, 218.0
	chargeTopPx, chargeBelowPx    = 50.0, 40.0
)

// SVG draws the charge.
func (c *Charge) SVG() template.HTML {
	width, height := c.WidthPx, c.HeightPx
	if width == 0 {
		width, height = chargeWidthPx, chargeHeightPx
	}
	d := open(c.ID, "chart charge", width, height, c.Title, c.Description)
	end, peak := 1.0, math.Max(c.NextKW, 1)
	for _, p := range c.Power {
		end, peak = math.Max(end, p.X), math.Max(peak, p.Y)
	}
	cut := step(peak*1.05, 4)
	x := scale{0, end, 38, width - 12}
	y := scale{0, math.Ceil(peak*1.02/cut) * cut, height - chargeBelowPx, chargeTopPx}
	c.axes(d, x, y, cut)
	c.stay(d, x, y)
	c.next(d, x, y)
	c.leave(d, x, y)
	return d.close()
}

func (c *Charge) axes(d *drawing, x, y scale, cut float64) {
	d.rules(x, y, cut)
	d.text("c-small", "start", 2, 12, "kW")
	for _, v := range ticks(0, x.v1, step(x.v1, int((x.p1-x.p0)/52))) {
		d.line("c-axis", x.at(v), y.p0, x.at(v), y.p0+4)
		d.text("c-small", "middle", x.at(v), y.p0+17, number(v))
	}
	d.text("c-small", "end", x.p1+10, y.p0+33, "minutes since plugging in")
	written := math.Inf(-1)
	for _, s := range c.SoC {
		at := x.at(s.X)
		d.line("c-soc", at, y.p1-10, at, y.p1-4)
		if label := number(s.Y); at-written > wide(label)+6 {
			d.text("c-small", "middle", at, y.p1-14, label)
			written = at
		}
	}
	d.text("c-small", "end", x.p1+10, 12, "battery, %, at that minute")
	d.line("c-soc", x.p0, y.p1-4, x.p1, y.p1-4)
}

// stay shades the energy that is taken and goes on with what staying would
// give.
func (c *Charge) stay(d *drawing, x, y scale) {
	taken := []XY{{x.at(0), y.p0}}
	var beyond []XY
	for _, p := range c.Power {
		at := XY{x.at(p.X), y.at(p.Y)}
		if p.X <= c.LeaveMin+1e-9 {
			taken = append(taken, at)
		}
		if p.X >= c.LeaveMin-1e-9 {
			beyond = append(beyond, at)
		}
	}
	d.path("c-taken", append(taken, XY{x.at(c.LeaveMin), y.p0}), true)
	d.path("c-curve", taken[1:], false)
	d.path("c-beyond", beyond, false)
	d.line("c-axis", x.p0, y.p0, x.p1, y.p0)
}

func (c *Charge) next(d *drawing, x, y scale) {
	if c.NextKW <= 0 {
		return
	}
	d.line("c-next", x.p0, y.at(c.NextKW), x.p1, y.at(c.NextKW))
	label := fmt.Sprintf("next stop begins at %.0f kW", c.NextKW)
	const tallPx = 16.0
	at := y.at(c.NextKW) - 4
	if at-y.p1 < tallPx {
		at = y.at(c.NextKW) + 12
	}
	d.text("c-small c-over", "end", x.p1, at, label)
}

func (c *Charge) leave(d *drawing, x, y scale) {
	at := x.at(c.LeaveMin)
	d.line("c-leave", at, y.p1-4, at, y.p0)
	label := "leave with " + c.Leave
	if at+wide(label)+10 > x.p1 {
		d.text("c-value c-strong", "end", at-5, y.p0-8, label)
		return
	}
	d.text("c-value c-strong", "start", at+5, y.p0-8, label)
}

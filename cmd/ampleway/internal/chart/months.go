package chart

import (
	"html/template"
	"math"
)

// Months is a year in twelve bars: what came from home, and on top of it what
// came from fast chargers.
type Months struct {
	ID, Title, Description string
	Labels                 [12]string
	HomeKWh, FastKWh       [12]float64
}

const (
	monthsWidthPx, monthsHeightPx = 720.0, 250.0
	monthsTopPx, monthsBottomPx   = 34.0, 218.0
)

// SVG draws the year. Home is filled, fast is hatched by its outline, so that
// the two are told apart without colour.
func (m *Months) SVG() template.HTML {
	d := open(m.ID, "chart months", monthsWidthPx, monthsHeightPx, m.Title, m.Description)
	most := 1.0
	for i := range m.HomeKWh {
		most = math.Max(most, m.HomeKWh[i]+m.FastKWh[i])
	}
	cut := step(most, 4)
	y := scale{0, math.Ceil(most/cut) * cut, monthsBottomPx, monthsTopPx}
	x := scale{0, 12, 44, monthsWidthPx - 8}
	d.rules(x, y, cut)
	d.text("c-small", "start", 2, 14, "kWh")
	m.key(d, x)
	for i := range m.HomeKWh {
		left, width := x.at(float64(i)+0.16), x.at(0.68)-x.at(0)
		home, all := y.at(m.HomeKWh[i]), y.at(m.HomeKWh[i]+m.FastKWh[i])
		d.rect("c-home", left, home, width, y.p0-home)
		if home-all > 0.5 {
			d.rect("c-fast", left, all, width, home-all)
		}
		d.text("c-small", "middle", left+width/2, y.p0+16, m.Labels[i])
	}
	d.line("c-axis", x.p0, y.p0, x.p1, y.p0)
	return d.close()
}

func (m *Months) key(d *drawing, x scale) {
	at := x.p0 + 60
	for _, k := range []struct{ class, label string }{{"c-home", "charged at home"}, {"c-fast", "at fast chargers"}} {
		d.rect(k.class, at, 5, 12, 12)
		d.text("c-small", "start", at+18, 15, k.label)
		at += 40 + wide(k.label)
	}
}

package chart

import (
	"cmp"
	"encoding/xml"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Panels are line charts one below the other.
type Panels struct {
	ID, Title, Description string
	Panels                 []Panel
}

// Panel is one line chart. Its vertical axis begins at zero.
type Panel struct {
	Title        string
	XName, YName string // what the axes show, with the unit
	Lines        []Line
}

// Line goes straight from point to point, left to right. Each line of a panel
// has a dash of its own and its label at its right end.
type Line struct {
	Label  string
	Points []XY
}

const (
	panelWidthPx, panelHeightPx = 720.0, 340.0
	panelTopPx, panelBelowPx    = 46.0, 46.0
	panelRightPx                = 86.0 // room for the labels of the lines
	lineDashes                  = 5    // c-line0 to c-line4 in chart.css
	labelTallPx                 = 14.0
)

// SVG draws the panels.
func (p *Panels) SVG() template.HTML {
	d := open(p.ID, "chart panels", panelWidthPx, panelHeightPx*float64(len(p.Panels)), p.Title, p.Description)
	for i := range p.Panels {
		p.Panels[i].draw(d, panelHeightPx*float64(i))
	}
	return d.close()
}

func (p *Panel) draw(d *drawing, top float64) {
	x := scale{math.Inf(1), math.Inf(-1), 44, panelWidthPx - panelRightPx}
	most := 1.0
	for _, l := range p.Lines {
		for _, at := range l.Points {
			x.v0, x.v1, most = math.Min(x.v0, at.X), math.Max(x.v1, at.X), math.Max(most, at.Y)
		}
	}
	if x.v0 > x.v1 {
		x.v0, x.v1 = 0, 0
	}
	cut := step(most, 6)
	y := scale{0, math.Ceil(most/cut) * cut, top + panelHeightPx - panelBelowPx, top + panelTopPx}
	d.text("c-value", "start", 2, top+16, p.Title)
	d.text("c-small", "start", 2, top+34, p.YName)
	d.rules(x, y, cut)
	for _, v := range ticks(x.v0, x.v1, step(x.v1-x.v0, 12)) {
		d.line("c-axis", x.at(v), y.p0, x.at(v), y.p0+4)
		d.text("c-small", "middle", x.at(v), y.p0+17, number(v))
	}
	d.text("c-small", "end", x.p1, y.p0+34, p.XName)
	p.lines(d, x, y)
}

func (p *Panel) lines(d *drawing, x, y scale) {
	var ends []end
	for i, l := range p.Lines {
		class := "c-line c-line" + strconv.Itoa(i%lineDashes)
		var line []XY
		for _, at := range l.Points {
			line = append(line, XY{x.at(at.X), y.at(at.Y)})
		}
		d.path(class, line, false)
		for _, at := range line {
			d.circle("c-end", at.X, at.Y, 2.5)
		}
		if len(line) > 0 {
			ends = append(ends, end{line[len(line)-1].Y, l.Label})
		}
	}
	apart(ends, y.p0)
	for _, e := range ends {
		d.text("c-value", "start", x.p1+8, e.y+4, e.label)
	}
}

// end is the label at the end of a line.
type end struct {
	y     float64
	label string
}

// apart moves labels up and down until none covers another, none below the
// bottom.
func apart(ends []end, bottom float64) {
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(a.y, b.y) })
	for i := 1; i < len(ends); i++ {
		ends[i].y = math.Max(ends[i].y, ends[i-1].y+labelTallPx)
	}
	for i := len(ends) - 1; i >= 0; i-- {
		ends[i].y = math.Min(ends[i].y, bottom)
		bottom = ends[i].y - labelTallPx
	}
}

// paper gives the style sheet's colours to programs that know no custom
// properties.
var paper = strings.NewReplacer("var(--ink)", "#14201f", "var(--soft)", "#4a5654", "var(--rule)", "#cfd6d4",
	"var(--fill)", "#e3e9e7", "var(--thin)", "#f1f3f2", "var(--accent)", "#1f4e5a", "var(--paper)", "#ffffff")

// File draws the panels as a file of its own, with its style in it.
func (p *Panels) File() string {
	head, rest, _ := strings.Cut(string(p.SVG()), "\n")
	return xml.Header + `<svg xmlns="http://www.w3.org/2000/svg"` + strings.TrimPrefix(head, "<svg") +
		"\n<style>\n" + paper.Replace(CSS) + "</style>\n" + rest
}

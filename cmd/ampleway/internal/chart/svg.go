package chart

import (
	_ "embed"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// CSS styles every drawing that a page holds. It expects the custom properties --ink, --soft,
// --rule, --fill, --accent and --paper of the page around it.
//
//go:embed chart.css
var CSS string

// XY is a point in the caller's units, or in pixels.
type XY struct{ X, Y float64 }

// drawing collects SVG elements. Coordinates are pixels of the view box, to a
// tenth.
type drawing struct{ b strings.Builder }

// open starts a drawing that assistive technology reads as one image.
func open(id, class string, width, height float64, title, description string) *drawing {
	d := &drawing{}
	d.raw(`<svg class="`, class, `" id="`, html.EscapeString(id), `" viewBox="0 0 `, px(width), ` `, px(height),
		`" role="img" aria-labelledby="`, html.EscapeString(id), `-t `, html.EscapeString(id), `-d">`,
		`<title id="`, html.EscapeString(id), `-t">`, html.EscapeString(title), `</title>`,
		`<desc id="`, html.EscapeString(id), `-d">`, html.EscapeString(description), `</desc>`, "\n")
	return d
}

func (d *drawing) close() template.HTML {
	d.raw("</svg>\n")
	return template.HTML(d.b.String())
}

func (d *drawing) raw(parts ...string) {
	for _, p := range parts {
		d.b.WriteString(p)
	}
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.raw(`<line class="`, class, `" x1="`, px(x1), `" y1="`, px(y1), `" x2="`, px(x2), `" y2="`, px(y2), "\"/>\n")
}

func (d *drawing) rect(class string, x, y, width, height float64) {
	d.raw(`<rect class="`, class, `" x="`, px(x), `" y="`, px(y), `" width="`, px(width), `" height="`, px(height), "\"/>\n")
}

func (d *drawing) circle(class string, x, y, r float64) {
	d.raw(`<circle class="`, class, `" cx="`, px(x), `" cy="`, px(y), `" r="`, px(r), "\"/>\n")
}

// text writes at an anchor: "start", "middle" or "end".
func (d *drawing) text(class, anchor string, x, y float64, text string) {
	d.raw(`<text class="`, class, `" x="`, px(x), `" y="`, px(y), `" text-anchor="`, anchor, `">`, html.EscapeString(text), "</text>\n")
}

// path draws a line through points; closed fills it.
func (d *drawing) path(class string, points []XY, closed bool) {
	if len(points) == 0 {
		return
	}
	d.raw(`<path class="`, class, `" d="`, trace(points))
	if closed {
		d.raw("Z")
	}
	d.raw("\"/>\n")
}

// rules draws the level lines of a vertical axis, cut apart, with their numbers.
func (d *drawing) rules(x, y scale, cut float64) {
	for _, v := range ticks(0, y.v1, cut) {
		d.line("c-grid", x.p0, y.at(v), x.p1, y.at(v))
		d.text("c-small", "end", x.p0-6, y.at(v)+4, number(v))
	}
}

// numbered draws the mark of a stop.
func (d *drawing) numbered(x, y float64, label string) {
	d.circle("c-mark", x, y, 9)
	d.text("c-marktext", "middle", x, y+4, label)
}

// leastStepPx is the least distance between two points of a path.
const leastStepPx = 1.0

// trace is the data of a path. Points closer than a pixel to the one
// before are left out, the last is kept.
func trace(points []XY) string {
	var b strings.Builder
	last := points[0]
	b.WriteString("M" + px(last.X) + " " + px(last.Y))
	for i, p := range points[1:] {
		if math.Hypot(p.X-last.X, p.Y-last.Y) < leastStepPx && i < len(points)-2 {
			continue
		}
		b.WriteString("L" + px(p.X) + " " + px(p.Y))
		last = p
	}
	return b.String()
}

func px(v float64) string {
	text := strconv.FormatFloat(v, 'f', 1, 64)
	text = strings.TrimSuffix(text, ".0")
	if text == "-0" {
		return "0"
	}
	return text
}

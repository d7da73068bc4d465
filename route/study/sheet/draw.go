package sheet

import (
	"fmt"
	"html"
	"math"
	"strings"

	"ampleway/route/study"
)

// drawing collects the elements of one SVG image.
type drawing struct{ b strings.Builder }

func begin(width, height float64, title string) *drawing {
	d := &drawing{}
	fmt.Fprintf(&d.b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" role="img" aria-label="%s" font-family="system-ui, sans-serif" font-size="12" fill="#14201f">`, width, height, width, height, html.EscapeString(title))
	return d
}

func (d *drawing) end() string { return d.b.String() + "</svg>" }

func (d *drawing) text(anchor string, x, y float64, text string) {
	fmt.Fprintf(&d.b, `<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, x, y, anchor, html.EscapeString(text))
}

func (d *drawing) line(x1, y1, x2, y2 float64, style string) {
	fmt.Fprintf(&d.b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" %s/>`, x1, y1, x2, y2, style)
}

func (d *drawing) rect(x, y, w, h float64, style string) {
	fmt.Fprintf(&d.b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" %s/>`, x, y, w, h, style)
}

const rule = `stroke="#bbb" stroke-width="1"`

// Heat draws how many of the cases can be made, by reserve and temperature: the
// darker the fewer, the share in each cell.
func Heat(cells []study.Cell) string {
	temps, reserves := axis(cells, func(c study.Cell) float64 { return -c.TempC }), axis(cells, func(c study.Cell) float64 { return c.ReservePct })
	const cellW, cellH, left, top = 46.0, 26.0, 70.0, 36.0
	d := begin(left+cellW*float64(len(reserves))+20, top+cellH*float64(len(temps))+10, "Share of cases that can be made, by reserve and temperature")
	d.text("start", left, 12, "reserve")
	for i, r := range reserves {
		d.text("middle", left+cellW*(float64(i)+0.5), top-6, fmt.Sprintf("%g %%", r))
	}
	for k, t := range temps {
		d.text("end", left-8, top+cellH*(float64(k)+0.65), fmt.Sprintf("%g °C", -t))
	}
	for _, c := range cells {
		x, y := left+cellW*float64(index(reserves, c.ReservePct)), top+cellH*float64(index(temps, -c.TempC))
		share := float64(c.Feasible) / float64(max(c.Cases, 1))
		grey := int(90 + 160*share)
		d.rect(x+1, y+1, cellW-2, cellH-2, fmt.Sprintf(`fill="rgb(%d,%d,%d)"`, grey, grey, grey))
		ink := "#111"
		if share < 0.4 {
			ink = "#fff"
		}
		fmt.Fprintf(&d.b, `<text x="%.1f" y="%.1f" text-anchor="middle" fill="%s">%.0f</text>`, x+cellW/2, y+cellH*0.65, ink, math.Floor(100*share+1e-9))
	}
	return d.end()
}

// axis lists the values of cells in rising order.
func axis(cells []study.Cell, value func(study.Cell) float64) []float64 {
	var out []float64
	for _, c := range cells {
		v := value(c)
		at := 0
		for at < len(out) && out[at] < v {
			at++
		}
		if at == len(out) || out[at] != v {
			out = append(out[:at], append([]float64{v}, out[at:]...)...)
		}
	}
	return out
}

func index(values []float64, v float64) int {
	for i := range values {
		if values[i] == v {
			return i
		}
	}
	return 0
}

// Strip draws a corridor from left to right: chargers as bars of their power,
// the stretches on which cases fail as hatched bands, the best places for one
// more station as triangles.
func Strip(c *study.CorridorView) string {
	const width, height, left, road = 820.0, 108.0, 20.0, 60.0
	d := begin(width, height, "Chargers and failing stretches along "+c.Name)
	x := func(km float64) float64 { return left + (width-2*left)*km/max(c.LengthKM, 1) }
	d.b.WriteString(`<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="6" stroke="#555" stroke-width="2"/></pattern></defs>`)
	for i, s := range c.Stretches {
		if i == 3 {
			break
		}
		d.rect(x(s.FromKM), road-float64(14*(i+1)), x(s.ToKM)-x(s.FromKM), 12, `fill="url(#hatch)" stroke="#333"`)
	}
	d.line(x(0), road, x(c.LengthKM), road, `stroke="#222" stroke-width="2"`)
	for _, m := range c.Chargers {
		d.line(x(m.KM), road, x(m.KM), road-4-28*min(m.PowerKW, 350)/350, `stroke="#222" stroke-width="2"`)
	}
	for _, b := range c.Build {
		if b.BestForTime || b.BestForReserve {
			d.text("middle", x(b.KM), road+16, "▲")
			d.text("middle", x(b.KM), road+30, fmt.Sprintf("%.0f kW", b.PowerKW))
		}
	}
	for _, km := range ticks(0, c.LengthKM, 8) {
		d.text("middle", x(km), height-2, fmt.Sprintf("%g", km))
	}
	return d.end()
}

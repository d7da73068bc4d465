package chart

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb/maptile"
)

// Map is the road on a plane: Mercator, north up, with a scale bar that holds
// at its middle latitude.
type Map struct {
	ID, Title, Description string
	WidthPx, MostHeightPx  float64 // of the view box
	Legs                   []MapLeg
	Stops                  []Place
	Start, End             Place
	MetresPerUnit          float64 // 1000 for km, 1609.344 for miles
	Unit                   string
	TileURL                string // with {z}, {x} and {y}; empty: no picture underneath

	taken []box // where marks and names stand already
}

// MapLeg is the road between two stops. Width is 0..1, drawn as the line's
// thickness.
type MapLeg struct {
	Line  []XY // longitude, latitude
	Width float64
	Thin  bool
	Label string
}

// Place is a point with a label.
type Place struct {
	Lon, Lat float64
	Mark     string // short, inside the mark
	Name     string
}

const (
	mapMarginPx  = 40.0
	leastWidthPx = 1.6
	mostWidthPx  = 8.0
	earthRadiusM = 6378137.0 // WGS 84 equatorial radius, as Web Mercator uses it
	tilePx       = 256.0
)

// SVG draws the map.
func (m *Map) SVG() template.HTML {
	f := m.fit()
	d := open(m.ID, "chart map", m.WidthPx, f.height, m.Title, m.Description)
	m.tiles(d, f)
	for _, l := range m.Legs {
		class := "c-road"
		if l.Thin {
			class = "c-road c-roadthin"
		}
		d.raw(`<path class="`, class, `" stroke-width="`, px(leastWidthPx+(mostWidthPx-leastWidthPx)*l.Width), `" d="`, trace(f.line(l.Line)), "\"/>\n")
	}
	if n := len(m.Legs); n > 0 {
		m.end(d, f, m.Start, m.Legs[0].Line)
		m.end(d, f, m.End, m.Legs[n-1].Line)
	}
	for _, s := range m.Stops {
		at := f.at(s.Lon, s.Lat)
		m.taken = append(m.taken, box{at.X - markPx, at.Y - markPx, at.X + markPx, at.Y + markPx})
	}
	for _, s := range m.Stops {
		m.stop(d, f, s)
	}
	for _, l := range m.Legs {
		if l.Thin {
			m.label(d, f, l)
		}
	}
	m.furniture(d, f)
	return d.close()
}

// fitted is the projection: world coordinates 0..1 to pixels.
type fitted struct {
	x0, y0, scale    float64 // world coordinates of the upper left corner; pixels of the whole world
	lon0             float64 // longitudes are taken within ±180 of this
	height           float64
	metresPerPx      float64
	offsetX, offsetY float64
}

// mercator gives world coordinates, 0..1 from the antimeridian eastward and
// from the north southward.
func mercator(lon, lat float64) XY {
	const limit = 85.05112878 // where the square of Web Mercator ends
	lat = math.Max(-limit, math.Min(limit, lat)) * math.Pi / 180
	return XY{lon/360 + 0.5, 0.5 - math.Asinh(math.Tan(lat))/(2*math.Pi)}
}

func (f *fitted) at(lon, lat float64) XY {
	for lon-f.lon0 > 180 {
		lon -= 360
	}
	for lon-f.lon0 < -180 {
		lon += 360
	}
	w := mercator(lon, lat)
	return XY{f.offsetX + (w.X-f.x0)*f.scale, f.offsetY + (w.Y-f.y0)*f.scale}
}

func (f *fitted) line(points []XY) []XY {
	out := make([]XY, len(points))
	for i, p := range points {
		out[i] = f.at(p.X, p.Y)
	}
	return out
}

func (m *Map) fit() *fitted {
	f := &fitted{scale: 1, lon0: m.Start.Lon}
	low, high := XY{math.Inf(1), math.Inf(1)}, XY{math.Inf(-1), math.Inf(-1)}
	for _, l := range m.Legs {
		for _, p := range f.line(l.Line) {
			low = XY{math.Min(low.X, p.X), math.Min(low.Y, p.Y)}
			high = XY{math.Max(high.X, p.X), math.Max(high.Y, p.Y)}
		}
	}
	const leastWorld = 1e-7 // some metres: a road of one place still has a map
	width, height := math.Max(high.X-low.X, leastWorld), math.Max(high.Y-low.Y, leastWorld)
	room := XY{m.WidthPx - 2*mapMarginPx, m.MostHeightPx - 2*mapMarginPx}
	f.scale = math.Min(room.X/width, room.Y/height)
	f.x0, f.y0 = low.X, low.Y
	f.height = math.Max(height*f.scale, 120) + 2*mapMarginPx
	f.offsetX = (m.WidthPx - width*f.scale) / 2
	f.offsetY = (f.height - height*f.scale) / 2
	middle := math.Atan(math.Sinh(2 * math.Pi * (0.5 - (low.Y+high.Y)/2)))
	f.metresPerPx = 2 * math.Pi * earthRadiusM * math.Cos(middle) / f.scale
	return f
}

// label writes a leg's label beside its middle.
func (m *Map) label(d *drawing, f *fitted, l MapLeg) {
	if len(l.Line) > 0 && l.Label != "" {
		p := l.Line[len(l.Line)/2]
		m.write(d, "c-small c-strong c-over", f.at(p.X, p.Y), l.Label, above, below)
	}
}

// side puts a label where it stays on the map.
func (m *Map) side(at XY, label string) (anchor string, dx float64) {
	if at.X+14+bold*wide(label) > m.WidthPx {
		return "end", -13
	}
	return "start", 13
}

// end marks the start or the destination; its name stands where the road beside
// it does not lead.
func (m *Map) end(d *drawing, f *fitted, p Place, road []XY) {
	const abovePx, belowPx = -9, 16
	at := f.at(p.Lon, p.Lat)
	d.rect("c-end", at.X-4, at.Y-4, 8, 8)
	dy := float64(abovePx)
	if len(road) > 0 {
		if middle := road[len(road)/2]; f.at(middle.X, middle.Y).Y < at.Y {
			dy = belowPx
		}
	}
	anchor, dx := m.side(at, p.Name)
	x, width := at.X+dx-9*sign(dx), bold*wide(p.Name)
	m.taken = append(m.taken, box{min(x, x+sign(dx)*width), at.Y + dy - textPx + 2, max(x, x+sign(dx)*width), at.Y + dy + 3})
	d.text("c-value c-over", anchor, x, at.Y+dy, p.Name)
}

// stop marks a stop and names it.
func (m *Map) stop(d *drawing, f *fitted, p Place) {
	at := f.at(p.Lon, p.Lat)
	d.numbered(at.X, at.Y, p.Mark)
	if p.Name != "" {
		m.write(d, "c-value c-over", at, p.Name, right, left, above, below)
	}
}

// side is where a text may stand beside a place.
type side int

const (
	right side = iota
	left
	above
	below
)

// write writes a text on the first of some sides where nothing else stands, or
// nowhere: the tables have it too.
func (m *Map) write(d *drawing, class string, at XY, text string, sides ...side) {
	width := bold * wide(text)
	places := [...]struct {
		anchor       string
		dx, dy, left float64 // of the text's anchor, and of its left end
	}{
		right: {"start", 13, 4, 13}, left: {"end", -13, 4, -13 - width},
		above: {"middle", 0, -markPx - 4, -width / 2}, below: {"middle", 0, markPx + textPx, -width / 2},
	}
	for _, s := range sides {
		place := places[s]
		b := box{at.X + place.left, at.Y + place.dy - textPx + 2, at.X + place.left + width, at.Y + place.dy + 3}
		if b.x0 < 0 || b.x1 > m.WidthPx || b.y0 < 0 || slices.ContainsFunc(m.taken, b.meets) {
			continue
		}
		m.taken = append(m.taken, b)
		d.text(class, place.anchor, at.X+place.dx, at.Y+place.dy, text)
		return
	}
}

// Half of a stop's mark, and the height of a name.
const markPx, textPx = 10.0, 14.0

// box is a part of the map that something stands in.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(other box) bool {
	return b.x0 < other.x1 && other.x0 < b.x1 && b.y0 < other.y1 && other.y0 < b.y1
}

func sign(v float64) float64 { return math.Copysign(1, v) }

// furniture is the scale bar and the north arrow.
func (m *Map) furniture(d *drawing, f *fitted) {
	length := step(f.metresPerPx*m.WidthPx/m.MetresPerUnit/3, 1)
	widthPx := length * m.MetresPerUnit / f.metresPerPx
	if widthPx > m.WidthPx/2 {
		length, widthPx = length/2, widthPx/2
	}
	x, y := 8.0, f.height-10
	d.path("c-axis", []XY{{x, y - 5}, {x, y}, {x + widthPx, y}, {x + widthPx, y - 5}}, false)
	d.text("c-small c-over", "start", x+4, y-5, fmt.Sprintf("%s %s", number(length), m.Unit))
	north := XY{m.WidthPx - 14, f.height - 34}
	d.path("c-north", []XY{{north.X, north.Y}, {north.X + 5, north.Y + 14}, {north.X, north.Y + 10}, {north.X - 5, north.Y + 14}}, true)
	d.text("c-small c-over", "middle", north.X, north.Y+25, "N")
}

// tiles lays square pictures from the user's server under the road.
func (m *Map) tiles(d *drawing, f *fitted) {
	if m.TileURL == "" {
		return
	}
	const deepest = 19
	zoom := maptile.Zoom(math.Max(0, math.Min(deepest, math.Round(math.Log2(f.scale/tilePx)))))
	n := math.Exp2(float64(zoom))
	size := f.scale / n
	left, top := f.x0-f.offsetX/f.scale, f.y0-f.offsetY/f.scale
	d.raw(`<g class="c-tiles" aria-hidden="true">`)
	for ty := math.Floor(top * n); ty <= math.Floor((top+f.height/f.scale)*n); ty++ {
		for tx := math.Floor(left * n); tx <= math.Floor((left+m.WidthPx/f.scale)*n); tx++ {
			tile := maptile.New(uint32(math.Mod(tx+n, n)), uint32(math.Max(ty, 0)), zoom)
			if ty < 0 || !tile.Valid() {
				continue
			}
			d.raw(`<image href="`, html.EscapeString(tileURL(m.TileURL, tile)), `" x="`, px(f.offsetX+(tx/n-f.x0)*f.scale),
				`" y="`, px(f.offsetY+(ty/n-f.y0)*f.scale), `" width="`, px(size+0.1), `" height="`, px(size+0.1), "\"/>")
		}
	}
	d.raw("</g>\n")
}

func tileURL(template string, t maptile.Tile) string {
	return strings.NewReplacer("{z}", fmt.Sprint(t.Z), "{x}", fmt.Sprint(t.X), "{y}", fmt.Sprint(t.Y)).Replace(template)
}

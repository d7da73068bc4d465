package carsheet

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"ampleway/energy"
	"ampleway/route/trip"
)

// plotTo draws charging power against state of charge above range against
// temperature.
func plotTo(w io.Writer, s *energy.Sheet, units trip.Units, format string) error {
	canvas, err := draw.NewFormattedCanvas(18*vg.Centimeter, 20*vg.Centimeter, format)
	if err != nil {
		return err
	}
	taper, err := taperPlot(s)
	if err != nil {
		return err
	}
	ranges, err := rangePlot(s, units)
	if err != nil {
		return err
	}
	tiles := draw.Tiles{Rows: 2, Cols: 1, PadX: vg.Points(12), PadY: vg.Points(18), PadTop: vg.Points(8), PadBottom: vg.Points(8), PadLeft: vg.Points(8), PadRight: vg.Points(14)}
	page := draw.New(canvas)
	canvases := plot.Align([][]*plot.Plot{{taper}, {ranges}}, tiles, page)
	taper.Draw(canvases[0][0])
	ranges.Draw(canvases[1][0])
	_, err = canvas.WriteTo(w)
	return err
}

func taperPlot(s *energy.Sheet) (*plot.Plot, error) {
	p := plot.New()
	p.Title.Text = fmt.Sprintf("%s: DC power the battery takes (10 to 80 %% in %s)", s.Car.Name, minutes(s.Time10to80S))
	p.X.Label.Text = "state of charge, %"
	p.Y.Label.Text = "kW"
	p.X.Min, p.X.Max, p.Y.Min = 0, 100, 0
	p.X.Tick.Marker, p.Y.Tick.Marker = every(10), every(20)
	var points plotter.XYs
	for _, t := range s.Car.Taper {
		points = append(points, plotter.XY{X: t.SoC * 100, Y: t.PowerKW})
	}
	line, err := plotter.NewLine(points)
	if err != nil {
		return nil, err
	}
	line.Color, line.Width = inks[0], vg.Points(2)
	p.Add(plotter.NewGrid(), line)
	return p, nil
}

func rangePlot(s *energy.Sheet, units trip.Units) (*plot.Plot, error) {
	p := plot.New()
	p.Title.Text = "Range from full to empty at a steady speed"
	p.X.Label.Text = "air temperature, " + temperatureUnit(units)
	p.Y.Label.Text = units.DistanceUnit()
	p.Y.Min = 0
	p.Legend.Top, p.Legend.Left, p.Legend.Padding = true, true, vg.Points(3)
	p.Add(plotter.NewGrid())
	for i, v := range s.SpeedsMS {
		var points plotter.XYs
		for j, c := range s.TempsC {
			points = append(points, plotter.XY{X: temperature(units, c), Y: distance(units, s.RangeM[i][j])})
		}
		line, err := plotter.NewLine(points)
		if err != nil {
			return nil, err
		}
		line.Color, line.Width, line.Dashes = inks[i%len(inks)], vg.Points(2), dashes[i%len(dashes)]
		p.Add(line)
		p.Legend.Add(units.Speed(v), line)
	}
	p.Y.Max *= 1.25 // room for the legend
	p.X.Tick.Marker, p.Y.Tick.Marker = every(10), every(100)
	return p, nil
}

// every labels the multiples of a step.
type every float64

// Ticks implements plot.Ticker.
func (e every) Ticks(low, high float64) []plot.Tick {
	var ticks []plot.Tick
	for v := math.Ceil(low/float64(e)) * float64(e); v <= high; v += float64(e) {
		ticks = append(ticks, plot.Tick{Value: v, Label: strconv.FormatFloat(v, 'f', 0, 64)})
	}
	return ticks
}

// Ink and dash differ from line to line, so that none rests on colour alone.
// The colours are those of Okabe and Ito (2008), told apart by colour-blind
// readers.
var (
	inks = []color.Color{
		color.RGBA{0, 114, 178, 255}, color.RGBA{213, 94, 0, 255}, color.RGBA{0, 158, 115, 255},
		color.RGBA{204, 121, 167, 255}, color.RGBA{86, 180, 233, 255}, color.RGBA{230, 159, 0, 255},
	}
	dashes = [][]vg.Length{nil, {vg.Points(8), vg.Points(3)}, {vg.Points(3), vg.Points(2)}, {vg.Points(10), vg.Points(3), vg.Points(2), vg.Points(3)}, {vg.Points(1.5), vg.Points(1.5)}}
)

func temperatureUnit(u trip.Units) string {
	if u == trip.US {
		return "°F"
	}
	return "°C"
}

func temperature(u trip.Units, tempC float64) float64 {
	if u == trip.US {
		return energy.FahrenheitFromC(tempC)
	}
	return tempC
}

func distance(u trip.Units, m float64) float64 {
	if u == trip.US {
		return m / 1609.344
	}
	return m / 1000
}

package sheet

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"ampleway/route/study"
)

// panels draws the time of a trip against the reserve, one drawing a car, all
// with the same axes.
func panels(curves []study.Curve) []panel {
	f, ok := frameOf(curves)
	if !ok {
		return nil
	}
	var cars []string
	for _, c := range curves {
		if !slices.Contains(cars, c.Car) {
			cars = append(cars, c.Car)
		}
	}
	var out []panel
	for _, car := range cars {
		own := slices.DeleteFunc(slices.Clone(curves), func(c study.Curve) bool { return c.Car != car })
		out = append(out, panel{car, template.HTML(f.draw(own))})
	}
	return out
}

// frame is the axes of a drawing: minutes upwards, reserve in % to the right.
type frame struct{ lowMin, highMin, mostPct float64 }

const (
	frameW, frameH           = 262.0, 200.0
	frameLeft, frameRight    = 46.0, 46.0
	frameTop, frameBottom    = 8.0, 34.0
	labelStep, mostTemps     = 12.0, 8
	fewTicks, fewReserves    = 5, 6
	minutesAnHour            = 60.0
	failedMark, narrowMarkPx = "×", 3.0
)

func frameOf(curves []study.Curve) (frame, bool) {
	f := frame{math.Inf(1), 0, 1}
	for _, c := range curves {
		for i, m := range c.TimesMin {
			if m != nil {
				f.lowMin, f.highMin, f.mostPct = min(f.lowMin, *m), max(f.highMin, *m), max(f.mostPct, c.ReservesPct[i])
			}
		}
	}
	if f.highMin == 0 {
		return f, false
	}
	f.highMin = max(f.highMin, f.lowMin+10)
	return f, true
}

func (f frame) x(pct float64) float64 {
	return frameLeft + (frameW-frameLeft-frameRight)*pct/f.mostPct
}

func (f frame) y(minutes float64) float64 {
	return frameTop + (frameH-frameTop-frameBottom)*(f.highMin-minutes)/(f.highMin-f.lowMin)
}

// draw draws the curves of one car, each with its temperature at its end, and
// a cross where the next reserve cannot be kept.
func (f frame) draw(curves []study.Curve) string {
	d := begin(frameW, frameH, "Time of the trip against the reserve, "+curves[0].Car)
	for _, m := range multiples(f.lowMin, f.highMin, timeStep(f.highMin-f.lowMin)) {
		d.line(frameLeft, f.y(m), frameW-frameRight, f.y(m), rule)
		d.text("end", frameLeft-6, f.y(m)+4, clock(m))
	}
	for _, r := range ticks(0, f.mostPct, fewReserves) {
		d.text("middle", f.x(r), frameH-frameBottom+16, fmt.Sprintf("%g", r))
	}
	d.text("end", frameW-frameRight, frameH-3, "reserve, %")
	var ends []ending
	for k, c := range curves {
		if end, ok := f.curve(d, c, k); ok && k < mostTemps {
			ends = append(ends, end)
		}
	}
	for _, e := range apart(ends) {
		d.text("start", e.x+7, e.y+4, e.text)
	}
	return d.end()
}

// ending is where a curve ends and what is written there.
type ending struct {
	x, y float64
	text string
}

func (f frame) curve(d *drawing, c study.Curve, k int) (ending, bool) {
	var path strings.Builder
	end, drawn := ending{text: fmt.Sprintf("%g °C", c.TempC)}, 0
	for i, m := range c.TimesMin {
		if m == nil {
			break
		}
		verb := "L"
		if drawn == 0 {
			verb = "M"
		}
		end.x, end.y = f.x(c.ReservesPct[i]), f.y(*m)
		fmt.Fprintf(&path, "%s%.1f %.1f", verb, end.x, end.y)
		drawn++
	}
	if drawn == 0 {
		return end, false
	}
	fmt.Fprintf(&d.b, `<path d="%s" %s/>`, path.String(), stroke(k))
	if drawn < len(c.TimesMin) {
		d.text("middle", end.x, end.y+4, failedMark)
		end.x += narrowMarkPx
	}
	return end, true
}

// apart moves labels down so that none covers another.
func apart(ends []ending) []ending {
	slices.SortFunc(ends, func(a, b ending) int { return int(math.Copysign(1, a.y-b.y)) })
	for i := 1; i < len(ends); i++ {
		ends[i].y = max(ends[i].y, ends[i-1].y+labelStep)
	}
	return ends
}

// dashes tell lines apart without colour.
var dashes = []string{"", "7 3", "2 3", "8 3 2 3", "1 2", "12 4"}

func stroke(k int) string {
	grey := []string{"#14201f", "#7a8583"}[k/len(dashes)%2]
	return fmt.Sprintf(`fill="none" stroke="%s" stroke-width="1.6" stroke-dasharray="%s"`, grey, dashes[k%len(dashes)])
}

// ticks are round values from low to high, at most so many and one.
func ticks(low, high float64, most int) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, factor := range []float64{1, 2, 5, 10} {
		if (high-low)/(step*factor) <= float64(most) {
			return multiples(low, high, step*factor)
		}
	}
	return nil
}

// timeStep is a step of the clock that divides so many minutes into a few.
func timeStep(minutes float64) float64 {
	for _, step := range []float64{2, 5, 10, 15, 30, 60, 120, 240, 480, 1440} {
		if minutes/step <= fewTicks {
			return step
		}
	}
	return minutes
}

func multiples(low, high, step float64) []float64 {
	var out []float64
	for k := int(math.Ceil(low/step - 1e-9)); float64(k)*step <= high+step*1e-9; k++ {
		out = append(out, float64(k)*step)
	}
	return out
}

// clock writes minutes as hours and minutes.
func clock(minutes float64) string {
	whole := int(math.Round(minutes))
	return fmt.Sprintf("%d:%02d", whole/minutesAnHour, whole%minutesAnHour)
}

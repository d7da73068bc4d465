package carsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/energy"
	"ampleway/route/question"
)

// SVG is a drawing of charging power against state of charge above range
// against temperature.
func (s Sheet) SVG(o answer.Options) string { return s.panels(o).File() }

func (s Sheet) panels(o answer.Options) *chart.Panels {
	return &chart.Panels{
		ID: "car", Title: s.Car.Name,
		Description: "Above, the DC power that the battery takes at each state of charge; below, the range from full to empty at steady speeds, by air temperature.",
		Panels:      []chart.Panel{taperPanel(s.Sheet), rangePanel(s.Sheet, o.Units)},
	}
}

func taperPanel(s *energy.Sheet) chart.Panel {
	var l chart.Line
	for _, t := range s.Car.Taper {
		l.Points = append(l.Points, chart.XY{X: t.SoC * 100, Y: t.PowerKW})
	}
	return chart.Panel{
		Title: fmt.Sprintf("%s: DC power the battery takes (10 to 80 %% in %s)", s.Car.Name, minutes(s.Time10to80S)),
		XName: "state of charge, %", YName: "kW", Lines: []chart.Line{l},
	}
}

func rangePanel(s *energy.Sheet, units question.Units) chart.Panel {
	p := chart.Panel{
		Title: strings.Join(append([]string{"Range from full to empty at a steady speed"}, s.Asked...), "; "),
		XName: "air temperature, " + question.Celsius.In(units), YName: units.DistanceUnit(),
	}
	for i, v := range s.SpeedsMS {
		l := chart.Line{Label: units.Speed(v)}
		for j, c := range s.TempsC {
			l.Points = append(l.Points, chart.XY{X: question.Celsius.Figure(c, units), Y: question.Kilometres.Figure(s.RangeM[i][j]/1000, units)})
		}
		slices.SortFunc(l.Points, func(a, b chart.XY) int { return cmp.Compare(a.X, b.X) })
		p.Lines = append(p.Lines, l)
	}
	return p
}

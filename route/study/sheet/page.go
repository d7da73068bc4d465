package sheet

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"

	"ampleway/route/study"
)

//go:embed page.html
var source string

// most is how many corridors are drawn: those that fail first.
const most = 12

// Write writes a summary as an HTML page.
func Write(w io.Writer, s *study.Summary) error {
	page := page{Summary: s, Heat: template.HTML(Heat(s.Heat))}
	if feasible, cases, _ := s.Judged(); cases > 0 {
		page.Share = percent(feasible, cases)
	}
	for i, c := range s.Ranked() {
		if i == most {
			break
		}
		page.Sections = append(page.Sections, section{c, template.HTML(Strip(c)), panels(c.Curves), template.HTML(Heat(c.Heat)), frontierTable(c.Frontiers)})
	}
	return tmpl.Execute(w, page)
}

var tmpl = template.Must(template.New("page").Parse(source))

type page struct {
	*study.Summary
	Share    string
	Heat     template.HTML
	Sections []section
}

type section struct {
	*study.CorridorView
	Strip    template.HTML
	Panels   []panel
	Heat     template.HTML
	Frontier table
}

// panel is one car's drawing of time against the reserve.
type panel struct {
	Car  string
	Draw template.HTML
}

// table has a row a temperature and a column a car.
type table struct {
	Cars []string
	Rows []row
}

type row struct {
	Temp  string
	Cells []string
}

// frontierTable is the highest reserve that can be kept, at the least
// favourable of the other axes.
func frontierTable(frontiers []study.Frontier) table {
	var t table
	var temps []string
	for _, f := range frontiers {
		if !slices.Contains(t.Cars, f.Car) {
			t.Cars = append(t.Cars, f.Car)
		}
		if temp := degrees(f.TempC); !slices.Contains(temps, temp) {
			temps = append(temps, temp)
		}
	}
	for _, temp := range temps {
		t.Rows = append(t.Rows, row{temp, slices.Repeat([]string{"-"}, len(t.Cars))})
	}
	for _, f := range frontiers {
		text := "none"
		if f.LeastPct != nil {
			text = fmt.Sprintf("%.0f %%", math.Floor(*f.LeastPct+1e-6))
		}
		t.Rows[slices.Index(temps, degrees(f.TempC))].Cells[slices.Index(t.Cars, f.Car)] = text
	}
	return t
}

func degrees(tempC float64) string { return fmt.Sprintf("%g °C", tempC) }

func percent(part, of int64) string {
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(part)/float64(max(of, 1))))
}

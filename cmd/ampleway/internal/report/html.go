package report

import (
	_ "embed"
	"html/template"
	"io"
	"sync"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/route/trip"
)

//go:embed sheet.html
var sheetText string

//go:embed visit.html
var visitSheetText string

//go:embed sheet.css
var sheetCSS string

var sheetTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.Must(template.New("").Parse(sheetText)).Parse(visitSheetText))
})

// SheetCSS is the style sheet inside every sheet, for a server that allows
// that one by its hash.
func SheetCSS() string { return chart.CSS + sheetCSS }

// HTML writes the sheet to hand over: one or two printed pages that ask
// nothing of any network.
func HTML(w io.Writer, p *trip.Plan, o Options) error {
	return sheetTemplate().ExecuteTemplate(w, "sheet", struct {
		*View
		CSS template.CSS
	}{NewView(p, ViewOptions{Options: o, Paper: true}), template.CSS(SheetCSS())})
}

// VisitHTML writes the sheet of a visit: one to three printed pages.
func VisitHTML(w io.Writer, v *trip.JourneyPlan, o Options) error {
	return sheetTemplate().ExecuteTemplate(w, "visit", struct {
		*VisitView
		CSS template.CSS
	}{NewVisitView(v, ViewOptions{Options: o, Paper: true}), template.CSS(SheetCSS())})
}

package answer

import (
	_ "embed"
	"html/template"
	"io"
	"strings"
	"sync"

	"ampleway/cmd/ampleway/internal/chart"
)

//go:embed parts.html
var partsText string

//go:embed sheet.html
var sheetText string

//go:embed sheet.css
var sheetCSS string

// Templates are those that say an answer: "head" takes an *Answer, "parts" its
// parts. A page adds its own.
func Templates() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{"rich": rich}).Parse(partsText))
}

// rich is a text with what is emphasised in bold type.
func rich(text string) template.HTML {
	return template.HTML(strings.NewReplacer(emphasis, "<b>", plain, "</b>").Replace(template.HTMLEscapeString(text)))
}

var sheetTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(Templates().Parse(sheetText))
})

// SheetCSS is the style sheet inside every sheet, for a server that allows
// that one by its hash.
func SheetCSS() string { return chart.CSS + sheetCSS }

// WriteSheet writes the sheet to hand over: printed pages that ask nothing of
// any network.
func WriteSheet(w io.Writer, a *Answer) error {
	return sheetTemplate().ExecuteTemplate(w, "sheet", struct {
		*Answer
		CSS template.CSS
	}{a.For(OnPaper), template.CSS(SheetCSS())})
}

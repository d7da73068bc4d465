package sheet

import (
	_ "embed"
	"html/template"
	"io"

	"ampleway/route/study"
)

//go:embed page.html
var source string

// most is how many corridors are drawn: those that fail first.
const most = 12

// Write writes a summary as an HTML page.
func Write(w io.Writer, s *study.Summary) error {
	type section struct {
		*study.CorridorView
		Heat, Curves, Strip template.HTML
	}
	page := struct {
		*study.Summary
		Heat     template.HTML
		Text     string
		Sections []section
	}{Summary: s, Heat: template.HTML(Heat(s.Heat))}
	var text writer
	if err := s.WriteText(&text); err != nil {
		return err
	}
	page.Text = string(text)
	for i, c := range s.Ranked() {
		if i == most {
			break
		}
		page.Sections = append(page.Sections, section{c, template.HTML(Heat(c.Heat)), template.HTML(Curves(c.Curves)), template.HTML(Strip(c))})
	}
	t, err := template.New("page").Parse(source)
	if err != nil {
		return err
	}
	return t.Execute(w, page)
}

type writer []byte

func (w *writer) Write(p []byte) (int, error) {
	*w = append(*w, p...)
	return len(p), nil
}

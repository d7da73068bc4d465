package answer

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
)

// Answer is all that is said about a question, in the order in which it is
// read. Renderers walk it and add nothing.
type Answer struct {
	Title  string   // what it is about
	Number string   // what matters most; it begins the first sentence
	Rest   string   // the rest of that sentence
	First  []string // what to look at before all else
	About  []string // paragraphs
	Parts  []Part

	// What every answer ends with.
	Assumptions, Cautions, Words, Credits []string
}

// Headline is the first sentence.
func (a *Answer) Headline() string { return a.Number + a.Rest }

// Part is a section. What it does not have is not shown.
type Part struct {
	Class  string // how a style sheet lays it out
	When   string // clock
	Mark   string // number of a stop
	Title  string
	Text   []string // paragraphs
	Quiet  []string // paragraphs that may be passed over
	List   []string
	Links  []Link
	Table  *Table
	Figure *Figure
	Parts  []Part
	Later  bool   // takes longer to work out: a place is kept for it
	Only   Medium // where it is shown; 0: everywhere

	// Set by For.
	ID     string
	Level  int    // of the heading
	Labels string // IDs of the headings that name it
}

// Link is a line of a list that leads somewhere.
type Link struct{ Text, To string }

// Medium is what an answer is read on.
type Medium uint8

// The media.
const (
	OnScreen Medium = 1 << iota // a page in a browser
	OnPaper
	InText
)

// Figure is a picture. A page may show it wide and narrow.
type Figure struct {
	Draw    func(Medium) []template.HTML
	Caption string
	Fold    string // heading of Table, the same in figures
	Table   *Table

	Pictures []template.HTML // set by For
}

// Table has a letter in Align for each column: l and r are flush left and
// right, w is words, which may take several lines. Empty: the first is flush
// left, the others right.
type Table struct {
	Head  []string
	Rows  []Row
	Align string
}

// Row is a line of a table.
type Row struct {
	Cells  []string
	Strong bool
}

// Add adds a row.
func (t *Table) Add(cells ...string) { t.Rows = append(t.Rows, Row{Cells: cells}) }

func (t *Table) align(column int) byte {
	switch {
	case column < len(t.Align):
		return t.Align[column]
	case column == 0:
		return 'l'
	}
	return 'r'
}

// Left reports whether a column is flush left.
func (t *Table) Left(column int) bool { return t.align(column) != 'r' }

// Empty reports whether a part says nothing.
func (p *Part) Empty() bool {
	return len(p.Text)+len(p.Quiet)+len(p.List)+len(p.Links)+len(p.Parts) == 0 && p.Table == nil && p.Figure == nil
}

// For is the answer as it is on one medium: the parts that belong there, each
// with an ID and a level, and the pictures drawn.
func (a *Answer) For(m Medium) *Answer {
	out := *a
	out.Parts = partsFor(append(a.Parts[:len(a.Parts):len(a.Parts)], a.rests()), m, Part{ID: "part", Level: 2})
	return &out
}

// rests is what every answer ends with.
func (a *Answer) rests() Part {
	p := Part{Class: "rests"}
	for _, inner := range []Part{
		{Title: titles.rests, List: a.Assumptions}, {Title: titles.care, List: a.Cautions},
		{Title: titles.words, Text: a.Words, Only: OnPaper}, {Title: titles.credits, List: a.Credits},
	} {
		if !inner.Empty() {
			p.Parts = append(p.Parts, inner)
		}
	}
	return p
}

func partsFor(parts []Part, m Medium, of Part) []Part {
	var out []Part
	for i, p := range parts {
		if p.Only != 0 && p.Only&m == 0 {
			continue
		}
		p.ID, p.Level, p.Labels = fmt.Sprintf("%s-%d", of.ID, i+1), of.Level, of.Labels
		inner := p
		if p.Title != "" {
			inner.Level++
			inner.Labels = strings.TrimSpace(p.Labels + " " + p.ID + "-h")
			p.Labels = inner.Labels
		}
		p.Parts = partsFor(p.Parts, m, inner)
		if p.Figure != nil && m != InText {
			figure := *p.Figure
			figure.Pictures = figure.Draw(m)
			p.Figure = &figure
		}
		if p.Later || !p.Empty() {
			out = append(out, p)
		}
	}
	return out
}

// Marks around what is emphasised in a text. Data cannot hold them: see strong.
const emphasis, plain = "\x02", "\x03"

// strong emphasises a part of a sentence.
func strong(text string) string {
	return emphasis + unmarked(text) + plain
}

// unmarked is a text without emphasis.
func unmarked(text string) string {
	return strings.NewReplacer(emphasis, "", plain, "").Replace(text)
}

// given are the texts that are not empty.
func given(texts ...string) []string {
	return slices.DeleteFunc(slices.Clone(texts), func(s string) bool { return s == "" })
}

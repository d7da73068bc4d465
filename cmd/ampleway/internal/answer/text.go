package answer

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

const textWidth = 78

// WriteText writes an answer for a terminal; with bold its headings and what is
// emphasised are bold type.
func WriteText(w io.Writer, a *Answer, bold bool) error {
	t := &textWriter{w: bufio.NewWriter(w), bold: bold}
	a = a.For(InText)
	t.paragraph("", strong(a.Headline()))
	for _, text := range a.First {
		t.paragraph("! ", text)
	}
	t.gap()
	for _, text := range a.About {
		t.paragraph("", text)
	}
	for i := range a.Parts {
		t.part(&a.Parts[i], "")
	}
	return t.w.Flush()
}

type textWriter struct {
	w     *bufio.Writer
	bold  bool
	blank bool // the last line is
}

// gap leaves one line free.
func (t *textWriter) gap() {
	if !t.blank {
		t.line("")
	}
}

func (t *textWriter) line(text string) {
	on, off := "", ""
	if t.bold {
		on, off = "\x1b[1m", "\x1b[0m"
	}
	text = strings.NewReplacer(emphasis, on, plain, off).Replace(strings.TrimRight(text, " "))
	t.blank = text == ""
	fmt.Fprintln(t.w, text)
}

// part writes a section; one without a title inside another goes on in it.
func (t *textWriter) part(p *Part, indent string) {
	if p.Empty() {
		return
	}
	if p.Title != "" || indent == "" {
		t.gap()
	}
	if p.Title != "" {
		t.line(indent + strong(strings.Join(given(p.When, p.Mark, p.Title), "  ")))
	}
	if p.Mark != "" || p.When != "" {
		indent += "  "
	}
	for _, text := range append(p.Text[:len(p.Text):len(p.Text)], p.Quiet...) {
		t.paragraph(indent, text)
	}
	for _, text := range p.List {
		t.paragraph(indent+"- ", text)
	}
	for _, link := range p.Links {
		t.paragraph(indent+"- ", link.Text)
	}
	if p.Table != nil {
		t.table(p.Table, indent)
	}
	for i := range p.Parts {
		t.part(&p.Parts[i], indent)
	}
}

// paragraph wraps a text; the lines after the first have as many spaces as lead
// is wide.
func (t *textWriter) paragraph(lead, text string) {
	for i, line := range wrapped(text, textWidth-width(lead)) {
		if i > 0 {
			lead = strings.Repeat(" ", width(lead))
		}
		t.line(lead + line)
	}
}

// wrapped cuts a text into lines; a figure and its sign stay together.
func wrapped(text string, most int) []string {
	const glue = "\x00"
	var lines []string
	line := ""
	for _, word := range strings.Fields(strings.ReplaceAll(text, " %", glue+"%")) {
		word = strings.ReplaceAll(word, glue, " ")
		switch {
		case line == "":
			line = word
		case width(line)+1+width(word) > most:
			lines, line = append(lines, line), word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

func width(text string) int { return len([]rune(unmarked(text))) }

// table writes columns as wide as they must be. Where they are too wide, they
// stand closer, words are cut into more lines, and then names give way.
func (t *textWriter) table(table *Table, indent string) {
	const least = 16
	c := columns{table: table, widths: table.widths(), between: 2}
	room := textWidth - width(indent)
	if c.width() > room {
		c.between = 1
	}
	for _, align := range []byte("wl") {
		for i := range c.widths {
			if over := c.width() - room; over > 0 && table.align(i) == align {
				c.widths[i] = max(c.widths[i]-over, min(c.widths[i], least))
			}
		}
	}
	if len(given(table.Head...)) > 0 {
		t.head(c, indent)
	}
	for _, row := range table.Rows {
		cells := make([][]string, len(c.widths))
		for i, cell := range row.Cells {
			cells[i] = []string{clip(cell, c.widths[i])}
			if table.align(i) == 'w' {
				cells[i] = wrapped(cell, c.widths[i])
			}
		}
		t.row(c, indent, cells)
	}
}

// columns are those of a table as they are written.
type columns struct {
	table   *Table
	widths  []int
	between int
}

func (c columns) width() int {
	sum := 0
	for _, w := range c.widths {
		sum += w + c.between
	}
	return sum - c.between
}

// widths are those that hold every cell; headings may be cut into short lines.
func (t *Table) widths() []int {
	const wholeHead = 8 // one so short is not cut
	out := make([]int, len(t.Head))
	for i, head := range t.Head {
		out[i] = min(width(head), wholeHead)
		for _, word := range wrapped(head, 1) {
			out[i] = max(out[i], width(word))
		}
		for _, row := range t.Rows {
			if i < len(row.Cells) {
				out[i] = max(out[i], width(row.Cells[i]))
			}
		}
	}
	return out
}

// head writes the headings, which end on the line above the rows.
func (t *textWriter) head(c columns, indent string) {
	cells, lines := make([][]string, len(c.widths)), 0
	for i, head := range c.table.Head {
		cells[i] = wrapped(head, c.widths[i])
		lines = max(lines, len(cells[i]))
	}
	for i := range cells {
		cells[i] = append(make([]string, lines-len(cells[i])), cells[i]...)
	}
	t.row(c, indent, cells)
}

// row writes cells of one or several lines each.
func (t *textWriter) row(c columns, indent string, cells [][]string) {
	lines := 0
	for _, cell := range cells {
		lines = max(lines, len(cell))
	}
	for n := range lines {
		line := indent
		for i := range c.widths {
			text := ""
			if n < len(cells[i]) {
				text = cells[i][n]
			}
			pad := strings.Repeat(" ", max(c.widths[i]-width(text), 0))
			if !c.table.Left(i) {
				text, pad = pad+text, ""
			}
			line += text + pad + strings.Repeat(" ", c.between)
		}
		t.line(line)
	}
}

func clip(s string, most int) string {
	runes := []rune(s)
	if width(s) <= most {
		return s
	}
	return string(runes[:most-1]) + "…"
}

package report

import (
	"bufio"
	"io"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// NoPlan says why a trip cannot be made and what would help.
func NoPlan(w io.Writer, n *trip.NoPlan, u question.Units) {
	t := &textWriter{w: bufio.NewWriter(w)}
	for _, text := range n.First(u) {
		t.paragraph(text)
	}
	t.paragraph(n.Text(u))
	t.paragraph(n.RemedyText(u))
	if len(n.LeftOut) > 0 {
		t.paragraph("Stations on that stretch that are not used, by reason (ampleway stations near --all lists them):")
		for i := range n.LeftOut {
			t.paragraph("- " + n.LeftOut[i].Text())
		}
	}
	// What cannot be written to standard error is lost in any case.
	_ = t.w.Flush()
}

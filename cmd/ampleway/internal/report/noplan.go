package report

import (
	"bufio"
	"fmt"
	"io"

	"ampleway/route/trip"
)

// NoPlan says why a trip cannot be made and what would help.
func NoPlan(w io.Writer, n *trip.NoPlan, u trip.Units) {
	t := &textWriter{w: bufio.NewWriter(w)}
	t.paragraph(n.Text(u))
	t.paragraph(n.RemedyText(u))
	if len(n.Unused) > 0 {
		t.paragraph("Stations on that stretch that were not used:")
		for _, r := range n.Unused {
			t.paragraph(fmt.Sprintf("- %s (%s %s): %s", trip.SiteName(r.Site), u.Chainage(r.ChainageM), u.DistanceUnit(), r.Why))
		}
	}
	// What cannot be written to standard error is lost in any case.
	_ = t.w.Flush()
}

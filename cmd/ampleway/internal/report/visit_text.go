package report

import (
	"bufio"
	"io"

	"ampleway/route/trip"
)

// VisitText writes a visit for a person: the whole in one sentence, then each
// drive, with the stay after it.
func VisitText(w io.Writer, v *trip.JourneyPlan, o Options) error {
	t := &textWriter{w: bufio.NewWriter(w), o: o}
	t.line("%s", t.strong(visitHeadline(v)))
	if cost := visitCost(v); !cost.IsZero() {
		t.paragraph("Charging on the way costs " + cost.About("stop") + ".")
	}
	if o.Note != "" {
		t.paragraph(o.Note)
	}
	t.line("")
	for i, p := range v.Plans {
		t.drive(v, i, p)
		if i < len(v.Stays) {
			t.stay(&v.Stays[i])
		}
	}
	if v.Risk != nil {
		t.line("%s", t.strong("How sure this is"))
		t.paragraph(visitRiskText(v))
		t.line("")
	}
	t.list("What this rests on", visitAssumptions(v, o.Units))
	t.list("Take care", visitCautions(v))
	t.list(creditsTitle, trip.Credits(v.Plans...))
	return t.w.Flush()
}

func (t *textWriter) drive(v *trip.JourneyPlan, i int, p *trip.Plan) {
	t.line("%s", t.strong(driveTitle(v, i)))
	t.paragraph(Headline(p, t.o.Units))
	if fuel := p.FuelText(t.o.Units); fuel != "" {
		t.paragraph(fuel)
	}
	t.line("")
	t.table(p)
	t.stops(p)
	if t.o.Rows {
		t.legs(p)
	}
	if v.Risk != nil {
		t.rules(p)
		t.fallbacks(p)
	}
	t.list("Look at this first", p.Warnings(t.o.Units))
}

func (t *textWriter) stay(s *trip.StayPlan) {
	t.line("%s", t.strong("Stay of "+span(s.TimeS)))
	t.paragraph(stayText(s))
	t.line("")
}

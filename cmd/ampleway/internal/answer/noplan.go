package answer

import (
	"fmt"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// NoPlan says why a journey cannot be made and what would help. Where link is
// given, each remedy is a line that leads to the address that it gives.
func NoPlan(n *trip.NoPlan, u question.Units, link func(trip.Remedy) string) *Answer {
	a := &Answer{Rest: n.Whole(u)}
	if link != nil {
		a.Number = "This trip cannot be made as asked"
	}
	if link == nil || len(n.Remedies) == 0 {
		a.About = given(n.RemedyText(u))
	} else {
		a.Parts = append(a.Parts, remedies(n, u, link))
	}
	var unused []string
	for i := range n.LeftOut {
		unused = append(unused, n.LeftOut[i].Text()+".")
	}
	if len(unused) > 0 {
		a.Parts = append(a.Parts, Part{Title: "Stations on that stretch that are not used, by reason", List: unused, Parts: []Part{{Text: []string{"ampleway stations near --all lists them."}, Only: InText}}})
	}
	return a
}

func remedies(n *trip.NoPlan, u question.Units, link func(trip.Remedy) string) Part {
	it := "it"
	if n.Drive > 0 {
		it = fmt.Sprintf("drive %d", n.Drive)
	}
	p := Part{Title: fmt.Sprintf("What would make %s possible, each alone", it)}
	for _, r := range n.Remedies {
		text, to := capital(r.Text(u)), link(r)
		if laterDeparture(n, r) {
			text, to = text+", after a longer stay or one with a stronger plug", ""
		}
		p.Links = append(p.Links, Link{text + ".", to})
	}
	return p
}

// laterDeparture reports whether a remedy is to set out on a later drive with
// more, which is not for whoever asks to say.
func laterDeparture(n *trip.NoPlan, r trip.Remedy) bool { return r.DepartSoC > 0 && n.Drive > 1 }

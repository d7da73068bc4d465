package report

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"

	"ampleway/energy"
	"ampleway/route/trip"
)

// VisitFormat names the JSON form of several drives and its version.
const VisitFormat = "ampleway-visit/1"

// VisitDocument is a visit as JSON: a trip for each drive, and the stays
// between them.
type VisitDocument struct {
	Format      string         `json:"format"`
	DurationMin float64        `json:"duration_min"` // from the first departure to the last arrival
	Drives      []*Document    `json:"drives"`
	Stays       []StayDocument `json:"stays"`
	Risk        *Risk          `json:"risk,omitempty"` // of the whole visit; its times hold the stays
}

// StayDocument is a time between two drives.
type StayDocument struct {
	After        string  `json:"after"` // the drive that ends there
	Plug         string  `json:"plug"`
	DurationMin  float64 `json:"duration_min"`
	ArriveSoCPct float64 `json:"arrive_soc_pct"`
	LeaveSoCPct  float64 `json:"leave_soc_pct"`
	EnergyKWh    float64 `json:"energy_kwh"`
}

// NewVisitDocument turns a visit into its JSON form.
func NewVisitDocument(v *trip.VisitPlan, o Options) *VisitDocument {
	d := &VisitDocument{Format: VisitFormat, Stays: []StayDocument{}}
	for _, p := range v.Plans {
		d.Drives = append(d.Drives, NewDocument(p, o))
		d.DurationMin += minutes(p.TimeS)
	}
	for _, s := range v.Stays {
		d.DurationMin += minutes(s.TimeS)
		d.Stays = append(d.Stays, StayDocument{
			After: s.At, Plug: s.Plug.Text(), DurationMin: minutes(s.TimeS),
			ArriveSoCPct: pct(s.ArriveSoC), LeaveSoCPct: pct(s.LeaveSoC), EnergyKWh: kwh(s.BatteryKWh),
		})
	}
	d.DurationMin = round(d.DurationMin, 3)
	if v.Risk != nil {
		d.Risk = riskDocument(v.Risk, &v.Plans[0].Goal)
	}
	return d
}

// VisitJSON writes a VisitDocument, indented.
func VisitJSON(w io.Writer, v *trip.VisitPlan, o Options) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(NewVisitDocument(v, o))
}

// VisitText writes a visit for a person: the whole in one sentence, then each
// drive, with the stay after it.
func VisitText(w io.Writer, v *trip.VisitPlan, o Options) error {
	t := &textWriter{w: bufio.NewWriter(w), o: o}
	last := v.Plans[len(v.Plans)-1]
	t.line("%s", t.strong(visitHeadline(v)))
	t.line("")
	home := false
	for i, p := range v.Plans {
		t.line("%s", t.strong(fmt.Sprintf("Drive %d: %s", i+1, p.Drive.Corridor.Route.Name)))
		t.paragraph(Headline(p, o.Units))
		t.line("")
		t.table(p)
		t.stops(p)
		if v.Risk != nil {
			t.rules(p)
			t.fallbacks(p)
		}
		t.list("Look at this first", p.Warnings(o.Units))
		if i == len(v.Stays) {
			break
		}
		t.stay(&v.Stays[i])
		home = home || v.Stays[i].Plug.AC
	}
	whole := *last
	if v.Risk != nil {
		whole.Risk = v.Risk
		t.sure(&whole)
	}
	t.list("What this rests on", append(whole.Assumptions(o.Units), visitRest(&whole)))
	cautions := trip.Cautions
	if home {
		cautions = append(cautions[:len(cautions):len(cautions)], energy.ElectricianDecides)
	}
	t.list("Take care", cautions)
	return t.w.Flush()
}

// visitRest says what the whole visit is planned for.
func visitRest(p *trip.Plan) string {
	if p.Goal.Confidence == 0 {
		return "The whole visit is planned by the estimate alone: on a day that takes more, follow the car's gauge and charge longer, or plan with a higher reserve."
	}
	return "The whole visit is held at one confidence: every leg of every drive. Weather and traffic are taken to be others on each drive; in a stay the car takes what its plug gives."
}

func visitHeadline(v *trip.VisitPlan) string {
	lowest, stops := math.Inf(1), 0
	for _, p := range v.Plans {
		lowest = math.Min(lowest, p.ArriveSoC)
		stops += len(p.Stops)
	}
	return fmt.Sprintf("%s drives, %s in all, never arriving with less than %s.", capital(number(float64(len(v.Plans)))), count(stops, "charging stop"), Arriving(lowest))
}

// capital writes a small count as a word at the head of a sentence.
func capital(n string) string {
	switch n {
	case "2":
		return "Two"
	case "3":
		return "Three"
	case "4":
		return "Four"
	}
	return n
}

func (t *textWriter) stay(s *trip.StayPlan) {
	t.line("%s", t.strong("Stay of "+span(s.TimeS)))
	text := fmt.Sprintf("With %s: from %s to %s", s.Plug.Text(), Arriving(s.ArriveSoC), Arriving(s.LeaveSoC))
	if s.BatteryKWh < 0.05 {
		text = fmt.Sprintf("With %s: nothing is charged, so %s stays", s.Plug.Text(), Arriving(s.ArriveSoC))
	}
	t.paragraph(text + ".")
	t.line("")
}

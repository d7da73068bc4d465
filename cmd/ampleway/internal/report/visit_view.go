package report

import (
	"fmt"
	"slices"

	"ampleway/data/wording"
	"ampleway/energy"
	"ampleway/route/trip"
)

// VisitView is a visit in the words and pictures that the sheet and the page
// share: a View a drive, and the stays between them.
type VisitView struct {
	Name, Car, Note, Date string

	Arrive  string // what is left at the end: the number that matters
	Verdict string // duration, stops, stays in one line
	Why     string // where the car comes closest to empty, in a sentence
	Reserve string
	Money   string // cost of the stops

	Duration string
	Drives   []*View
	Stays    []StayView

	Plugs       []string // connectors used, each once
	Risk        string   // empty unless the visit has been assured
	Assumptions []string
	Cautions    []string // those about circuits are with the stays
	Credits     []string
}

// StayView is the time between two drives in words.
type StayView struct {
	For          string
	Text         string
	FromAt, ToAt string // clock; empty without a departure time
	Caution      string // about the circuit; empty where there is none
}

// StayAfter is the stay after drive i, counted from 0; nil after the last.
func (v *VisitView) StayAfter(i int) *StayView {
	if i < len(v.Stays) {
		return &v.Stays[i]
	}
	return nil
}

// NewVisitView puts a visit into words and pictures.
func NewVisitView(p *trip.JourneyPlan, o ViewOptions) *VisitView {
	v := &VisitView{
		Name: journeyName(drivesOf(p)), Car: wording.A(p.Plans[0].Drive.Car.Name), Note: o.Note,
		Arrive: visitArrival(p), Duration: span(visitS(p)), Verdict: visitVerdict(p),
		Assumptions: visitAssumptions(p, o.Units), Cautions: trip.Cautions, Credits: trip.Credits(p.Plans...),
	}
	if cost := visitCost(p); !cost.IsZero() {
		v.Money = cost.About("stop")
	}
	o.Note = ""
	for i, plan := range p.Plans {
		o.Drive = i + 1
		drive := NewView(plan, o)
		v.Drives = append(v.Drives, drive)
		for _, plug := range drive.Plugs {
			if !slices.Contains(v.Plugs, plug) {
				v.Plugs = append(v.Plugs, plug)
			}
		}
	}
	for i := range p.Stays {
		v.Stays = append(v.Stays, stayView(p, i))
	}
	v.Date, v.Reserve, v.Why = v.Drives[0].Date, v.Drives[0].Reserve, visitWhy(p, v)
	if p.Plans[0].Goal.Night != nil {
		v.Cautions = visitCautions(p)
	}
	if p.Risk != nil {
		v.Risk = simulatedText(p.Risk, p.Plans[0].Drive.Car, "visits, there and back", visitRiskText(p))
	}
	return v
}

func visitVerdict(p *trip.JourneyPlan) string {
	drive, stay, stops := 0.0, 0.0, 0
	for _, plan := range p.Plans {
		drive += plan.DriveS
		stops += len(plan.Stops)
	}
	for _, s := range p.Stays {
		stay += s.TimeS
	}
	there := span(stay) + " there"
	if stay == 0 {
		there = "no stay there"
	}
	return fmt.Sprintf("%s in all: %s of driving, %s and %s.", span(visitS(p)), span(drive), count(stops, "charging stop"), there)
}

// visitWhy is the sentence of the drive that comes closest to empty.
func visitWhy(p *trip.JourneyPlan, v *VisitView) string {
	least := 0
	for i, plan := range p.Plans {
		if plan.ToEmpty < p.Plans[least].ToEmpty {
			least = i
		}
	}
	return fmt.Sprintf("Drive %d decides. %s", least+1, v.Drives[least].Why)
}

func stayView(p *trip.JourneyPlan, i int) StayView {
	s := &p.Stays[i]
	v := StayView{For: span(s.TimeS), Text: stayText(s)}
	if from, ok := p.Plans[i].At(p.Plans[i].TimeS); ok {
		to, _ := p.Plans[i+1].At(0)
		v.FromAt, v.ToAt = from.Format("15:04"), to.Format("15:04")
		if from.YearDay() != to.YearDay() {
			v.ToAt = to.Format("15:04 on Monday")
		}
	}
	if s.Plug.AC {
		v.Caution = energy.ElectricianDecides
	}
	return v
}

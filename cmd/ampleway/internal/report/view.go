package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"ampleway/data/wording"
	"ampleway/route/trip"
)

// View is a trip in the words and pictures that the sheet and the page share:
// everything is ready to be put into a template.
type View struct {
	Drive int    // its number in a visit; 0: a trip alone
	ID    string // goes before every id of a visit's drive
	Level int    // of the headings of its parts

	Route, Car, Note string // the car with its article

	Arrive  string // state of charge at the destination: the number that matters
	Verdict string // duration, stops, cost in one line
	Why     string // what the number rests on, in a sentence
	Reserve string // what is kept, in a sentence
	Money   string // cost of the stops
	Fuel    string // the same road in a fuel car, in a sentence

	Distance, Duration, Driving, Charging string
	LeaveAt, ArriveAt                     string // clock; empty without a departure time
	Date                                  string
	LeaveWith                             string
	End                                   string // the destination, at the head of a sentence

	Stops       []StopView
	Legs        []LegView
	Plugs       []string // connectors used, each once
	Warnings    []string
	Assumptions []string
	Cautions    []string
	Credits     []string

	ProfileWide, ProfileNarrow, Map template.HTML
	Credit                          string // of pictures under the map

	Further *FurtherView // nil unless the plan has been assured
}

// StopView is one stop in words.
type StopView struct {
	Number             int
	ID                 string
	Level              int // of its heading
	Name, Who, Where   string
	Address, Phone     string
	Stalls, Plug       string
	ArriveAt, LeaveAt  string
	Arrive, Leave      string
	ChargeFor, StayFor string
	Meal               string // what is to be known of the meal, where it is had here
	IfLess             string // said instead of charging, where nothing is charged as estimated
	EnergyIn           string
	PowerIn, PowerOut  string
	Cost, There, Hours string
	Why                string // why leave then
	Chart              template.HTML
	Table              []PowerRow
}

// PowerRow is a moment of a charge, for those who do not see the picture.
type PowerRow struct{ Minute, SoC, Power string }

// LegView is the drive between two stops in words.
type LegView struct {
	Number                   int
	From, To                 string
	Toward                   string // To, after a drive: "to the destination"
	Distance, Time           string
	Leave, Arrive, Lowest    string
	Headroom, ToEmpty        string // until the reserve is broken, until the battery is empty
	Thin                     bool   // the leg that comes closest to empty
	ArriveAt                 string
	LastStop, ToAStop, First bool
	toEmpty                  float64
}

// ViewOptions adds to Options what only pictures need.
type ViewOptions struct {
	Options
	TileURL string // pictures under the map, with {z}, {x} and {y}; empty: none
	Credit  string // who made them
	Paper   bool   // drawings are as small as print allows
	Drive   int    // number of this drive in a visit; 0: a trip alone
}

// id is an id that no other drive of a visit has.
func (o *ViewOptions) id(name string) string {
	if o.Drive == 0 {
		return name
	}
	return fmt.Sprintf("drive-%d-%s", o.Drive, name)
}

// level is that of the headings of a drive's parts.
func (o *ViewOptions) level() int {
	if o.Drive == 0 {
		return 2
	}
	return 3
}

// NewView puts a plan into words and pictures.
func NewView(p *trip.Plan, o ViewOptions) *View {
	w := viewer{p: p, o: o, t: textWriter{o: o.Options}}
	u := o.Units
	v := &View{
		Drive: o.Drive, ID: o.id(""), Level: o.level(), Credit: o.Credit,
		Route: p.Drive.Corridor.Route.Name, Car: wording.A(p.Drive.Car.Name), Note: o.Note,
		Arrive: Arriving(p.ArriveSoC), LeaveWith: settingOut(p),
		Distance: u.Distance(p.DistanceM), Duration: span(p.TimeS), Driving: span(p.DriveS), Charging: span(p.ChargeS),
		Reserve:  reserveText(p),
		Why:      w.why(),
		Money:    w.money(),
		Fuel:     p.FuelText(u),
		Warnings: p.Warnings(u), Assumptions: p.Assumptions(u), Cautions: trip.Cautions, Credits: trip.Credits(p),
	}
	v.End = capital(p.Legs[len(p.Legs)-1].To)
	v.Verdict = w.verdict(v)
	if at, ok := p.At(0); ok {
		v.Date = at.Format("Monday 2 January 2006")
		v.LeaveAt, v.ArriveAt = w.t.clock(p, 0), w.t.clock(p, p.TimeS)
	}
	for i := range p.Stops {
		stop := w.stop(i)
		v.Stops = append(v.Stops, stop)
		if !slices.Contains(v.Plugs, stop.Plug) {
			v.Plugs = append(v.Plugs, stop.Plug)
		}
	}
	for i := range p.Legs {
		v.Legs = append(v.Legs, w.leg(i))
	}
	v.ProfileWide = w.profile("profile-wide", w.wide())
	v.ProfileNarrow = w.profile("profile-narrow", 360)
	v.Map = w.roadMap()
	v.Further = w.further()
	return v
}

type viewer struct {
	p *trip.Plan
	o ViewOptions
	t textWriter
}

func (w *viewer) verdict(v *View) string {
	p := w.p
	if len(p.Stops) == 0 {
		return fmt.Sprintf("%s of driving, no charging stop.", v.Duration)
	}
	return fmt.Sprintf("%s: %s of driving and %s, %s off the road.", v.Duration, v.Driving, count(len(p.Stops), "charging stop"), span(dwellS(p)))
}

func (w *viewer) money() string {
	if len(w.p.Stops) == 0 {
		return ""
	}
	return w.p.CostText()
}

// why explains the number by the leg that decides it.
func (w *viewer) why() string {
	p := w.p
	l := &p.Legs[p.ToEmptyLeg]
	switch {
	case p.ToEmpty > 2:
		return "The battery has far more than this road takes."
	case len(p.Legs) == 1:
		return fmt.Sprintf("The car could use %s more than estimated before its battery is empty.", margin(l.ToEmpty))
	}
	return fmt.Sprintf("The part that comes closest to empty is between %s and %s: the car could use %s more than estimated there before its battery is empty.", wording.The(l.From), wording.The(l.To), margin(l.ToEmpty))
}

// toward is where a drive leads.
func toward(name string) string {
	if name == "home" {
		return name
	}
	return "to " + wording.The(name)
}

// capital puts a name at the head of a sentence.
func capital(name string) string {
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

func reserveText(p *trip.Plan) string {
	g := p.Goal
	onTheWay := math.Min(g.ReserveSoC, g.ArriveReserveSoC)
	parts := []string{"never to have less than " + percent(onTheWay)}
	if g.ReserveSoC > onTheWay {
		parts = append(parts, "to reach each stop with "+percent(g.ReserveSoC))
	}
	if g.ArriveReserveSoC > onTheWay {
		parts = append(parts, fmt.Sprintf("to arrive with %s or more", percent(g.ArriveReserveSoC)))
	}
	return "You asked " + strings.Join(parts, " and ") + "."
}

func (w *viewer) stop(i int) StopView {
	p, u := w.p, w.o.Units
	s := &p.Stops[i]
	site := s.Charger.Site
	v := StopView{
		Number: i + 1, ID: w.o.id(fmt.Sprintf("stop-%d", i+1)), Level: w.o.level() + 1,
		Name: trip.SiteName(site), Who: runBy(site), Address: site.Address, Phone: site.Phone,
		Stalls: fmt.Sprintf("%s of %.0f kW", count(s.Charger.Offer.Stalls, "bay"), s.Charger.Offer.PowerKW),
		Plug:   string(s.Charger.Offer.Connector),
		Where:  "beside the road",
		Arrive: ArrivingStop(p, i), Leave: LeavingStop(p, i), IfLess: ifLess(p, i), Meal: p.MealText(i),
		ArriveAt: w.t.clock(p, s.ArriveS), LeaveAt: w.t.clock(p, s.LeaveS),
		ChargeFor: span(s.ChargeS), StayFor: span(s.DwellS), EnergyIn: fmt.Sprintf("%.0f kWh", s.BatteryKWh),
		PowerIn: fmt.Sprintf("%.0f kW", s.PowerInKW), PowerOut: fmt.Sprintf("%.0f kW", s.PowerOutKW),
		There: strings.Join(site.Amenities, ", "), Hours: site.Hours,
		Why: w.whyLeave(i),
	}
	if s.Charger.OneWayM >= 100 {
		v.Where = u.Distance(s.Charger.OneWayM) + " off the road"
	}
	if s.Cost != nil && v.IfLess == "" {
		v.Cost = s.Cost.String()
	}
	if v.IfLess == "" {
		v.Chart, v.Table = w.charge(i)
	}
	return v
}

// whyLeave says why the stop ends where it does.
func (w *viewer) whyLeave(i int) string {
	const just = 1e-4
	p := w.p
	s, onward, leave := &p.Stops[i], &p.Legs[i+1], LeavingStop(w.p, i)
	ceiling := p.Goal.CeilingSoC
	if ceiling == 0 {
		ceiling = 1
	}
	if s.LeaveSoC > ceiling-just {
		return fmt.Sprintf("Leave with %s: that is as full as you allow.", leave)
	}
	if s.Meal {
		return fmt.Sprintf("Leave with at least %s when the meal is over; the battery charges meanwhile.", leave)
	}
	last := i == len(p.Stops)-1
	reserve := p.Goal.LegReserveText(last)
	enough := onward.ArriveSoC < onward.ReserveSoC+just || onward.LeastSoC < math.Min(p.Goal.ReserveSoC, p.Goal.ArriveReserveSoC)+just
	switch {
	case enough && last:
		return fmt.Sprintf("Leave with %s: it is enough to arrive with %s, and power has fallen to %.0f kW.", leave, reserve, s.PowerOutKW)
	case enough && p.Stops[i+1].PowerInKW > s.PowerOutKW:
		return fmt.Sprintf("Leave with %s: it is enough to reach %s with %s. Here power has fallen to %.0f kW, there it begins at %.0f kW, so more is quicker there.",
			leave, onward.To, reserve, s.PowerOutKW, p.Stops[i+1].PowerInKW)
	case enough:
		return fmt.Sprintf("Leave with %s: it is enough to reach %s with %s.", leave, onward.To, reserve)
	case last:
		return fmt.Sprintf("Leave with %s: more than enough to arrive, and the quickest in all.", leave)
	}
	return fmt.Sprintf("Leave with %s: more than it takes to reach %s, because charging here is quicker than there until then.", leave, onward.To)
}

func (w *viewer) leg(i int) LegView {
	p, u := w.p, w.o.Units
	l := &p.Legs[i]
	return LegView{
		Number: i + 1, From: l.From, To: l.To, Toward: toward(l.To),
		Distance: u.Distance(l.DistanceM), Time: span(l.TimeS),
		Leave: w.departs(i), Arrive: Arriving(l.ArriveSoC), Lowest: Arriving(l.LeastSoC),
		Headroom: margin(l.Headroom), ToEmpty: margin(l.ToEmpty), toEmpty: l.ToEmpty,
		Thin: len(p.Legs) > 1 && i == p.ToEmptyLeg, First: i == 0, ToAStop: i < len(p.Stops), LastStop: i == len(p.Legs)-1,
	}
}

// departs is what a leg begins with.
func (w *viewer) departs(leg int) string {
	if leg == 0 {
		return settingOut(w.p)
	}
	return LeavingStop(w.p, leg-1)
}

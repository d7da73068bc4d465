package web

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"ampleway/route/question"
)

// Rows that the form asks for in its own way: times in one box, a stay in two,
// what the chosen car carries by boxes to tick.
var ownWay = map[string][]string{
	"depart": {"when", "at"}, "arrive_by": nil, "stay": {"stay_h", "stay_plug"}, "carry": nil,
	"start_name": nil, "end_name": nil, // hidden: the page names no ends
}

var ownLabels = map[string]string{"when": "The time below is", "at": "Date and time", "stay_h": "Hours there", "stay_plug": "Plugged in there"}

// labelOf is what the form calls a key; empty where it does not ask for it.
func labelOf(key string) string {
	if r, _, known := question.Find(key); known {
		return r.Label
	}
	return ownLabels[key]
}

// folded are the headings that are closed at first.
var folded = []question.Group{question.Car, question.Home, question.Stations}

var whens = []question.Choice{{Value: whenLeave, Label: "when to leave"}, {Value: whenArrive, Label: "when to be there"}}

var stayPlugs = []question.Choice{{Value: "", Label: "nothing"}, {Value: "level1", Label: "household outlet"},
	{Value: "level2:20", Label: "240 V, 20 A breaker"}, {Value: "level2:30", Label: "240 V, 30 A breaker"}, {Value: "level2:40", Label: "240 V, 40 A breaker"},
	{Value: "level2:50", Label: "240 V, 50 A breaker"}, {Value: "level2:60", Label: "240 V, 60 A breaker"},
	{Value: "level2:16x3", Label: "three phases, 16 A breaker"}, {Value: "level2:32x3", Label: "three phases, 32 A breaker"},
	{Value: "dc:50", Label: "fast charger, 50 kW"}, {Value: "dc:150", Label: "fast charger, 150 kW"}}

// formView is the form as the template shows it.
type formView struct {
	Routes, Cars []optionView
	Reverse      bool
	RouteName    string
	US           bool
	Groups       []groupView
	Extras       []checkView
	Hidden       []hiddenView
}

type optionView struct {
	Value, Label string
	Chosen       bool
}

type checkView struct {
	Value string
	On    bool
}

type hiddenView struct{ Key, Value string }

type groupView struct {
	ID     string
	Name   string
	Folded bool
	Fields []fieldView
}

type fieldView struct {
	ID, Key, Label, Unit, Value, Help string
	Min, Max, Slide                   string
	Kind                              string
	On                                bool
	Options                           []optionView
	Offset, Example                   string
}

func (s *Server) form(a Ask) formView {
	v := formView{Reverse: a.Reverse, US: a.units() == question.US, RouteName: a.RouteName}
	v.Routes = s.routeOptions(a)
	for _, c := range s.config.Cars {
		v.Cars = append(v.Cars, optionView{c.ID, c.Car.Name, c.ID == a.Car})
	}
	v.Extras = s.extras(a)
	for _, g := range question.Groups {
		view := groupView{Name: string(g), Folded: slices.Contains(folded, g)}
		if g == question.Return {
			view.ID = "g-back"
		}
		for _, r := range question.Rows() {
			if r.Group == g {
				view.Fields = append(view.Fields, controls(r, &a)...)
			}
		}
		v.Groups = append(v.Groups, view)
	}
	for _, r := range question.Rows() {
		if r.Key == "start_name" || r.Key == "end_name" {
			for _, value := range r.Get(&a.Question) {
				v.Hidden = append(v.Hidden, hiddenView{r.Key, value})
			}
		}
	}
	return v
}

// routeOptions lists the routes there are, and a dropped one that is in use.
func (s *Server) routeOptions(a Ask) []optionView {
	var out []optionView
	found := false
	for _, r := range s.config.Routes {
		out = append(out, optionView{r.ID, r.Route.Name, r.ID == a.Route})
		found = found || r.ID == a.Route
	}
	if r, _, err := s.route(a); err == nil && !found {
		out = append(out, optionView{a.Route, r.Name, true})
	}
	return out
}

// extras are what the chosen car may carry or tow.
func (s *Server) extras(a Ask) []checkView {
	car, err := s.car(a.Car)
	if err != nil {
		return nil
	}
	var out []checkView
	for _, e := range car.Extras {
		out = append(out, checkView{e.Name, slices.Contains(a.Carry, e.Name)})
	}
	return out
}

// controls are those that ask for a row.
func controls(r question.Row, a *Ask) []fieldView {
	own, special := ownWay[r.Key]
	if !special {
		return []fieldView{control(r, a)}
	}
	var out []fieldView
	hours, plug := a.stayBoxes()
	when, at, offset := a.clock()
	for _, key := range own {
		v := fieldView{ID: "f-" + key, Key: key, Label: labelOf(key)}
		switch key {
		case "when":
			v.Kind, v.Options = "select", options(whens, when)
		case "at":
			v.Kind, v.Value, v.Offset = "time", at, offset
		case "stay_h":
			v.Unit, v.Min, v.Max, v.Value, v.Help = "h", "0", plain(mostStayH), hours, "empty: turn round at once"
		case "stay_plug":
			v.Kind, v.Options = "select", options(stayPlugs, plug)
		}
		out = append(out, v)
	}
	return out
}

func control(r question.Row, a *Ask) fieldView {
	v := fieldView{ID: "f-" + r.Key, Key: r.Key, Label: r.Label, Example: r.Example}
	if r.Usual != "" {
		v.Help = "empty: " + r.Usual
	}
	value := strings.Join(r.Get(&a.Question), ",")
	switch {
	case r.Kind() == reflect.Bool:
		v.Kind, v.Value, v.On = "check", "1", value == "1"
	case len(r.Choices)+len(r.Suggest) > 0:
		v.Kind, v.Options = "select", options(r.Offered(), value)
	case r.Kind() == reflect.Float64 || r.Kind() == reflect.Int:
		number(&v, r, a)
	case r.Kind() == reflect.Slice:
		v.Kind, v.Value = "lines", strings.Join(r.Get(&a.Question), "\n")
	default:
		v.Kind, v.Value = "text", value
	}
	return v
}

func number(v *fieldView, r question.Row, a *Ask) {
	u := a.units()
	lo, hi := r.Min, r.Max
	if r.Slide != nil {
		lo, hi, v.Slide = r.Slide.Min, r.Slide.Max, plain(r.Slide.Step)
	}
	v.Key, v.Unit = r.KeyIn(u), r.Unit.In(u)
	v.Min, v.Max = plain(hundredths(r.Unit.Figure(lo, u))), plain(hundredths(r.Unit.Figure(hi, u)))
	if x, given := r.Number(&a.Question); given {
		v.Value = plain(hundredths(r.Unit.Figure(x, u)))
	}
}

func hundredths(v float64) float64 { return math.Round(100*v) / 100 }

// options marks the choice in use; one that is not on the list joins it.
func options(choices []question.Choice, chosen string) []optionView {
	var out []optionView
	found := false
	for _, c := range choices {
		out = append(out, optionView{c.Value, c.Label, c.Value == chosen})
		found = found || c.Value == chosen
	}
	if found {
		return out
	}
	label := chosen
	if deg, err := strconv.ParseFloat(chosen, 64); err == nil {
		label = fmt.Sprintf("%s (%s°)", question.Compass(deg), chosen)
	}
	return append(out, optionView{chosen, label, true})
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

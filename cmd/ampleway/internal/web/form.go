package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ampleway/route/trip"
)

// field is one control of the form and the key it fills.
type field struct {
	key, label, unit string
	also             []string // other names of the key in errors
	min, max, step   float64
	us               *usField
	slide            bool // a slider is set beside the number where scripts run
	blankZero        bool // 0 stands for "not given" and shows as an empty box
	help             string
	kind             string // "" is a number
	example          string // of a text
	on               string // what a ticked box says; empty: 1
	choices          []choice
}

// usField is what changes where the reader thinks in miles.
type usField struct {
	key, unit      string
	min, max, step float64
}

type choice struct{ value, label string }

// group is a part of the form under one heading.
type group struct {
	id     string
	name   string
	folded bool
	fields []field
}

var surfaces = []choice{{"dry", "dry"}, {"wet", "wet"}, {"puddly", "standing water"}, {"snow", "snow"}, {"slush", "slush"}}

var whens = []choice{{whenLeave, "when to leave"}, {whenArrive, "when to be there"}}

var winds = []choice{{"", "front, all the way"}, {"0", "north"}, {"45", "north-east"}, {"90", "east"}, {"135", "south-east"}, {"180", "south"}, {"225", "south-west"}, {"270", "west"}, {"315", "north-west"}}

var aims = []choice{{"time", "the least time"}, {"cost", "the least money"}, {"balance", "time and money, at what an hour is worth"}, {"fewest-stops", "the fewest stops"}}

// homePlugs are the household outlet and the usual breakers of a 240 V circuit.
var homePlugs = []choice{{"", "no"}, {"level1", "household outlet"}, {"level2:20", "240 V, 20 A breaker"}, {"level2:30", "240 V, 30 A breaker"},
	{"level2:40", "240 V, 40 A breaker"}, {"level2:50", "240 V, 50 A breaker"}, {"level2:60", "240 V, 60 A breaker"}}

// groups is the whole form but the route, the car and what it carries.
func groups() []group {
	return []group{
		{name: "Battery", fields: []field{
			{key: "depart_soc_pct", label: "Leave with", unit: "%", min: 0, max: 100, step: 1, slide: true},
			{key: "reserve_pct", label: "Reserve on the way", unit: "%", min: 0, max: 60, step: 1, slide: true},
			{key: "destination_reserve_pct", label: "Arrive with at least", unit: "%", min: 0, max: 90, step: 1, slide: true},
			{key: "confidence_pct", label: "Reserve sure to", unit: "%", min: 0, max: 99.9, help: "0: by the estimate alone"},
			{key: "fallback", label: "Always within reach of another station", kind: "check", on: "required"},
		}},
		{name: "The day", fields: []field{
			{key: "when", label: "The time below is", kind: "when", choices: whens},
			{key: "at", also: []string{"departure", "depart_at", "arrive_by"}, label: "Date and time", kind: "time"},
			{key: "meal", label: "A meal at a stop", kind: "text", example: "12:00-13:30 45m"},
			{key: "temp_c", label: "Air", unit: "°C", min: -30, max: 45, step: 1, slide: true, us: &usField{"temp_f", "°F", -22, 113, 1}},
			{key: "temp_by_hour", label: "Air by the hour", kind: "text", example: "06:00=-3,14:30=4", help: "°C, instead of one figure; needs a time"},
			{key: "wind_kmh", label: "Wind", unit: "km/h", min: 0, max: 100, step: 5, slide: true, us: &usField{"wind_mph", "mph", 0, 60, 5}},
			{key: "wind_from_deg", label: "Wind from the", kind: "select", choices: winds},
			{key: "surface", label: "Road", kind: "select", choices: surfaces},
		}},
		{id: "g-back", name: "And back", fields: []field{
			{key: "back", label: "Plan the way back too", kind: "check"},
			{key: "stay_h", label: "Hours there", unit: "h", min: 0, max: mostStayH, blankZero: true, help: "empty: turn round at once"},
			{key: "stay_plug", label: "Plugged in there", kind: "select", choices: stayPlugs},
			{key: "stay_amps", label: "Its breaker", unit: "A", min: 1, max: 2000, blankZero: true, help: "40 if left empty, on three phases 16"},
			{key: "stay_kw", label: "Its power", unit: "kW", min: 1, max: 2000, blankZero: true, help: "50 if left empty"},
			{key: "back_temp_c", label: "Air on the way back", unit: "°C", min: -30, max: 45, help: "empty: the same", us: &usField{"back_temp_f", "°F", -22, 113, 1}},
			{key: "back_wind_kmh", label: "Wind on the way back", unit: "km/h", min: 0, max: 100, help: "empty: the same", us: &usField{"back_wind_mph", "mph", 0, 60, 5}},
			{key: "back_wind_from_deg", label: "Then from the", kind: "select", choices: append([]choice{{"", "same side"}}, winds[1:]...)},
		}},
		{name: "How to drive", fields: []field{
			{key: "best", label: "What counts", kind: "select", choices: aims},
			{key: "hour_worth", label: "An hour is worth", min: 0, max: 1e6, blankZero: true, help: "in the stations' currency; for time and money"},
			{key: "speed_cap_kmh", label: "No faster than", unit: "km/h", min: 20, max: 300, us: &usField{"speed_cap_mph", "mph", 13, 186, 1}},
			{key: "stop_worth_min", label: "One stop fewer is worth", unit: "min", min: 0, max: 1440, help: "0: only the clock counts"},
			{key: "most_stops", label: "At most so many stops", min: 1, max: 100},
			{key: "highest_soc_pct", label: "Charge no further than", unit: "%", min: 10, max: 100},
		}},
		{name: "Load and car", folded: true, fields: []field{
			{key: "payload_kg", label: "People besides the driver, luggage", unit: "kg", min: 0, max: 5000, blankZero: true, us: &usField{"payload_lb", "lb", 0, 11000, 1}},
			{key: "winter_tyres", label: "Winter tyres", kind: "check"},
			{key: "battery_health_pct", label: "Battery left of new", unit: "%", min: 20, max: 100},
			{key: "consumption_factor", label: "Your consumption over the model's", min: 0.3, max: 3, help: "1.05 is 5 % more"},
			{key: "cabin_ready", label: "Cabin warmed or cooled before the start", kind: "check"},
			{key: "climate_off", label: "No heating or cooling", kind: "check"},
			{key: "warm_battery", label: "The car warms its battery for charging", kind: "check"},
		}},
		{name: "The night before, at home", folded: true, fields: []field{
			{key: "home_plug", label: "Plugged in at home", kind: "select", choices: homePlugs},
			{key: "home_soc_pct", label: "Battery by then", unit: "%", min: 0, max: 100},
			{key: "home_from", label: "Plugged in at", kind: "text", example: "18:00"},
			{key: "cheap_hours", label: "Cheap hours", kind: "text", example: "23:00-06:00"},
		}},
		{name: "Stations", folded: true, fields: []field{
			{key: "least_power_kw", label: "Stalls of at least", unit: "kW", min: 0, max: 4000, blankZero: true},
			{key: "half_width_km", label: "Off the road at most", unit: "km", min: 0.01, max: 200, us: &usField{"half_width_mi", "mi", 0.01, 124, 1}},
			{key: "overhead_min", label: "Minutes to park, plug in and pay", min: 0, max: 240},
			{key: "unknown_price_per_kwh", label: "A kWh where no price is known", min: 0, max: 1e6, help: "when money counts; empty: no stop there"},
			{key: "fuel_car", label: "Compare with a fuel car", kind: "text", example: "6.8 l/100km 1.72", help: "and the price of a litre; or 32 mpg 3.40"},
			{key: "rates", label: "What other money is worth", kind: "text", example: "JPY=0.0061EUR", help: "to compare prices in several currencies"},
			{key: "stalls_busy", label: "Count with every stall in use", kind: "check"},
			{key: "ac", label: "Also slow (AC) charging on the way", kind: "check"},
			{key: "customer_sites", label: "Also stations for customers", kind: "check"},
			{key: "no_assumed_power", label: "Only stations whose power is known", kind: "check"},
		}},
	}
}

// formView is the form as the template shows it.
type formView struct {
	Routes, Cars  []optionView
	Reverse       bool
	RouteName     string
	US            bool
	Groups        []groupView
	Extras        []checkView
	Hidden        []hiddenView
	Offset        string
	MostMegabytes int64
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
	v := formView{Reverse: a.Reverse, US: a.Units == "us", RouteName: a.RouteName, MostMegabytes: s.limits.BodyBytes >> 20}
	v.Routes = s.routeOptions(a)
	for _, c := range s.config.Cars {
		v.Cars = append(v.Cars, optionView{c.ID, c.Car.Name, c.ID == a.Car})
	}
	v.Extras = s.extras(a)
	shown := map[string]bool{"route": true, "route_name": true, "car": true, "units": true, "reverse": true, "extras": true, "depart_at": true, "arrive_by": true}
	for _, g := range groups() {
		view := groupView{ID: g.id, Name: g.name, Folded: g.folded}
		for _, f := range g.fields {
			shown[f.key] = true
			view.Fields = append(view.Fields, f.view(&a))
		}
		v.Groups = append(v.Groups, view)
	}
	query := a.Query()
	for _, key := range sortedKeys(query) {
		for _, value := range query[key] {
			if !shown[key] {
				v.Hidden = append(v.Hidden, hiddenView{key, value})
			}
		}
	}
	return v
}

func sortedKeys(q map[string][]string) []string {
	keys := make([]string, 0, len(q))
	for k := range q {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
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
		out = append(out, checkView{e.Name, slices.Contains(a.Extras, e.Name)})
	}
	return out
}

func (f *field) view(a *Ask) fieldView {
	v := fieldView{ID: "f-" + f.key, Key: f.key, Label: f.label, Unit: f.unit, Help: f.help, Kind: f.kind}
	switch f.kind {
	case "when":
		when, _, _ := a.clock()
		v.Options = f.options(when)
		return v
	case "time":
		_, v.Value, v.Offset = a.clock()
		return v
	}
	texts := format(a.fields()[f.key])
	value := strings.Join(texts, ", ")
	switch f.kind {
	case "text":
		v.Value, v.Example = value, f.example
	case "check":
		v.Value = "1"
		if f.on != "" {
			v.Value = f.on
		}
		v.On = value == v.Value
	case "select":
		v.Options = f.options(value)
	default:
		f.number(&v, a, texts)
	}
	return v
}

func (f *field) number(v *fieldView, a *Ask, texts []string) {
	lo, hi, step := f.min, f.max, f.step
	var display func(float64) float64
	if f.us != nil && a.units() == trip.US {
		display = usKeys[f.us.key].display
		v.Key, v.Unit = f.us.key, f.us.unit
		lo, hi, step = f.us.min, f.us.max, f.us.step
	}
	v.Min, v.Max = plain(lo), plain(hi)
	if f.slide {
		v.Slide = plain(step)
	}
	if len(texts) == 0 {
		return
	}
	x, err := strconv.ParseFloat(texts[0], 64)
	if err != nil || (x == 0 && f.blankZero) {
		return
	}
	if display != nil {
		const hundredths = 100
		x = math.Round(hundredths*display(x)) / hundredths
	}
	v.Value = plain(x)
}

// options marks the choice in use; one that is not on the list joins it.
func (f *field) options(chosen string) []optionView {
	var out []optionView
	found := false
	for _, c := range f.choices {
		out = append(out, optionView{c.value, c.label, c.value == chosen})
		found = found || c.value == chosen
	}
	if found {
		return out
	}
	label := chosen
	if deg, err := strconv.ParseFloat(chosen, 64); err == nil {
		label = fmt.Sprintf("%s (%s°)", trip.Compass(deg), chosen)
	}
	return append(out, optionView{chosen, label, true})
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

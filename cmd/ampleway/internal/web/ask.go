package web

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// Ask is what is asked of the page: a route, a car and a question. In a query
// it has the keys of the question's rows, in either system of units, and those
// below. The form has one box for a time, at, and says in when whether it is to
// leave or to arrive; it has two for a stay, stay_h and stay_plug.
type Ask struct {
	Route     string // "demo-pass", "file-…" of a dropped file, "line-…" an encoded polyline; key route
	RouteName string // of an encoded polyline; key route_name
	Car       string // key car
	Reverse   bool   // key reverse
	Units     string // "metric" or "us"; key units
	Offset    string // "+01:00": the offset of a departure that has none; key utc_offset
	question.Question
}

// ParseAsk reads a query. Without a route the question starts from start, with
// one from question.New. The error is a *fault.Input that names the key.
func ParseAsk(q url.Values, start Ask) (Ask, error) {
	a := start
	if q.Has("route") {
		a = Ask{Car: start.Car, Units: "metric", Question: question.New()}
	}
	for _, own := range []struct {
		key string
		to  *string
	}{{"route", &a.Route}, {"route_name", &a.RouteName}, {"car", &a.Car}, {"units", &a.Units}, {"utc_offset", &a.Offset}} {
		if q.Has(own.key) {
			*own.to = q.Get(own.key)
		}
	}
	if q.Has("reverse") {
		yes, known := question.YesOrNo(q.Get("reverse"))
		if !known {
			return a, &fault.Input{Field: "reverse", Found: q.Get("reverse"), Expected: "1 or 0"}
		}
		a.Reverse = yes
	}
	if _, known := question.ParseUnits(a.Units); !known {
		return a, &fault.Input{Field: "units", Found: a.Units, Expected: "metric or us"}
	}
	if err := a.Question.Read(lines(q)); err != nil {
		return a, err
	}
	for _, own := range []func(url.Values) error{a.readClock, a.readStay} {
		if err := own(q); err != nil {
			return a, err
		}
	}
	return a, a.addOffset()
}

// lines cuts what a box of several lines says into them.
func lines(q url.Values) url.Values {
	out := url.Values{}
	for key, texts := range q {
		for _, text := range texts {
			out[key] = append(out[key], strings.Split(strings.ReplaceAll(text, "\r", ""), "\n")...)
		}
	}
	return out
}

// What when can be.
const whenLeave, whenArrive = "leave", "arrive"

// readClock reads the form's one box for a time.
func (a *Ask) readClock(q url.Values) error {
	if !q.Has("at") {
		return nil
	}
	at := strings.TrimSpace(q.Get("at"))
	switch when := q.Get("when"); when {
	case "", whenLeave:
		a.Depart, a.ArriveBy = at, ""
	case whenArrive:
		a.Depart, a.ArriveBy = "", at
	default:
		return &fault.Input{Field: "when", Found: when, Expected: whenLeave + " or " + whenArrive}
	}
	return nil
}

const mostStayH = 60 * 24

// readStay reads the form's two boxes for a stay.
func (a *Ask) readStay(q url.Values) error {
	hours, plug := strings.TrimSpace(q.Get("stay_h")), strings.TrimSpace(q.Get("stay_plug"))
	if hours == "" && plug == "" {
		return nil
	}
	if hours == "" {
		hours = "0"
	}
	if h, err := strconv.ParseFloat(hours, 64); err != nil || !(h >= 0 && h <= mostStayH) {
		return &fault.Input{Field: "stay_h", Found: hours, Expected: fmt.Sprintf("0 to %d hours", mostStayH)}
	}
	text := strings.TrimSpace(hours + "h " + plug)
	if _, err := trip.ParseStay(text); err != nil {
		return &fault.Input{Field: "stay_plug", Found: plug, Expected: trip.PlugForms}
	}
	a.Stay = []string{text}
	return nil
}

// stayBoxes splits the stay into what the form's two boxes show.
func (a *Ask) stayBoxes() (hours, plug string) {
	if len(a.Stay) == 0 {
		return "", ""
	}
	length, plug, _ := strings.Cut(a.Stay[0], " ")
	stay, err := trip.ParseStay(a.Stay[0])
	if err != nil {
		return length, plug
	}
	return plain(stay.TimeS / 3600), strings.TrimPrefix(plug, "none")
}

// addOffset gives a time without an offset the one that stands beside it.
func (a *Ask) addOffset() error {
	if (a.Depart == "" && a.ArriveBy == "") || a.Offset == "" {
		return nil
	}
	if _, err := time.Parse("-07:00", a.Offset); err != nil {
		return &fault.Input{Field: "utc_offset", Found: a.Offset, Expected: "hours and minutes ahead of UTC, such as +01:00 or -10:00"}
	}
	for _, clock := range []*string{&a.Depart, &a.ArriveBy} {
		for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05"} {
			if _, err := time.Parse(layout, *clock); err == nil {
				*clock += a.Offset
			}
		}
	}
	return nil
}

// Query writes a question so that ParseAsk reads the same one back: the route,
// the car, and whatever differs from question.New.
func (a Ask) Query() url.Values {
	q := url.Values(a.Question.Write())
	q.Set("route", a.Route)
	q.Set("car", a.Car)
	for key, text := range map[string]string{"route_name": a.RouteName, "units": a.Units} {
		if text != "" && text != "metric" {
			q.Set(key, text)
		}
	}
	if a.Reverse {
		q.Set("reverse", "1")
	}
	return q
}

// clock splits the time of departure or arrival into what a date-and-time
// control shows and the offset.
func (a *Ask) clock() (when, local, offset string) {
	when, text := whenLeave, a.Depart
	if a.ArriveBy != "" && a.Depart == "" {
		when, text = whenArrive, a.ArriveBy
	}
	if text == "" {
		return when, "", a.Offset
	}
	t, err := trip.ParseTime(text)
	if err != nil {
		return when, text, a.Offset
	}
	return when, t.Format("2006-01-02T15:04"), t.Format("-07:00")
}

func (a *Ask) units() question.Units {
	units, _ := question.ParseUnits(a.Units)
	return units
}

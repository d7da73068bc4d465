package open

import (
	"fmt"
	"strings"
	"time"

	"ampleway/stations"
)

// ocpiTime is the OCPI Hours class.
type ocpiTime struct {
	Always  bool         `json:"twentyfourseven"`
	Regular []ocpiDay    `json:"regular_hours"`
	Opening []ocpiPeriod `json:"exceptional_openings"`
	Closing []ocpiPeriod `json:"exceptional_closings"`
}

type ocpiDay struct {
	Weekday int    `json:"weekday"` // Monday = 1
	Begin   string `json:"period_begin"`
	End     string `json:"period_end"`
}

type ocpiPeriod struct {
	Begin string `json:"period_begin"`
	End   string `json:"period_end"`
}

var weekdayWords = []string{"", "Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"}

// expression writes the hours in the OpenStreetMap grammar, in the local time
// of the zone; "" where there are none or one part cannot be written.
func (h *ocpiTime) expression(zone string) string {
	if h == nil {
		return ""
	}
	rules := []string{"24/7"}
	if !h.Always {
		if rules = weekRules(h.Regular); rules == nil {
			return ""
		}
	}
	text := strings.Join(rules, ", ")
	if len(h.Opening)+len(h.Closing) == 0 {
		return text
	}
	place := stations.Zone(zone)
	if place == nil {
		return ""
	}
	for _, list := range []struct {
		periods        []ocpiPeriod
		joint, trailer string
	}{{h.Opening, ", ", ""}, {h.Closing, "; ", " off"}} {
		for _, p := range list.periods {
			days, ok := p.days(place)
			if !ok {
				return ""
			}
			for _, d := range days {
				text += list.joint + d + list.trailer
			}
		}
	}
	return text
}

// weekRules writes each weekday's periods, neighbours that are alike together.
func weekRules(regular []ocpiDay) []string {
	byDay := make([]string, 8)
	for _, d := range regular {
		if d.Weekday < 1 || d.Weekday > 7 || !clock(d.Begin) || !clock(d.End) {
			return nil
		}
		byDay[d.Weekday] = joined(",", byDay[d.Weekday], d.Begin+"-"+d.End)
	}
	var rules []string
	for from := 1; from <= 7; {
		to := from
		for to < 7 && byDay[to+1] == byDay[from] {
			to++
		}
		if byDay[from] != "" {
			days := weekdayWords[from]
			if to > from {
				days += "-" + weekdayWords[to]
			}
			rules = append(rules, days+" "+byDay[from])
		}
		from = to + 1
	}
	return rules
}

func clock(s string) bool {
	_, err := time.Parse("15:04", s)
	return err == nil || s == "24:00"
}

// mostDays is the longest exception that is written out.
const mostDays = 60

// days writes a period as one date and time range a day.
func (p ocpiPeriod) days(place *time.Location) ([]string, bool) {
	begin, err1 := time.Parse(time.RFC3339, p.Begin)
	end, err2 := time.Parse(time.RFC3339, p.End)
	if err1 != nil || err2 != nil || !end.After(begin) || end.Sub(begin) > mostDays*24*time.Hour {
		return nil, false
	}
	begin, end = begin.In(place), end.In(place)
	var out []string
	for begin.Before(end) {
		midnight := time.Date(begin.Year(), begin.Month(), begin.Day()+1, 0, 0, 0, 0, place)
		until := end.Format("15:04")
		if !end.Before(midnight) {
			until = "24:00"
		}
		out = append(out, fmt.Sprintf("%s-%s", begin.Format("2006 Jan 02 15:04"), until))
		begin = midnight
	}
	return out, true
}

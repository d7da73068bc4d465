package stations

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
)

// Price is what a driver pays at a site, tax included where the source says
// what it is. A figure of 0 costs nothing; a price that is not known is a nil
// *Price, never a zero one.
type Price struct {
	Currency         string   `json:"currency"`              // ISO 4217
	SessionFee       float64  `json:"session_fee,omitempty"` // once a session
	Rates                     // at any time that no period claims
	Periods          []Period `json:"periods,omitempty"`            // by time of day; the first that holds counts
	IdleAfterMinutes float64  `json:"idle_after_minutes,omitempty"` // free minutes after charging has ended
	StepMinutes      float64  `json:"step_minutes,omitempty"`       // charging time is billed in whole steps; 0 = to the second
	IdleStepMinutes  float64  `json:"idle_step_minutes,omitempty"`  // the same for idle time
	StepKWh          float64  `json:"step_kwh,omitempty"`           // energy is billed in whole steps; 0 = exactly
	LeastTotal       float64  `json:"least_total,omitempty"`        // a session costs at least this; 0 = no floor
	MostTotal        float64  `json:"most_total,omitempty"`         // a session costs at most this; 0 = no ceiling
}

// Rates are the prices that may change with the time of day.
type Rates struct {
	PerKWh        float64 `json:"per_kwh,omitempty"`         // energy
	PerMinute     float64 `json:"per_minute,omitempty"`      // while charging
	Bands         []Band  `json:"bands,omitempty"`           // per minute by power, instead of PerMinute; any order
	IdlePerMinute float64 `json:"idle_per_minute,omitempty"` // while plugged in and not charging, after IdleAfterMinutes
}

// Band is a price per minute that holds while the car draws more than AboveKW.
type Band struct {
	AboveKW   float64 `json:"above_kw"`
	PerMinute float64 `json:"per_minute"`
}

// Period gives other rates on some days between two times of day, local time.
// Where To is not after From the period runs over midnight and belongs to the
// day it starts on. Equal From and To mean the whole day.
type Period struct {
	Days Days  `json:"days,omitzero"`
	From Clock `json:"from"`
	To   Clock `json:"to"`
	Rates
}

// MinuteRate returns the price of a minute of charging at a power in kW: the
// highest band below it, or PerMinute where no band holds.
func (r Rates) MinuteRate(powerKW float64) float64 {
	rate, above := r.PerMinute, -1.0
	for _, b := range r.Bands {
		if powerKW > b.AboveKW && b.AboveKW > above {
			rate, above = b.PerMinute, b.AboveKW
		}
	}
	return rate
}

// At returns the rates that hold at a time, which must be in the site's zone.
func (p *Price) At(local time.Time) Rates {
	for _, period := range p.Periods {
		if period.holds(local) {
			return period.Rates
		}
	}
	return p.Rates
}

func (p Period) holds(local time.Time) bool {
	now := Clock(local.Hour()*60 + local.Minute())
	today, yesterday := p.Days.has(local.Weekday()), p.Days.has(local.AddDate(0, 0, -1).Weekday())
	switch {
	case p.From == p.To:
		return today
	case p.From < p.To:
		return today && p.From <= now && now < p.To
	}
	return today && p.From <= now || yesterday && now < p.To
}

// Clock is a time of day in minutes after midnight, 0..1440. Its text is
// "HH:MM", up to "24:00".
type Clock int

// String gives "HH:MM".
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

// MarshalText gives "HH:MM".
func (c Clock) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads "HH:MM".
func (c *Clock) UnmarshalText(text []byte) error {
	s := string(text)
	bad := &fault.Input{Field: "time of day", Found: s, Expected: "HH:MM from 00:00 to 24:00"}
	if len(s) != 5 || s[2] != ':' {
		return bad
	}
	for _, i := range []int{0, 1, 3, 4} {
		if s[i] < '0' || s[i] > '9' {
			return bad
		}
	}
	h, m := int(s[0]-'0')*10+int(s[1]-'0'), int(s[3]-'0')*10+int(s[4]-'0')
	if m > 59 || h*60+m > 24*60 {
		return bad
	}
	*c = Clock(h*60 + m)
	return nil
}

// Days is a set of weekdays, bit 0 Monday. The zero value means every day.
// Its text is the one of opening_hours: "Mo-Fr", "Sa,Su".
type Days uint8

var dayWords = []string{"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"}

func (d Days) has(day time.Weekday) bool {
	return d == 0 || d&(1<<((int(day)+6)%7)) != 0
}

// String gives the days as opening_hours writes them, "" for every day.
func (d Days) String() string {
	var words []string
	for i := 0; i < 7; i++ {
		if d&(1<<i) == 0 {
			continue
		}
		j := i
		for j < 6 && d&(1<<(j+1)) != 0 {
			j++
		}
		if j > i {
			words = append(words, dayWords[i]+"-"+dayWords[j])
		} else {
			words = append(words, dayWords[i])
		}
		i = j
	}
	return strings.Join(words, ",")
}

// MarshalText gives the days as opening_hours writes them.
func (d Days) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads days as opening_hours writes them.
func (d *Days) UnmarshalText(text []byte) error {
	*d = 0
	if len(text) == 0 {
		return nil
	}
	for _, field := range strings.Split(string(text), ",") {
		first, last, ranged := strings.Cut(strings.TrimSpace(field), "-")
		if !ranged {
			last = first
		}
		i, j := slices.Index(dayWords, first), slices.Index(dayWords, last)
		if i < 0 || j < 0 {
			return &fault.Input{Field: "days", Found: string(text), Expected: "days such as Mo-Fr or Sa,Su"}
		}
		for ; i != j; i = (i + 1) % 7 {
			*d |= 1 << i
		}
		*d |= 1 << j
	}
	return nil
}

// Validate reports the first figure of a price that is negative or not finite
// and a currency that is not three capital letters. It returns a *fault.Input.
func (p *Price) Validate() error {
	if !money.IsCurrency(p.Currency) {
		return &fault.Input{Field: "currency", Found: p.Currency, Expected: "an ISO 4217 code such as EUR"}
	}
	for _, f := range [...]figure{
		{"session_fee", p.SessionFee}, {"idle_after_minutes", p.IdleAfterMinutes}, {"step_minutes", p.StepMinutes},
		{"idle_step_minutes", p.IdleStepMinutes}, {"step_kwh", p.StepKWh}, {"least_total", p.LeastTotal}, {"most_total", p.MostTotal},
	} {
		if err := f.check(); err != nil {
			return err
		}
	}
	if err := p.Rates.validate(); err != nil {
		return err
	}
	for i := range p.Periods {
		period := &p.Periods[i]
		if period.From < 0 || period.From > 24*60 || period.To < 0 || period.To > 24*60 {
			return &fault.Input{Field: "periods", Found: period.From.String() + "-" + period.To.String(), Expected: "times from 00:00 to 24:00"}
		}
		if err := period.Rates.validate(); err != nil {
			return err
		}
	}
	return nil
}

func (r *Rates) validate() error {
	for _, f := range [...]figure{{"per_kwh", r.PerKWh}, {"per_minute", r.PerMinute}, {"idle_per_minute", r.IdlePerMinute}} {
		if err := f.check(); err != nil {
			return err
		}
	}
	for _, b := range r.Bands {
		for _, f := range [...]figure{{"above_kw", b.AboveKW}, {"per_minute", b.PerMinute}} {
			if err := f.check(); err != nil {
				return err
			}
		}
	}
	return nil
}

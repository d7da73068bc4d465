package open

import (
	"fmt"
	"slices"
	"strings"

	"ampleway/stations"
)

// Report says what a file held, what was left out and what looks odd.
type Report struct {
	File         string         `json:"file"`
	Format       Format         `json:"format"`
	Records      int            `json:"records"` // rows, features, elements or points of charge read
	Sites        int            `json:"sites"`
	Stalls       int            `json:"stalls"`
	DCSites      int            `json:"dc_sites"`       // with a direct-current connector
	ByConnector  map[string]int `json:"by_connector"`   // connectors by type
	ByPowerKW    map[string]int `json:"by_power_kw"`    // connectors by "type power", power as it stands, "unknown" or "150 assumed"
	UnknownPower int            `json:"unknown_power"`  // connectors without a power, nor amps and volts
	AssumedPower int            `json:"assumed_power"`  // connectors with a default for a power
	NotNamed     int            `json:"not_named"`      // connectors whose token has no trade name here
	Planned      int            `json:"planned"`        // sites
	Closed       int            `json:"closed"`         // sites, for good
	OutOfOrder   int            `json:"out_of_order"`   // sites
	Restricted   int            `json:"restricted"`     // sites for customers, staff, residents
	HoursUnknown int            `json:"hours_unknown"`  // sites without opening hours, or with words that are none
	HoursUnread  int            `json:"hours_unread"`   // sites whose opening hours are not understood
	Mended       int            `json:"mended"`         // values read otherwise than they stand, each listed among the suspects
	Ignored      int            `json:"ignored"`        // records that are not charging stations
	RejectCount  int            `json:"rejected_count"` // all of them; Rejected may be shorter
	SuspectCount int            `json:"suspects_count"` // all of them; Suspects may be shorter
	Rejected     []Problem      `json:"rejected"`
	Suspects     []Problem      `json:"suspects"`
	Notes        []string       `json:"notes"` // what holds for the whole file

	listed int
}

// Problem is one record that was rejected, or one value that looks odd.
type Problem struct {
	Where    string `json:"where"`           // "line 12", "feature 3 (line 40)", "node 5"
	Field    string `json:"field,omitempty"` // column, key or tag
	Found    string `json:"found,omitempty"`
	Reason   string `json:"reason"` // what was expected, or what was done
	Rejected bool   `json:"-"`
}

// String gives the problem on one line.
func (p Problem) String() string {
	text := p.Where
	if p.Field != "" {
		text += ", " + p.Field
	}
	if p.Found != "" {
		text += ": found " + clip(p.Found)
	}
	return text + ": " + p.Reason
}

func clip(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

func newReport(file string, listed int) *Report {
	return &Report{
		File: file, ByConnector: map[string]int{}, ByPowerKW: map[string]int{},
		Rejected: []Problem{}, Suspects: []Problem{}, Notes: []string{}, listed: listed,
	}
}

func (r *Report) reject(p Problem) {
	r.RejectCount++
	if len(r.Rejected) < r.listed {
		p.Found = clip(p.Found)
		r.Rejected = append(r.Rejected, p)
	}
}

func (r *Report) suspect(p Problem) {
	r.SuspectCount++
	if len(r.Suspects) < r.listed {
		p.Found = clip(p.Found)
		r.Suspects = append(r.Suspects, p)
	}
}

// Unusable says how many records were rejected and who lists them; empty where
// all can be used.
func (r *Report) Unusable() string {
	if r.RejectCount == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d records cannot be used (ampleway stations check %s lists them)", r.RejectCount, r.Records, r.File)
}

// note adds a remark on the whole file, once.
func (r *Report) note(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	for _, n := range r.Notes {
		if n == text {
			return
		}
	}
	r.Notes = append(r.Notes, text)
}

// count fills the totals from the sites.
func (r *Report) count(sites []stations.Site) {
	power := map[powerKey]int{}
	for i := range sites {
		s := &sites[i]
		r.Sites++
		r.Stalls += len(s.Stalls)
		if s.DCStalls() > 0 {
			r.DCSites++
		}
		switch s.Status {
		case stations.StatusPlanned:
			r.Planned++
		case stations.StatusClosed:
			r.Closed++
		case stations.StatusOutOfOrder:
			r.OutOfOrder++
		}
		if s.Access == stations.AccessCustomers || s.Access == stations.AccessPrivate {
			r.Restricted++
		}
		for _, stall := range s.Stalls {
			for _, c := range stall.Connectors {
				power[powerKey{c.Type, c.RatedKW(), c.Assumed}]++
			}
		}
	}
	r.noteAssumed(power)
	for k, n := range power {
		r.ByConnector[string(k.plug)] += n
		r.ByPowerKW[k.String()] += n
		if k.kw == 0 {
			r.UnknownPower += n
		}
		if k.assumed {
			r.AssumedPower += n
		}
		if !k.plug.Known() {
			r.NotNamed += n
		}
	}
}

// noteAssumed says once which powers are assumed.
func (r *Report) noteAssumed(power map[powerKey]int) {
	var assumed []string
	for k := range power {
		if k.assumed {
			assumed = append(assumed, fmt.Sprintf("%s %.4g kW", k.plug, k.kw))
		}
	}
	if len(assumed) > 0 {
		slices.Sort(assumed)
		r.note("the source has no power; assumed is: %s", strings.Join(assumed, ", "))
	}
}

type powerKey struct {
	plug    stations.ConnectorType
	kw      float64
	assumed bool
}

func (k powerKey) String() string {
	switch {
	case k.kw == 0:
		return string(k.plug) + " unknown"
	case k.assumed:
		return fmt.Sprintf("%s %.4g assumed", k.plug, k.kw)
	}
	return fmt.Sprintf("%s %.4g", k.plug, k.kw)
}

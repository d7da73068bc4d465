package open

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"ampleway/data/wording"
	"ampleway/stations"
)

// reportForm is the name and version of a report in JSON.
const reportForm = "ampleway-stations-check/1"

// MarshalJSON writes the report with the name and version of its form.
func (r *Report) MarshalJSON() ([]byte, error) {
	type plain Report
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	err := e.Encode(struct {
		Form string `json:"form"`
		*plain
	}{reportForm, (*plain)(r)})
	return text.Bytes(), err
}

// WriteJSON writes the report as one indented JSON object.
func (r *Report) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// WriteText writes the report for people.
func (r *Report) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s, %s, %s with %s, %s with direct current\n", r.File, r.Format, wording.Count(r.Records, "record"), wording.Count(r.Sites, "station"), wording.Count(r.Stalls, "bay"), fmt.Sprint(r.DCSites))
	for _, n := range r.Notes {
		fmt.Fprintf(&b, "  %s\n", n)
	}
	r.writeConnectors(&b)
	for _, line := range []struct {
		n           int
		thing, what string
	}{
		{r.UnknownPower, "connector", "without a known power"},
		{r.AssumedPower, "connector", "with an assumed power (not in the source)"},
		{r.NotNamed, "connector", "under a name that is not known here" + r.aliases()},
		{r.Restricted, "station", "for customers, residents or staff"},
		{r.Planned, "station", "planned"},
		{r.Closed, "station", "closed"},
		{r.OutOfOrder, "station", "out of order"},
		{r.HoursUnknown, "station", "without opening hours"},
		{r.HoursUnread, "station", "whose opening hours are not understood"},
		{r.Ignored, "record", "of something other than a charging station"},
		{r.Mended, "value", "mended"},
	} {
		if line.n > 0 {
			_, things, _ := strings.Cut(wording.Count(line.n, line.thing), " ")
			fmt.Fprintf(&b, "%6d %s %s\n", line.n, things, line.what)
		}
	}
	writeProblems(&b, "rejected", r.RejectCount, r.Rejected)
	writeProblems(&b, "suspect", r.SuspectCount, r.Suspects)
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Report) writeConnectors(b *strings.Builder) {
	if len(r.ByConnector) == 0 {
		return
	}
	fmt.Fprintln(b, "connectors")
	for _, plug := range slices.Sorted(maps.Keys(r.ByConnector)) {
		fmt.Fprintf(b, "%8d  %s\n", r.ByConnector[plug], plug)
	}
	fmt.Fprintln(b, "connectors by power, kW")
	for _, key := range slices.SortedFunc(maps.Keys(r.ByPowerKW), byPlugThenPower) {
		fmt.Fprintf(b, "%8d  %s\n", r.ByPowerKW[key], key)
	}
}

// mostAliases is how many unknown names are listed.
const mostAliases = 10

// aliases lists the unknown names, the most common first, with the alias that
// would read each.
func (r *Report) aliases() string {
	unknown := slices.SortedFunc(maps.Keys(r.ByConnector), func(a, b string) int {
		return cmp.Or(cmp.Compare(r.ByConnector[b], r.ByConnector[a]), strings.Compare(a, b))
	})
	unknown = slices.DeleteFunc(unknown, func(name string) bool { return stations.ConnectorType(name).Known() })
	text := ""
	for _, name := range unknown[:min(len(unknown), mostAliases)] {
		text += "\n         " + stations.ConnectorType(name).AliasText(r.ByConnector[name])
	}
	if n := len(unknown) - mostAliases; n > 0 {
		text += fmt.Sprintf("\n         and %d more names", n)
	}
	return text
}

// byPlugThenPower orders "CCS2 50" before "CCS2 150" before "CCS2 unknown".
func byPlugThenPower(a, b string) int {
	plugA, kwA := splitKey(a)
	plugB, kwB := splitKey(b)
	if c := strings.Compare(plugA, plugB); c != 0 {
		return c
	}
	switch {
	case kwA < kwB:
		return -1
	case kwA > kwB:
		return 1
	}
	return strings.Compare(a, b)
}

func splitKey(key string) (plug string, kw float64) {
	key = strings.TrimSuffix(key, " assumed")
	i := strings.LastIndexByte(key, ' ')
	if n, err := fmt.Sscanf(key[i+1:], "%g", &kw); n != 1 || err != nil {
		kw = 1e9
	}
	return key[:i], kw
}

func writeProblems(b *strings.Builder, what string, count int, list []Problem) {
	if count == 0 {
		return
	}
	fmt.Fprintf(b, "%d %s\n", count, what)
	for _, p := range list {
		fmt.Fprintf(b, "  %s\n", p.String())
	}
	if n := count - len(list); n > 0 {
		fmt.Fprintf(b, "  ... and %d more\n", n)
	}
}

package open

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"ampleway/data/fault"
	"ampleway/stations"
)

// at is the place of a record in its file.
type at struct {
	unit string // "line", "feature", "element", "node", ...
	n    int64
	line int // where the unit is not a line; 0 = not known
}

func (a at) String() string {
	if a.line > 0 {
		return fmt.Sprintf("%s %d (line %d)", a.unit, a.n, a.line)
	}
	return fmt.Sprintf("%s %d", a.unit, a.n)
}

// collector takes what the readers find.
type collector struct {
	o      Options
	limits Limits
	report *Report
	sites  []stations.Site
	places []at
	stalls int
	osm    *osmPlaces // of an OpenStreetMap file
	words  map[string]string
	hours  map[string]string // what is wrong with each expression
}

func newCollector(name string, o Options) *collector {
	return &collector{o: o, limits: o.Limits, report: newReport(name, o.Limits.Listed), words: map[string]string{}, hours: map[string]string{}}
}

// record counts a record of the file.
func (c *collector) record() error {
	if c.report.Records++; c.report.Records > c.limits.Records {
		return c.tooMany("records")
	}
	return nil
}

func (c *collector) tooMany(what string) error {
	return &fault.Input{Expected: fmt.Sprintf("at most %d %s", c.limits.Records, what), Err: ErrTooMany}
}

// add takes a site, or rejects it where its position or figures are none.
func (c *collector) add(s stations.Site, where at) error {
	c.complete(&s)
	if err := s.Validate(); err != nil {
		c.rejectError(where, err)
		return nil
	}
	if c.stalls += len(s.Stalls); c.stalls > c.limits.Records {
		return c.tooMany("stalls")
	}
	c.sites = append(c.sites, s)
	c.places = append(c.places, where)
	return nil
}

// complete fills what holds for the whole file.
func (c *collector) complete(s *stations.Site) {
	if c.o.Source != "" {
		s.Source = c.o.Source
	}
	if c.o.Licence != "" {
		s.Licence = c.o.Licence
	}
}

func (c *collector) reject(where at, field, found, expected string) {
	c.report.reject(Problem{Where: where.String(), Field: field, Found: found, Reason: "expected " + expected})
}

// rejectError rejects a record for a *fault.Input or any other error.
func (c *collector) rejectError(where at, err error) {
	var bad *fault.Input
	if !errors.As(err, &bad) {
		c.report.reject(Problem{Where: where.String(), Reason: err.Error()})
		return
	}
	reason := "expected " + bad.Expected
	if bad.Expected == "" && bad.Err != nil {
		reason = bad.Err.Error()
	}
	c.report.reject(Problem{Where: where.String(), Field: bad.Field, Found: bad.Found, Reason: reason})
}

func (c *collector) suspect(where at, field, found, reason string) {
	c.report.suspect(Problem{Where: where.String(), Field: field, Found: found, Reason: reason})
}

// mend notes a value that is read otherwise than it stands.
func (c *collector) mend(where at, field, found, reason string) {
	c.report.Mended++
	c.suspect(where, field, found, reason)
}

// finish looks at the sites together and fills the report.
func (c *collector) finish() error {
	if len(c.sites) == 0 {
		return c.nothing()
	}
	c.checkSites()
	c.report.count(c.sites)
	return nil
}

func (c *collector) nothing() error {
	bad := &fault.Input{Expected: "at least one usable station", Err: ErrNothingUsable}
	if len(c.report.Rejected) > 0 {
		bad.Found = fmt.Sprintf("%d rejected, the first at %s", c.report.RejectCount, c.report.Rejected[0])
	}
	return bad
}

// maxWords bounds the table of repeated texts.
const maxWords = 1 << 16

// word returns a text that does not hold on to the record it was cut from, one
// copy for equal texts such as operators.
func (c *collector) word(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	if w, ok := c.words[s]; ok {
		return w
	}
	s = strings.Clone(s)
	if len(c.words) < maxWords && len(s) < 80 {
		c.words[s] = s
	}
	return s
}

// text returns a copy of a text that hardly repeats.
func text(s string) string { return strings.Clone(strings.TrimSpace(s)) }

func valid(fields []string) int {
	for i, f := range fields {
		if !utf8.ValidString(f) {
			return i
		}
	}
	return -1
}

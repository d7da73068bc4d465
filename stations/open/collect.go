package open

import (
	"errors"
	"fmt"
	"slices"
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
	found  siteList
	sites  []stations.Site // those found that hold, when all is read
	places []at            // of the sites
	stalls int
	osm    *osmPlaces // of an OpenStreetMap file
	buf    []byte
	memo
}

// memo remembers what was read once, because tables say the same over and over.
type memo struct {
	words   map[string]string                           // one copy of each text that repeats
	tokens  map[string]stations.ConnectorType           // what each token means
	lists   map[stations.Connector][]stations.Connector // lists of one connector
	stated  map[stallText][]stations.Connector          // what rows say of a stall
	prices  map[priceKey]*stations.Price                // of the own CSV
	valid   map[*stations.Price]error                   // what is wrong with each
	hours   map[string]string                           // what is wrong with each expression
	usWords map[string]usWords                          // words on hours and access
	usPlugs map[usKey][3][]stations.Connector           // plugs by their list and the counts
}

// keep notes what was read once, as long as there is room for it.
func keep[K comparable, V any](seen map[K]V, key K, value V, most int) {
	if len(seen) < most {
		seen[key] = value
	}
}

func newMemo() memo {
	return memo{
		words: map[string]string{}, tokens: map[string]stations.ConnectorType{}, lists: map[stations.Connector][]stations.Connector{},
		stated: map[stallText][]stations.Connector{}, prices: map[priceKey]*stations.Price{}, valid: map[*stations.Price]error{},
		hours: map[string]string{}, usWords: map[string]usWords{}, usPlugs: map[usKey][3][]stations.Connector{},
	}
}

func newCollector(name string, o Options) *collector {
	return &collector{o: o, limits: o.Limits, report: newReport(name, o.Limits.Listed), memo: newMemo()}
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

// add takes a site.
func (c *collector) add(s stations.Site, where at) error {
	if c.found.n >= c.limits.Records {
		return c.tooMany("sites")
	}
	c.complete(&s)
	c.telephone(&s, where)
	c.found.add(s, where)
	return c.counted(len(s.Stalls))
}

// counted keeps the number of stalls within its limit.
func (c *collector) counted(stalls int) error {
	if c.stalls += stalls; c.stalls > c.limits.Records {
		return c.tooMany("bays")
	}
	return nil
}

// settle takes the sites that hold and rejects those whose position or figures
// are none.
func (c *collector) settle() {
	c.sites = make([]stations.Site, 0, c.found.n)
	c.places = make([]at, 0, c.found.n)
	c.found.drain(func(f *foundSite) {
		if err := c.validate(&f.site); err != nil {
			c.rejectError(f.where, err)
			return
		}
		c.sites = append(c.sites, f.site)
		c.places = append(c.places, f.where)
	})
}

// validate is Site.Validate that looks at a price which sites share only once.
func (c *collector) validate(s *stations.Site) error {
	price := s.Price
	s.Price = nil
	err := s.Validate()
	s.Price = price
	if err != nil || price == nil {
		return err
	}
	if err, seen := c.valid[price]; seen {
		return err
	}
	err = price.Validate()
	keep(c.valid, price, err, maxLists)
	return err
}

// complete fills what holds for the whole file.
func (c *collector) complete(s *stations.Site) {
	switch {
	case c.o.Source == "":
	case s.Source == stations.OSM && !strings.Contains(c.o.Source, stations.OSM):
		s.Source = stations.OSM + ", " + c.o.Source
	default:
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
	c.settle()
	if len(c.sites) == 0 {
		return c.nothing()
	}
	c.checkSites()
	c.report.count(c.sites)
	return c.plugless()
}

// manySites is how many sites without one plug are a mistake in reading them
// and no gap in the data.
const manySites = 20

// plugless is the error of a file of many sites and not one plug. A feed of
// status alone names bays without plugs.
func (c *collector) plugless() error {
	status := c.report.Format == OCPI && c.report.Stalls > 0
	if c.report.Sites < manySites || len(c.report.ByConnector) > 0 || status {
		return nil
	}
	return &fault.Input{
		Found:    fmt.Sprintf("%d stations and not one plug", c.report.Sites),
		Expected: plugFields[c.report.Format],
		Err:      ErrNothingUsable,
	}
}

// plugFields say where each format has its plugs.
var plugFields = map[Format]string{
	OwnCSV:     "the plugs in the columns connector, power_kw and stalls, under these names",
	MappedCSV:  "the plugs where the column map's stalls say, or connector among its columns",
	USCSV:      "the plugs in the columns EV Connector Types, EV Level2 EVSE Num and EV DC Fast Count",
	USGeoJSON:  "the plugs in ev_connector_types, ev_level2_evse_num and ev_dc_fast_num",
	FrenchCSV:  "the plugs in the columns prise_type_combo_ccs, prise_type_chademo, prise_type_2 and prise_type_autre",
	OCPI:       "the plugs in evses, under connectors",
	OwnGeoJSON: "the plugs among the properties, under just these names: connector and power_kw, or stalls (own GeoJSON); ev_connector_types beside fuel_type_code (United States table); socket:… (OpenStreetMap)",
	OSMGeoJSON: osmPlugs, OSMJSON: osmPlugs, OSMXML: osmPlugs, OSMPBF: osmPlugs,
}

const osmPlugs = "the plugs in tags such as socket:type2_combo"

// nothing is the error of a file without a usable station: it shows the first
// record that was rejected.
func (c *collector) nothing() error {
	if len(c.report.Rejected) == 0 {
		return &fault.Input{Expected: "at least one usable station", Err: ErrNothingUsable}
	}
	first := c.report.Rejected[0]
	bad := &fault.Input{Where: first.Where, Field: first.Field, Found: first.Found, Err: ErrNothingUsable}
	expected, isExpected := strings.CutPrefix(first.Reason, "expected ")
	if isExpected {
		bad.Expected = expected
	} else {
		bad.Err = fmt.Errorf("%s: %w", first.Reason, bad.Err)
	}
	if n := c.report.RejectCount; n > 1 {
		bad.Err = fmt.Errorf("%w (%d records rejected)", bad.Err, n)
	}
	return bad
}

// stallText is what a row says of one stall: its plugs and their power.
type stallText struct{ plugs, split, power string }

// stall returns the connectors for what a row says of a stall. Equal texts that
// raise no question share them.
func (c *collector) stall(text stallText, read func() []stations.Connector) []stations.Connector {
	if plugs, ok := c.stated[text]; ok {
		return plugs
	}
	questions := c.report.SuspectCount
	plugs := slices.Clip(read())
	if c.report.SuspectCount == questions && len(c.stated) < maxLists {
		c.stated[stallText{strings.Clone(text.plugs), text.split, strings.Clone(text.power)}] = plugs
	}
	return plugs
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

// keep gives a site one copy of its own of the texts that hardly repeat, so
// that it does not hold on to the record they were cut from.
func (c *collector) keep(s *stations.Site) {
	c.buf = c.buf[:0]
	texts := [...]*string{&s.ID, &s.Name, &s.Address, &s.Note}
	for _, t := range texts {
		c.buf = append(c.buf, *t...)
	}
	all := string(c.buf)
	for _, t := range texts {
		n := len(*t)
		*t, all = all[:n], all[n:]
	}
}

func valid(fields []string) int {
	for i, f := range fields {
		if !utf8.ValidString(f) {
			return i
		}
	}
	return -1
}

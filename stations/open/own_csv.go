package open

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/stations"
)

// ownRow is one row of the own CSV.
type ownRow struct {
	site    stations.Site
	price   stations.Price
	priced  bool
	exit    stations.Exit
	hasExit bool
	token   string
	current string
	powerKW float64
	maxA    float64
	maxV    float64
	phases  int
	stalls  int
	stall   string
	group   int
	groupKW float64
}

// ownColumns says where each column of the own CSV goes.
var ownColumns = map[string]func(*ownRow, *collector, string) error{
	"id":         func(r *ownRow, c *collector, s string) error { r.site.ID = s; return nil },
	"name":       func(r *ownRow, c *collector, s string) error { r.site.Name = s; return nil },
	"operator":   func(r *ownRow, c *collector, s string) error { r.site.Operator = c.word(s); return nil },
	"network":    func(r *ownRow, c *collector, s string) error { r.site.Network = c.word(s); return nil },
	"address":    func(r *ownRow, c *collector, s string) error { r.site.Address = s; return nil },
	"phone":      func(r *ownRow, c *collector, s string) error { r.site.Phone = s; return nil },
	"country":    func(r *ownRow, c *collector, s string) error { r.site.Country = c.word(s); return nil },
	"zone":       func(r *ownRow, c *collector, s string) error { r.site.Zone = c.word(s); return zoneName(s) },
	"hours":      func(r *ownRow, c *collector, s string) error { r.site.Hours = c.word(s); return nil },
	"source":     func(r *ownRow, c *collector, s string) error { r.site.Source = c.word(s); return nil },
	"licence":    func(r *ownRow, c *collector, s string) error { r.site.Licence = c.word(s); return nil },
	"note":       func(r *ownRow, c *collector, s string) error { r.site.Note = s; return nil },
	"access":     func(r *ownRow, c *collector, s string) error { return r.site.Access.UnmarshalText([]byte(s)) },
	"status":     func(r *ownRow, c *collector, s string) error { return r.site.Status.UnmarshalText([]byte(s)) },
	"reach":      func(r *ownRow, c *collector, s string) error { return r.site.Reach.UnmarshalText([]byte(s)) },
	"amenities":  func(r *ownRow, c *collector, s string) error { r.site.Amenities = c.list(s); return nil },
	"updated":    func(r *ownRow, c *collector, s string) error { return date(&r.site.Updated, s) },
	"connector":  func(r *ownRow, c *collector, s string) error { r.token = s; return nil },
	"current":    func(r *ownRow, c *collector, s string) error { r.current = strings.ToLower(s); return current(s) },
	"stall":      func(r *ownRow, c *collector, s string) error { r.stall = s; return nil },
	"currency":   func(r *ownRow, c *collector, s string) error { r.price.Currency = c.word(s); return nil },
	"lon":        func(r *ownRow, c *collector, s string) error { return degrees(&r.site.Lon, s, 180) },
	"lat":        func(r *ownRow, c *collector, s string) error { return degrees(&r.site.Lat, s, 90) },
	"exit_lon":   func(r *ownRow, c *collector, s string) error { r.hasExit = true; return degrees(&r.exit.Lon, s, 180) },
	"exit_lat":   func(r *ownRow, c *collector, s string) error { r.hasExit = true; return degrees(&r.exit.Lat, s, 90) },
	"power_kw":   func(r *ownRow, c *collector, s string) error { return positive(&r.powerKW, s) },
	"max_a":      func(r *ownRow, c *collector, s string) error { return positive(&r.maxA, s) },
	"max_v":      func(r *ownRow, c *collector, s string) error { return positive(&r.maxV, s) },
	"group_kw":   func(r *ownRow, c *collector, s string) error { return positive(&r.groupKW, s) },
	"shared_kw":  func(r *ownRow, c *collector, s string) error { return positive(&r.site.SharedKW, s) },
	"detour_m":   func(r *ownRow, c *collector, s string) error { return positive(&r.site.DetourM, s) },
	"detour_s":   func(r *ownRow, c *collector, s string) error { return positive(&r.site.DetourS, s) },
	"per_kwh":    func(r *ownRow, c *collector, s string) error { r.priced = true; return positive(&r.price.PerKWh, s) },
	"per_minute": func(r *ownRow, c *collector, s string) error { r.priced = true; return positive(&r.price.PerMinute, s) },
	"session_fee": func(r *ownRow, c *collector, s string) error {
		r.priced = true
		return positive(&r.price.SessionFee, s)
	},
	"idle_per_minute": func(r *ownRow, c *collector, s string) error {
		r.priced = true
		return positive(&r.price.IdlePerMinute, s)
	},
	"idle_after_minutes": func(r *ownRow, c *collector, s string) error {
		r.priced = true
		return positive(&r.price.IdleAfterMinutes, s)
	},
	"phases": func(r *ownRow, c *collector, s string) error { return whole(&r.phases, s, 0, 3) },
	"stalls": func(r *ownRow, c *collector, s string) error { return whole(&r.stalls, s, 1, maxStalls) },
	"group":  func(r *ownRow, c *collector, s string) error { return whole(&r.group, s, 0, maxStalls) },
}

// maxStalls is the most stalls that one row or feature can stand for.
const maxStalls = 10000

type boundColumn struct {
	index int
	name  string
	set   func(*ownRow, *collector, string) error
}

func (c *collector) readOwnCSV(t *table) error {
	var columns []boundColumn
	for i, name := range t.header {
		folded := foldColumn(name)
		set, known := ownColumns[folded]
		if !known {
			c.report.note("column %q is not one of the own form and was left out", name)
			continue
		}
		columns = append(columns, boundColumn{i, folded, set})
	}
	sites := newGrouping(c)
	var row ownRow
	return t.each(func(fields []string, where at) error {
		row = ownRow{stalls: 1}
		if column, err := row.fill(columns, fields, c); err != nil {
			c.rejectColumn(where, column, err)
			return nil
		}
		return c.addOwnRow(sites, &row, where)
	})
}

func (r *ownRow) fill(columns []boundColumn, fields []string, c *collector) (string, error) {
	for _, col := range columns {
		value := strings.TrimSpace(fields[col.index])
		if value == "" {
			if col.name == "lon" || col.name == "lat" {
				return col.name, &fault.Input{Expected: "degrees"}
			}
			continue
		}
		if err := col.set(r, c, value); err != nil {
			return col.name, err
		}
	}
	return "", nil
}

// finish hangs the price and the exit on the site where the row has them.
func (r *ownRow) finish(c *collector) {
	if r.priced {
		r.site.Price = c.price(r.price)
	}
	if r.hasExit {
		exit := r.exit
		r.site.Exit = &exit
	}
}

// priceKey is a price of the own CSV.
type priceKey struct {
	currency                                         string
	session, perKWh, perMinute, idlePerMinute, after float64
}

// price returns a copy of a price; sites with equal prices share it.
func (c *collector) price(p stations.Price) *stations.Price {
	key := priceKey{p.Currency, p.SessionFee, p.PerKWh, p.PerMinute, p.IdlePerMinute, p.IdleAfterMinutes}
	if shared, ok := c.prices[key]; ok {
		return shared
	}
	keep(c.prices, key, &p, maxLists)
	return &p
}

func (c *collector) rejectColumn(where at, column string, err error) {
	if bad, ok := err.(*fault.Input); ok {
		bad.Field = cmp.Or(bad.Field, column)
		bad.Found = cmp.Or(bad.Found, "nothing")
	}
	c.rejectError(where, err)
}

// addOwnRow joins a row to the site it belongs to.
func (c *collector) addOwnRow(sites *grouping, r *ownRow, where at) error {
	key := ""
	if r.site.ID == "" {
		r.site.ID = positionID(r.site.Lon, r.site.Lat)
		key = r.site.Name + "\x00" + r.site.ID
	}
	if !sites.known(cmp.Or(key, r.site.ID)) {
		r.finish(c)
	}
	s, err := sites.site(key, &r.site, where)
	if err != nil || r.token == "" {
		return err
	}
	plug := c.ownPlug(r.token, r.current, r.powerKW, where)
	plug.MaxA, plug.MaxV, plug.Phases = r.maxA, r.maxV, r.phases
	stall := stations.Stall{ID: r.stall, Group: r.group, GroupKW: r.groupKW}
	return sites.stalls(s, stall, c.single(plug), r.stalls)
}

// ownPlug makes a connector of the own forms and checks its power.
func (c *collector) ownPlug(token, flows string, kw float64, where at) stations.Connector {
	plug := c.plug(token, kw)
	switch {
	case flows == "dc":
		plug.DC = true
	case flows == "ac":
		plug.DC = false
	case plug.Type.Current() == stations.CurrentUnknown && !plug.DC:
		c.suspect(where, "current", token, "ac or dc is not stated: counted as ac")
	}
	return c.powered([]stations.Connector{plug}, kw, where, "power_kw")[0]
}

// positionID names a site that has no ID by where it is.
func positionID(lon, lat float64) string {
	var buf [40]byte
	b := strconv.AppendFloat(buf[:0], lon, 'f', 6, 64)
	return string(strconv.AppendFloat(append(b, ','), lat, 'f', 6, 64))
}

func (c *collector) list(s string) []string {
	var out []string
	for _, w := range strings.Split(s, ";") {
		if w = c.word(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}

func degrees(to *float64, s string, most float64) error {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= -most && v <= most) {
		return &fault.Input{Found: s, Expected: fmt.Sprintf("degrees from -%g to %g with a decimal point", most, most)}
	}
	*to = v
	return nil
}

func positive(to *float64, s string) error {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= 0 && v < 1e9) {
		return &fault.Input{Found: s, Expected: "zero or a positive number with a decimal point and no unit"}
	}
	*to = v
	return nil
}

func whole(to *int, s string, least, most int) error {
	v, err := strconv.Atoi(s)
	if err != nil || v < least || v > most {
		return &fault.Input{Found: s, Expected: fmt.Sprintf("a whole number from %d to %d", least, most)}
	}
	*to = v
	return nil
}

func current(s string) error {
	if s = strings.ToLower(s); s != "ac" && s != "dc" {
		return &fault.Input{Found: s, Expected: "ac or dc"}
	}
	return nil
}

func date(to *time.Time, s string) error {
	for _, layout := range []string{time.DateOnly, time.RFC3339} {
		if t, err := time.Parse(layout, s); err == nil {
			*to = t
			return nil
		}
	}
	return &fault.Input{Found: s, Expected: "a date such as 2026-05-01 or an RFC 3339 time"}
}

// zoneName checks the form of a zone; whether the machine knows it is for
// whoever uses it.
func zoneName(s string) error {
	if strings.ContainsAny(s, " \\") || strings.Contains(s, "..") {
		return &fault.Input{Found: s, Expected: "an IANA time zone such as Europe/Lisbon"}
	}
	return nil
}

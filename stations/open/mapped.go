package open

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
	"ampleway/stations"
)

// mappedColumn is an own column and the register's columns it comes from.
type mappedColumn struct {
	own     string
	from    []int
	numeric bool
	set     func(*ownRow, *collector, string) error
}

// mappedStall is where one stall of a row is described; -1 is no column.
type mappedStall struct {
	connectors, power, count int
	fixed, split             string
	field                    string // name of the column of the power
}

// readMapped reads a CSV file through the column map.
func (c *collector) readMapped(in *bufio.Reader) error {
	m := c.o.Map
	t, err := c.mappedTable(in, m)
	if err != nil {
		return err
	}
	columns, err := m.bindColumns(t)
	if err != nil {
		return err
	}
	stalls, err := m.bindStalls(t)
	if err != nil {
		return err
	}
	sites := newGrouping(c)
	fixed, err := m.fixedRow(c)
	if err != nil {
		return err
	}
	var row ownRow
	return t.each(func(fields []string, where at) error {
		row = fixed
		if column, err := row.fillMapped(c, columns, fields, where); err != nil {
			c.rejectColumn(where, column, err)
			return nil
		}
		return c.addMapped(sites, &row, stalls, fields, where)
	})
}

// mappedTable skips to the header row.
func (c *collector) mappedTable(in *bufio.Reader, m *Map) (*table, error) {
	for line := 1; line < m.Header; line++ {
		if err := skipLine(in, c.limits.RecordBytes); err != nil {
			return nil, &fault.Input{Where: fmt.Sprintf("line %d", line), Expected: fmt.Sprintf("column names on line %d", m.Header), Err: err}
		}
	}
	comma := []rune(m.Separator)
	if len(comma) == 0 {
		first, err := in.Peek(1 << 14)
		if err != nil && err != io.EOF && len(first) == 0 {
			return nil, err
		}
		comma = []rune{separator(string(first))}
	}
	t := c.newTable(in, comma[0])
	t.above = max(0, m.Header-1)
	return t, t.head()
}

func skipLine(in *bufio.Reader, most int) error {
	for n := 0; ; n++ {
		b, err := in.ReadByte()
		switch {
		case err == io.EOF:
			return io.ErrUnexpectedEOF
		case err != nil:
			return err
		case b == '\n':
			return nil
		case n > most:
			return ErrRecordTooLong
		}
	}
}

func (m *Map) bindColumns(t *table) ([]mappedColumn, error) {
	var out []mappedColumn
	for _, own := range sortedKeys(m.Columns) {
		col := mappedColumn{own: own, numeric: slices.Contains(numeric, own), set: ownColumns[own]}
		for _, name := range m.Columns[own] {
			i := t.at(name)
			if i < 0 {
				return nil, t.absent(name)
			}
			col.from = append(col.from, i)
		}
		out = append(out, col)
	}
	return out, nil
}

func (t *table) absent(name string) error {
	return &fault.Input{Where: fmt.Sprintf("line %d", t.above+1), Field: name, Found: strings.Join(t.header, ", "), Expected: "this column, which the column map names", Err: ErrUnknownFormat}
}

func (m *Map) bindStalls(t *table) ([]mappedStall, error) {
	var out []mappedStall
	for _, s := range m.Stalls {
		for n := 1; n <= max(1, s.Repeat); n++ {
			b := mappedStall{fixed: s.Connector, split: s.Split}
			for _, part := range []struct {
				name string
				to   *int
			}{{s.Connectors, &b.connectors}, {s.PowerKW, &b.power}, {s.Count, &b.count}} {
				name := strings.ReplaceAll(part.name, "{n}", strconv.Itoa(n))
				if *part.to = t.at(name); *part.to < 0 && name != "" {
					return nil, t.absent(name)
				}
				if part.name == "" {
					*part.to = -1
				}
			}
			b.field = strings.ReplaceAll(s.PowerKW, "{n}", strconv.Itoa(n))
			out = append(out, b)
		}
	}
	return out, nil
}

// fixedRow is the row that each one begins as.
func (m *Map) fixedRow(c *collector) (ownRow, error) {
	var row ownRow
	for _, own := range sortedKeys(m.Fixed) {
		if err := ownColumns[own](&row, c, m.Fixed[own]); err != nil {
			if bad, ok := err.(*fault.Input); ok {
				bad.Field = "fixed, " + own
			}
			return row, err
		}
	}
	return row, nil
}

// fillMapped fills a row. Only its position must be right; another value that
// is not understood is left out and listed.
func (r *ownRow) fillMapped(c *collector, columns []mappedColumn, fields []string, where at) (string, error) {
	m := c.o.Map
	for _, col := range columns {
		value := cell(fields, col.from[0])
		for _, i := range col.from[1:] {
			value = joined(" ", value, cell(fields, i))
		}
		if value = m.value(col, value); value == "" {
			if col.own == "lon" || col.own == "lat" {
				return col.own, &fault.Input{Expected: "degrees"}
			}
			continue
		}
		err := col.set(r, c, value)
		if err != nil && (col.own == "lon" || col.own == "lat") {
			return col.own, err
		}
		if err != nil {
			c.suspect(where, col.own, value, "not understood: left out")
		}
	}
	r.site.Source = cmp.Or(r.site.Source, m.Source)
	r.site.Licence = cmp.Or(r.site.Licence, m.Licence)
	return "", nil
}

func (c *collector) addMapped(sites *grouping, r *ownRow, stalls []mappedStall, fields []string, where at) error {
	m := c.o.Map
	key := m.groupKey(r, where)
	if r.site.ID == "" {
		r.site.ID = key
	}
	if !sites.known(key) {
		r.finish(c)
	}
	s, err := sites.site(key, &r.site, where)
	if err != nil {
		return err
	}
	if r.token != "" {
		plug := c.ownPlug(r.token, r.current, r.powerKW, where)
		return sites.stalls(s, stations.Stall{ID: r.stall}, c.single(plug), max(1, r.stalls))
	}
	for _, b := range stalls {
		plugs, n, ok := c.mappedPlugs(b, fields, where)
		if !ok {
			continue
		}
		if err := sites.stalls(s, stations.Stall{}, plugs, n); err != nil {
			return err
		}
	}
	return nil
}

// groupKey names the site of a row: the columns of group, its ID, or the line.
func (m *Map) groupKey(r *ownRow, where at) string {
	if len(m.Group) == 0 {
		return cmp.Or(r.site.ID, where.String())
	}
	var parts []string
	for _, own := range m.Group {
		switch own {
		case "lon", "lat":
			parts = append(parts, positionID(r.site.Lon, r.site.Lat))
		case "id":
			parts = append(parts, r.site.ID)
		case "name":
			parts = append(parts, r.site.Name)
		case "operator":
			parts = append(parts, r.site.Operator)
		case "network":
			parts = append(parts, r.site.Network)
		case "address":
			parts = append(parts, r.site.Address)
		}
	}
	return strings.Join(parts, "|")
}

// mappedPlugs reads one stall of a row; ok is false where there is none.
func (c *collector) mappedPlugs(b mappedStall, fields []string, where at) (plugs []stations.Connector, n int, ok bool) {
	m := c.o.Map
	words := cell(fields, b.connectors)
	n = 1
	if b.fixed != "" {
		words = b.fixed
	}
	if b.count >= 0 {
		v := m.number(cell(fields, b.count))
		if v == "" {
			return nil, 0, false
		}
		if err := whole(&n, v, 0, maxStalls); err != nil {
			c.suspect(where, "count", v, "not a number of bays: left out")
			return nil, 0, false
		}
		if n == 0 {
			return nil, 0, false
		}
	}
	power := cell(fields, b.power)
	plugs = c.stall(stallText{words, b.split, power}, func() []stations.Connector { return c.mappedStall(b, words, power, where) })
	return plugs, n, len(plugs) > 0
}

// mappedStall reads the plugs and the power of one stall.
func (c *collector) mappedStall(b mappedStall, words, power string, where at) []stations.Connector {
	m := c.o.Map
	tokens := []string{words}
	if b.split != "" {
		tokens = strings.FieldsFunc(words, func(r rune) bool { return strings.ContainsRune(b.split, r) })
	}
	var plugs []stations.Connector
	for _, token := range tokens {
		if token = strings.TrimSpace(token); token == "" {
			continue
		}
		if w, ok := m.Words["connector"][token]; ok {
			token = w
		}
		plugs = append(plugs, c.plug(token, 0))
	}
	if len(plugs) == 0 {
		if power != "" && power != "0" {
			c.suspect(where, b.field, power, "a power without a connector: left out")
		}
		return nil
	}
	if power == "" {
		return plugs
	}
	kw, read := powers(m.number(power))
	if !read || len(kw) != 1 || kw[0] <= 0 {
		c.suspect(where, b.field, power, "not a power: power unknown")
		return plugs
	}
	for i := range plugs {
		plugs[i].DC = plugs[i].DC || plugs[i].Type.Current() == stations.CurrentUnknown && kw[0] > maxAC
	}
	return c.powered(plugs, kw[0], where, b.field)
}

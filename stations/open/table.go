package open

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// table reads the rows of a CSV file (RFC 4180, any separator).
type table struct {
	c       *collector
	csv     *csv.Reader
	in      *bufio.Reader // what csv reads
	guard   *recordGuard
	header  []string
	above   int            // lines above the header
	line    int            // on which the last row began, below those
	columns map[string]int // by folded name
}

func (c *collector) newTable(in *bufio.Reader, comma rune) *table {
	t := &table{c: c}
	t.guard = &recordGuard{r: in, limit: c.limits.RecordBytes, fail: func() error {
		return &fault.Input{Where: fmt.Sprintf("after line %d", t.line+t.above), Expected: fmt.Sprintf("a row of at most %d bytes (is a quote left open?)", c.limits.RecordBytes), Err: ErrRecordTooLong}
	}}
	t.in = bufio.NewReaderSize(t.guard, 1<<16)
	t.csv = csv.NewReader(t.in)
	t.csv.Comma = comma
	t.csv.FieldsPerRecord = -1
	t.csv.ReuseRecord = true
	return t
}

// head reads the header row.
func (t *table) head() error {
	fields, err := t.csv.Read()
	if err == io.EOF {
		return &fault.Input{Where: fmt.Sprintf("line %d", t.above+1), Found: "the end of the file", Expected: "a row of column names", Err: ErrNothingUsable}
	}
	if err != nil {
		return t.broken(err)
	}
	t.columns = make(map[string]int, len(fields))
	for i, f := range fields {
		t.header = append(t.header, strings.Clone(f))
		name := foldColumn(f)
		if _, twice := t.columns[name]; twice && name != "" {
			return &fault.Input{Where: "line 1", Field: strings.TrimSpace(f), Expected: "each column once", Err: ErrSyntax}
		}
		t.columns[name] = i
	}
	return nil
}

// next gives the next row that can be read; the others are rejected.
func (t *table) next() ([]string, at, error) {
	for {
		t.guard.next()
		fields, err := t.csv.Read()
		var bad *csv.ParseError
		switch {
		case err == io.EOF:
			return nil, at{}, io.EOF
		case errors.As(err, &bad):
			if err := t.rejectQuote(bad); err != nil {
				return nil, at{}, err
			}
			continue
		case err != nil:
			return nil, at{}, err
		}
		if len(fields) == 1 && strings.TrimSpace(fields[0]) == "" {
			continue
		}
		t.line, _ = t.csv.FieldPos(0)
		where := at{unit: "line", n: int64(t.line + t.above)}
		if err := t.c.record(); err != nil {
			return nil, at{}, err
		}
		if t.usable(fields, where) {
			return fields, where, nil
		}
	}
}

// each hands out the rows that can be read.
func (t *table) each(visit func(fields []string, where at) error) error {
	for {
		fields, where, err := t.next()
		if err == io.EOF {
			return nil
		}
		if err == nil {
			err = visit(fields, where)
		}
		if err != nil {
			return err
		}
	}
}

func (t *table) usable(fields []string, where at) bool {
	if len(fields) != len(t.header) {
		t.c.reject(where, "", strconv.Itoa(len(fields))+" fields", fmt.Sprintf("%d, as in the header", len(t.header)))
		return false
	}
	if i := valid(fields); i >= 0 {
		t.c.reject(where, t.header[i], fields[i], "UTF-8 (name the encoding in a column map)")
		return false
	}
	return true
}

// rejectQuote rejects a row with a wrong quote. A quote that stays open until
// the end of the file breaks it: nobody knows how many rows it swallowed.
func (t *table) rejectQuote(bad *csv.ParseError) error {
	if err := t.c.record(); err != nil {
		return err
	}
	if _, err := t.in.Peek(1); err == io.EOF && bad.StartLine != bad.Line {
		return t.broken(bad)
	}
	where := at{unit: "line", n: int64(bad.StartLine + t.above)}
	t.c.reject(where, fmt.Sprintf("column %d", bad.Column), "a stray quote", `quotes around whole fields, doubled inside`)
	return nil
}

func (t *table) broken(err error) error {
	var bad *csv.ParseError
	if !errors.As(err, &bad) {
		return err
	}
	return &fault.Input{Where: fmt.Sprintf("line %d", bad.StartLine+t.above), Found: "a quote that is not closed", Expected: `quotes around whole fields, doubled inside`, Err: ErrSyntax}
}

// at returns the column of a name, or -1.
func (t *table) at(name string) int {
	if i, ok := t.columns[foldColumn(name)]; ok {
		return i
	}
	return -1
}

// has reports whether all the columns are there.
func (t *table) has(names ...string) bool {
	return !slices.ContainsFunc(names, func(name string) bool { return t.at(name) < 0 })
}

// foldColumn ignores case and the kind and number of spaces, hard ones too.
func foldColumn(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// cell returns a field by column, "" where the column is absent.
func cell(fields []string, column int) string {
	if column < 0 || column >= len(fields) {
		return ""
	}
	return strings.TrimSpace(fields[column])
}

// readTable finds out which register a CSV file comes from.
func (c *collector) readTable(in *bufio.Reader) error {
	if c.o.Map != nil {
		c.report.Format = MappedCSV
		return c.readMapped(in)
	}
	first, err := in.Peek(1 << 14)
	if err != nil && err != io.EOF && len(first) == 0 {
		return err
	}
	t := c.newTable(in, separator(string(first)))
	if err := t.head(); err != nil {
		return err
	}
	switch {
	case t.has("Fuel Type Code", "EV Connector Types", "Latitude", "Longitude"):
		c.report.Format = USCSV
		return c.readUS(t)
	case t.has("id_pdc_itinerance", "puissance_nominale", "coordonneesXY"):
		c.report.Format = FrenchCSV
		return c.readFrench(t)
	case t.has("lon", "lat"):
		c.report.Format = OwnCSV
		return c.readOwnCSV(t)
	}
	return &fault.Input{Where: "line 1", Found: strings.Join(t.header, ", "), Expected: "a header with the columns lon and lat, or that of a known register; any other CSV needs a column map (ampleway stations map says how to write one)", Err: ErrUnknownFormat}
}

// separator is the most frequent one outside quotes in the first line.
func separator(text string) rune {
	line, _, _ := strings.Cut(text, "\n")
	best, most := ',', 0
	for _, sep := range []rune{',', ';', '\t', '|'} {
		n, quoted := 0, false
		for _, r := range line {
			switch {
			case r == '"':
				quoted = !quoted
			case r == sep && !quoted:
				n++
			}
		}
		if n > most {
			best, most = sep, n
		}
	}
	return best
}

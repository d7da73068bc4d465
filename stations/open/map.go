package open

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

// Map says how the columns of any register's CSV file become sites, so that it
// is read without code. It is written as YAML:
//
//	source: Register of charging points   # name of the dataset
//	licence: CC BY 4.0
//	encoding: windows-1252                # utf-8 if left out; or iso-8859-1, iso-8859-15
//	separator: ";"                        # found from the header if left out; "\t" is a tab
//	decimal: ","                          # "." if left out
//	header: 11                            # line of the column names, 1 if left out
//	date: "02.01.06"                      # Go layout of "updated", a date as in own CSV if left out
//	columns:                              # own CSV column: the register's column, or several to join
//	  operator: Betreiber
//	  address: [Straße, Hausnummer, Postleitzahl, Ort]
//	  lat: Breitengrad
//	  lon: Längengrad
//	fixed:                                # own CSV column: the same value on each row
//	  country: DE
//	group: [lat, lon, operator]           # rows alike in these are one site; each row one if left out
//	stalls:                               # how a row's stalls are found
//	  - repeat: 4                         # {n} below runs from 1 to this
//	    connectors: Steckertypen{n}       # column with the connectors of one stall
//	    split: ","                        # between several in one cell
//	    power_kw: P{n} [kW]               # column with the stall's power
//	  - connector: CCS2                   # or a fixed connector ...
//	    count: Number of CCS points       # ... and the column that says how many such stalls
//	words:                                # the register's words in ours, by own CSV column
//	  connector:
//	    AC Steckdose Typ 2: Type 2
//	  access:
//	    öffentlich: public
//
// Column names match without regard to case and to the kind and number of
// spaces.
type Map struct {
	Source    string                       `yaml:"source"`
	Licence   string                       `yaml:"licence"`
	Encoding  string                       `yaml:"encoding"`
	Separator string                       `yaml:"separator"`
	Decimal   string                       `yaml:"decimal"`
	Header    int                          `yaml:"header"`
	Date      string                       `yaml:"date"`
	Columns   map[string]Columns           `yaml:"columns"`
	Fixed     map[string]string            `yaml:"fixed"`
	Group     []string                     `yaml:"group"`
	Stalls    []MapStalls                  `yaml:"stalls"`
	Words     map[string]map[string]string `yaml:"words"`
}

// Columns are one or several columns of a register; the texts of several are
// joined by spaces.
type Columns []string

// UnmarshalYAML reads a text or a list.
func (c *Columns) UnmarshalYAML(unmarshal func(any) error) error {
	var one string
	if unmarshal(&one) == nil {
		*c = Columns{one}
		return nil
	}
	var list []string
	err := unmarshal(&list)
	*c = list
	return err
}

// MapStalls says where a row describes stalls.
type MapStalls struct {
	Repeat     int    `yaml:"repeat"`
	Connectors string `yaml:"connectors"`
	Split      string `yaml:"split"`
	Connector  string `yaml:"connector"`
	PowerKW    string `yaml:"power_kw"`
	Count      string `yaml:"count"`
}

// numeric are the own columns whose decimal sign the map tells.
var numeric = []string{"lon", "lat", "power_kw", "max_a", "max_v", "shared_kw", "group_kw", "per_kwh", "per_minute", "session_fee", "idle_per_minute", "idle_after_minutes", "detour_m", "detour_s", "exit_lon", "exit_lat"}

// groupable are the own columns that can tell sites apart.
var groupable = []string{"id", "name", "operator", "network", "address", "lon", "lat"}

// ReadMap reads a column map. An unknown key, an unknown own column and a map
// without lon and lat are errors that say where.
func ReadMap(r io.Reader, name string) (*Map, error) {
	var m Map
	if err := settings.Read(r, name, "a column map", &m); err != nil {
		return nil, err
	}
	if err := m.check(); err != nil {
		err.File = name
		return nil, err
	}
	return &m, nil
}

func (m *Map) check() *fault.Input {
	for _, list := range [][]string{sortedKeys(m.Columns), sortedKeys(m.Fixed), m.Group} {
		for _, own := range list {
			if _, ok := ownColumns[own]; !ok {
				return &fault.Input{Field: own, Expected: "a column of the own CSV"}
			}
		}
	}
	for _, own := range m.Group {
		if !slices.Contains(groupable, own) {
			return &fault.Input{Field: "group", Found: own, Expected: "some of " + strings.Join(groupable, ", ")}
		}
	}
	for _, own := range sortedKeys(m.Columns) {
		if len(m.Columns[own]) == 0 {
			return &fault.Input{Field: own, Expected: "a column of the register or a list of some"}
		}
	}
	if len(m.Columns["lon"]) != 1 || len(m.Columns["lat"]) != 1 {
		return &fault.Input{Field: "columns", Expected: "one column each for lon and lat"}
	}
	for i, s := range m.Stalls {
		if (s.Connectors == "") == (s.Connector == "") || s.Repeat < 0 || s.Repeat > 100 {
			return &fault.Input{Field: fmt.Sprintf("stalls, entry %d", i+1), Expected: "either connectors or connector, and repeat from 1 to 100"}
		}
	}
	if m.Decimal != "" && m.Decimal != "." && m.Decimal != "," || len([]rune(m.Separator)) > 1 || m.Header < 0 {
		return &fault.Input{Field: "separator, decimal, header", Found: fmt.Sprintf("%q, %q, %d", m.Separator, m.Decimal, m.Header), Expected: `one character, "." or ",", a line number`}
	}
	return nil
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// number gives a figure with a decimal point. With decimal commas, points are
// between thousands where a comma follows.
func (m *Map) number(s string) string {
	if m.Decimal == "," && strings.Contains(s, ",") {
		return strings.Replace(strings.ReplaceAll(s, ".", ""), ",", ".", 1)
	}
	return s
}

// value gives an own column's value in our words.
func (m *Map) value(col mappedColumn, s string) string {
	if w, ok := m.Words[col.own][s]; ok {
		return w
	}
	if col.numeric {
		return m.number(s)
	}
	if col.own == "updated" && m.Date != "" && s != "" {
		if t, err := time.Parse(m.Date, s); err == nil {
			return t.Format(time.DateOnly)
		}
	}
	return s
}

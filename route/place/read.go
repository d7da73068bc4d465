package place

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"ampleway/data/fault"
)

// mostPlaces bounds a list; the places of the whole earth with a thousand
// people or more are some 150,000.
const mostPlaces = 2_000_000

// maxBytes bounds a list's file.
const maxBytes = 512 << 20

// Read reads a list; GeoJSON is told by its first character, anything else
// is a table. The name stands in errors, which are *fault.Input.
func Read(r io.Reader, name string) (*List, error) {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	in := bufio.NewReaderSize(limited, 1<<20)
	if mark, _ := in.Peek(3); string(mark) == "\xef\xbb\xbf" {
		if _, err := in.Discard(3); err != nil {
			return nil, &fault.Input{File: name, Err: err}
		}
	}
	l, fail := &List{}, (*fault.Input)(nil)
	if first, _ := in.Peek(1); string(first) == "{" {
		fail = l.readGeoJSON(in)
	} else {
		fail = l.readTable(in)
	}
	switch {
	case limited.N == 0:
		fail = &fault.Input{Found: "more", Expected: fmt.Sprintf("at most %d MB", maxBytes>>20)}
	case fail == nil && len(l.places) == 0:
		fail = &fault.Input{Found: "no place", Expected: "a table as GeoNames has it, or GeoJSON with named points"}
	}
	if fail != nil {
		fail.File = name
		return nil, fail
	}
	return l, nil
}

// Columns of the table.
const (
	columnName       = 1
	columnASCII      = 2
	columnOthers     = 3
	columnLat        = 4
	columnLon        = 5
	columnCountry    = 8
	columnRegion     = 10
	columnPopulation = 14
	columns          = 19
)

func (l *List) readTable(in io.Reader) *fault.Input {
	scanner := bufio.NewScanner(in)
	scanner.Buffer(nil, 1<<20)
	line := 0
	for scanner.Scan() {
		line++
		if strings.TrimSpace(scanner.Text()) == "" {
			continue
		}
		if err := l.addRow(strings.Split(scanner.Text(), "\t")); err != nil {
			err.Where = fmt.Sprintf("line %d", line)
			return err
		}
		if len(l.places) > mostPlaces {
			return tooMany()
		}
	}
	if err := scanner.Err(); err != nil {
		return &fault.Input{Where: fmt.Sprintf("line %d", line+1), Expected: "a line of at most 1 MB", Err: err}
	}
	return nil
}

func (l *List) addRow(row []string) *fault.Input {
	if len(row) != columns {
		return &fault.Input{Found: fmt.Sprintf("%d columns", len(row)), Expected: fmt.Sprintf("%d columns parted by tabs, as GeoNames has them", columns)}
	}
	lat, errLat := strconv.ParseFloat(row[columnLat], 64)
	if errLat != nil {
		return &fault.Input{Field: "latitude", Found: quoted(row[columnLat]), Expected: "decimal degrees"}
	}
	lon, errLon := strconv.ParseFloat(row[columnLon], 64)
	if errLon != nil {
		return &fault.Input{Field: "longitude", Found: quoted(row[columnLon]), Expected: "decimal degrees"}
	}
	if err := onEarth(lon, lat); err != nil {
		return err
	}
	population := 0
	if row[columnPopulation] != "" {
		n, err := strconv.Atoi(row[columnPopulation])
		if err != nil || n < 0 {
			return &fault.Input{Field: "population", Found: quoted(row[columnPopulation]), Expected: "a whole number"}
		}
		population = n
	}
	p := Place{Name: row[columnName], Country: row[columnCountry], Region: row[columnRegion], Population: population, At: orb.Point{lon, lat}}
	if p.Name == "" {
		return &fault.Input{Field: "name", Found: "nothing", Expected: "a name"}
	}
	l.add(p, append(strings.Split(row[columnOthers], ","), row[columnASCII])...)
	return nil
}

func onEarth(lon, lat float64) *fault.Input {
	if !(math.Abs(lat) <= 90) {
		return &fault.Input{Field: "latitude", Found: strconv.FormatFloat(lat, 'f', -1, 64), Expected: "degrees within ±90"}
	}
	if !(math.Abs(lon) <= 180) {
		return &fault.Input{Field: "longitude", Found: strconv.FormatFloat(lon, 'f', -1, 64), Expected: "degrees within ±180"}
	}
	return nil
}

func tooMany() *fault.Input {
	return &fault.Input{Found: "more", Expected: fmt.Sprintf("at most %d places", mostPlaces)}
}

// collection is what a list needs of GeoJSON.
type collection struct {
	Type     string `json:"type"`
	Features []struct {
		Geometry *struct {
			Type        string          `json:"type"`
			Coordinates json.RawMessage `json:"coordinates"`
		} `json:"geometry"`
		Properties struct {
			Name       any `json:"name"`
			Country    any `json:"country"`
			Region     any `json:"region"`
			Population any `json:"population"`
		} `json:"properties"`
	} `json:"features"`
}

func (l *List) readGeoJSON(in io.Reader) *fault.Input {
	content, err := io.ReadAll(in)
	if err != nil {
		return &fault.Input{Expected: "a complete file", Err: err}
	}
	var c collection
	if err := json.Unmarshal(content, &c); err != nil {
		fail := &fault.Input{Expected: "a GeoJSON FeatureCollection", Err: err}
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			fail.Where = fmt.Sprintf("line %d", 1+bytes.Count(content[:min(int(syntax.Offset), len(content))], []byte("\n")))
		}
		return fail
	}
	if c.Type != "FeatureCollection" {
		return &fault.Input{Field: "type", Found: quoted(c.Type), Expected: "FeatureCollection"}
	}
	for i, f := range c.Features {
		name, named := f.Properties.Name.(string)
		if f.Geometry == nil || f.Geometry.Type != "Point" || !named || name == "" {
			continue
		}
		var at []float64
		where := fmt.Sprintf("feature %d", i+1)
		if json.Unmarshal(f.Geometry.Coordinates, &at) != nil || len(at) < 2 {
			return &fault.Input{Where: where, Field: "coordinates", Found: string(f.Geometry.Coordinates), Expected: "longitude and latitude"}
		}
		if err := onEarth(at[0], at[1]); err != nil {
			err.Where = where
			return err
		}
		p := Place{Name: name, At: orb.Point{at[0], at[1]}}
		p.Country, _ = f.Properties.Country.(string)
		p.Region, _ = f.Properties.Region.(string)
		if people, ok := f.Properties.Population.(float64); ok && people > 0 && people < 1e11 {
			p.Population = int(people)
		}
		l.add(p)
		if len(l.places) > mostPlaces {
			return tooMany()
		}
	}
	return nil
}

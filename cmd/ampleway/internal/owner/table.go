package owner

import (
	"fmt"
	"os"
	"strings"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/tables"
)

// FromTables fills the figures that are still missing from the one car that
// the text finds in each table: one text for all tables, or one for each. The
// words say what was taken.
//
// The error is a *fault.Input when a table cannot be read or the text finds no
// car or several.
func FromTables(paths, texts []string, f *energy.OwnerFigures) (words []string, err error) {
	for i, path := range paths {
		entry, err := find(path, texts[min(i, len(texts)-1)])
		if err != nil {
			return nil, err
		}
		words = append(words, fmt.Sprintf("%s (%s, line %d): %s", entry.Name(), path, entry.Line, strings.Join(entry.Known(), "; ")))
		fill(f, entry)
	}
	return words, nil
}

// Lacks names what no table has and the figures do not have yet.
func Lacks(f *energy.OwnerFigures) []string {
	var out []string
	if f.UsableKWh == 0 {
		out = append(out, "usable kWh")
	}
	if f.PeakKW == 0 {
		out = append(out, "peak DC kW")
	}
	if f.Minutes10to80 == 0 {
		out = append(out, "10-80 % minutes")
	}
	return out
}

func find(path, text string) (*tables.Entry, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, &fault.Input{File: path, Expected: "a table that can be read", Err: err}
	}
	defer file.Close()
	table, err := tables.Read(file, path)
	if err != nil {
		return nil, err
	}
	found := table.Find(text)
	switch len(found) {
	case 0:
		return nil, &fault.Input{File: path, Field: "find", Found: text, Expected: "words that one car has in its year, make, model, drive or test vehicle"}
	case 1:
		return &found[0], nil
	}
	return nil, &fault.Input{File: path, Field: "find", Found: text, Expected: fmt.Sprintf("words that only one car has; %d have these:%s", len(found), listed(found))}
}

func listed(entries []tables.Entry) string {
	const most = 12
	var b strings.Builder
	for i, e := range entries {
		if i == most {
			fmt.Fprintf(&b, "\n  and %d more", len(entries)-most)
			break
		}
		fmt.Fprintf(&b, "\n  %s %s %s", e.Name(), e.Drive, e.VehicleID)
	}
	return b.String()
}

// fill prefers the highway test to the label, since a car for long trips must
// be right on the highway. What the owner rated it on stands.
func fill(f *energy.OwnerFigures, e *tables.Entry) {
	if f.Name == "" {
		f.Name = e.Name()
	}
	if e.HasRoadLoad() {
		f.CoastDown = e.RoadLoad()
		if f.MassKg == 0 {
			f.MassKg = e.MassKg()
		}
	}
	known := f.RangeKm != 0 || f.OutletKWhPer100km != 0
	label := energy.LabelFigures{RangeKm: e.RangeKm, OutletKWhPer100km: e.RatedKWhPer100km}
	highway := e.MeasuredKWhPer100km(tables.HWFET)
	switch {
	case f.Rating == energy.RatingUS && !known:
		f.RangeKm, f.OutletKWhPer100km = label.RangeKm, label.OutletKWhPer100km
	case f.Rating == "" && !known && highway > 0:
		f.Rating, f.OutletKWhPer100km = energy.RatingHighway, highway
		f.Label = label
	case f.Rating == energy.RatingHighway && label.RangeKm != 0:
		f.Label = label
	}
}

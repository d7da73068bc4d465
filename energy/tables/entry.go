package tables

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampleway/energy"
)

// Conversions; the gasoline equivalent is the EPA's (40 CFR 600.002).
const (
	kWhPerGallon   = 33.705
	kilogramPerLb  = 0.45359237 // exact
	kmPerMile      = 1.609344   // exact
	wattPerHP      = 745.69987158227022
	mpgeFrom       = 45.0 // at and above: MPGe; below: kWh per 100 mi
	leastPlausible = 10.0 // below: neither
)

// Kind is one of the two tables.
type Kind string

// The tables.
const (
	TestCars    Kind = "EPA test car list"
	FuelEconomy Kind = "fuel economy table"
)

// Entry is what one table knows of one car. A zero figure is one the table
// does not have.
type Entry struct {
	Kind   Kind
	Source string // file name
	Line   int    // of its first row
	Year   int    // model year
	Make   string
	Model  string
	Drive  string // driven wheels, in the table's words

	// Of the test car list.
	VehicleID    string // test vehicle and configuration
	TestWeightLb float64
	ALbf         float64 // road load A + B v + C v² in lbf, v in mph
	BLbfPerMPH   float64
	CLbfPerMPH2  float64
	PowerKW      float64 // rated power of the motors
	Tests        []Test

	// Of the fuel economy table: rated, that is after the adjustment to real
	// roads, with charging losses (at the outlet).
	RangeKm            float64
	CityKWhPer100km    float64
	HighwayKWhPer100km float64
	RatedKWhPer100km   float64 // city and highway combined
	UDDSKWhPer100km    float64 // before the adjustment, where the table has it
	HWFETKWhPer100km   float64
}

// Cycle is what was driven in a test.
type Cycle string

// Cycles of the test car list.
const (
	UDDS    Cycle = "UDDS"
	HWFET   Cycle = "HWFET"
	US06    Cycle = "US06"
	SC03    Cycle = "SC03"
	ColdFTP Cycle = "FTP at 20 °F"
)

// Test is one measured run: energy at the outlet, charging losses included,
// before any adjustment to real roads.
type Test struct {
	Cycle       Cycle
	Number      string // of the test
	KWhPer100km float64
	EnteredAs   string // "MPGe" or "kWh/100 mi": what the figure in the table was
}

// Name is year, make and model in one line.
func (e *Entry) Name() string {
	model := strings.TrimSpace(strings.TrimPrefix(e.Model, e.Make+" "))
	return strings.TrimSpace(fmt.Sprintf("%d %s %s", e.Year, e.Make, model))
}

// HasRoadLoad reports whether the entry has coast-down coefficients and the
// weight they belong to.
func (e *Entry) HasRoadLoad() bool { return e.TestWeightLb > 0 && e.ALbf > 0 }

// RoadLoad returns the coast-down form of the entry for a car, with all of C
// taken for air drag; nil when HasRoadLoad is false.
func (e *Entry) RoadLoad() *energy.CoastDown {
	if !e.HasRoadLoad() {
		return nil
	}
	return energy.CoastDownUS(e.ALbf, e.BLbfPerMPH, e.CLbfPerMPH2, e.TestWeightLb)
}

// MassKg returns the equivalent test weight in kg: the empty car with 136 kg
// (300 lb), rounded to the classes of 40 CFR 1066.805; 0 when unknown.
func (e *Entry) MassKg() float64 { return e.TestWeightLb * kilogramPerLb }

// MeasuredKWhPer100km returns the median of the runs of a cycle, at the
// outlet and unadjusted; 0 when there is none.
func (e *Entry) MeasuredKWhPer100km(c Cycle) float64 {
	switch {
	case e.Kind == FuelEconomy && c == UDDS:
		return e.UDDSKWhPer100km
	case e.Kind == FuelEconomy && c == HWFET:
		return e.HWFETKWhPer100km
	}
	var runs []float64
	for _, t := range e.Tests {
		if t.Cycle == c {
			runs = append(runs, t.KWhPer100km)
		}
	}
	if len(runs) == 0 {
		return 0
	}
	slices.Sort(runs)
	return (runs[(len(runs)-1)/2] + runs[len(runs)/2]) / 2
}

// Known lists in words, with values and units, what the entry knows.
func (e *Entry) Known() []string {
	var out []string
	add := func(value float64, format string) {
		if value != 0 {
			out = append(out, fmt.Sprintf(format, value))
		}
	}
	if e.HasRoadLoad() {
		out = append(out, fmt.Sprintf("coast-down A %g lbf, B %g lbf/mph, C %g lbf/mph²", e.ALbf, e.BLbfPerMPH, e.CLbfPerMPH2))
		add(e.MassKg(), "test mass %.0f kg")
	}
	add(e.PowerKW, "rated power %.0f kW")
	add(e.RangeKm, "rated range %.0f km")
	add(e.RatedKWhPer100km, "rated %.1f kWh/100 km at the outlet")
	for _, c := range []Cycle{UDDS, HWFET, US06, SC03, ColdFTP} {
		add(e.MeasuredKWhPer100km(c), string(c)+" %.1f kWh/100 km at the outlet, unadjusted")
	}
	return out
}

// Find returns the entries whose year, make, model and drive hold every word
// of text, whatever the case: best first. An entry whose model is just the
// words comes before one that has more, otherwise the order is that of the
// tables. An empty text finds nothing.
func Find(entries []Entry, text string) []Entry {
	words := strings.Fields(strings.ToLower(text))
	if len(words) == 0 {
		return nil
	}
	var found []Entry
	for _, e := range entries {
		if e.holds(words) {
			found = append(found, e)
		}
	}
	slices.SortStableFunc(found, func(a, b Entry) int { return cmp.Compare(len(a.Name()), len(b.Name())) })
	return found
}

func (e *Entry) holds(words []string) bool {
	hay := strings.ToLower(fmt.Sprintf("%d %s %s %s %s", e.Year, e.Make, e.Model, e.Drive, e.VehicleID))
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(hay, w) })
}

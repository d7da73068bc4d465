package tables

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Table is one file: its electric cars, and what was passed over.
type Table struct {
	Kind     Kind
	Entries  []Entry
	Rows     int      // data rows read
	Electric int      // of them of electric cars
	Warnings []string // figures left out, with line and reason
}

// Find returns the table's entries that hold every word of text; see Find.
func (t *Table) Find(text string) []Entry { return Find(t.Entries, text) }

// Read reads one of the two tables from CSV (RFC 4180, with or without a
// byte-order mark); the header tells which. Rows of cars that burn anything
// are counted and passed over. In the test car list the runs of one vehicle
// in one configuration with one set of coefficients make one entry.
//
// The error is a *fault.Input that names the line and the column.
func Read(r io.Reader, name string) (*Table, error) {
	in := &input{name: name, csv: csv.NewReader(r)}
	in.csv.ReuseRecord = true
	if err := in.header(); err != nil {
		return nil, err
	}
	switch {
	case in.has(testCarColumns):
		return in.testCars()
	case in.has(fuelEconomyColumns):
		return in.fuelEconomy()
	}
	return nil, &fault.Input{
		File: name, Where: "line 1", Found: strings.Join(in.names, ","),
		Expected: fmt.Sprintf("the columns of the EPA test car list (%s ...) or of the fuel economy table (%s ...)",
			strings.Join(testCarColumns[:3], ", "), strings.Join(fuelEconomyColumns[:3], ", ")),
	}
}

type input struct {
	name   string
	csv    *csv.Reader
	names  []string
	column map[string]int
	row    []string
	line   int
	err    error // first bad figure of the row
}

func (in *input) header() error {
	head, err := in.csv.Read()
	if err != nil {
		return fault.CSV(in.name, err)
	}
	in.column = map[string]int{}
	for i, h := range head {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		in.names = append(in.names, h)
		if _, twice := in.column[h]; !twice {
			in.column[h] = i
		}
	}
	return nil
}

func (in *input) has(columns []string) bool {
	for _, c := range columns {
		if _, ok := in.column[c]; !ok {
			return false
		}
	}
	return true
}

// next moves to the following row; false at the end or on an error.
func (in *input) next() bool {
	row, err := in.csv.Read()
	if err != nil {
		if !errors.Is(err, io.EOF) {
			in.err = fault.CSV(in.name, err)
		}
		return false
	}
	in.row = row
	in.line, _ = in.csv.FieldPos(0)
	return true
}

func (in *input) text(column string) string {
	i, ok := in.column[column]
	if !ok {
		return ""
	}
	return strings.TrimSpace(in.row[i])
}

// number returns a finite figure; 0 when the cell is blank or absent.
func (in *input) number(column string) float64 {
	s := in.text(column)
	if s == "" {
		return 0
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e9 {
		if in.err == nil {
			in.err = &fault.Input{File: in.name, Where: "line " + strconv.Itoa(in.line), Field: column, Found: s, Expected: "a number or nothing"}
		}
		return 0
	}
	return x
}

const (
	colFuel      = "Test Fuel Type Description"
	colWeight    = "Equivalent Test Weight (lbs.)"
	colCylinders = "# of Cylinders and Rotors"
)

var testCarColumns = []string{
	"Represented Test Veh Make", "Represented Test Veh Model", colWeight, colFuel,
	"Test Procedure Cd", "RND_ADJ_FE", "Target Coef A (lbf)", "Target Coef B (lbf/mph)", "Target Coef C (lbf/mph**2)",
}

// procedures of the test car list that drive one cycle.
var procedures = map[string]Cycle{"81": UDDS, "84": HWFET, "85": SC03, "83": US06, "86": ColdFTP, "2": UDDS, "3": HWFET, "90": US06, "95": SC03}

func (in *input) testCars() (*Table, error) {
	t := &Table{Kind: TestCars}
	at := map[[8]string]int{}
	for in.next() {
		t.Rows++
		if in.text(colFuel) != "Electricity" || in.text(colCylinders) != "" && in.number(colCylinders) > 0 {
			continue
		}
		t.Electric++
		key := [8]string{
			in.text("Model Year"), in.text("Represented Test Veh Make"), in.text("Represented Test Veh Model"),
			in.text("Test Vehicle ID") + "/" + in.text("Test Veh Configuration #"), in.text(colWeight),
			in.text("Target Coef A (lbf)"), in.text("Target Coef B (lbf/mph)"), in.text("Target Coef C (lbf/mph**2)"),
		}
		i, known := at[key]
		if !known {
			i = len(t.Entries)
			at[key] = i
			t.Entries = append(t.Entries, in.testCar())
		}
		if err := in.addTest(t, &t.Entries[i]); err != nil {
			return nil, err
		}
	}
	return t, in.err
}

func (in *input) testCar() Entry {
	return Entry{
		Kind: TestCars, Source: in.name, Line: in.line, Year: int(in.number("Model Year")),
		Make: makeName(in.text("Represented Test Veh Make"), in.text("Vehicle Manufacturer Name")), Model: in.text("Represented Test Veh Model"),
		Drive: in.text("Drive System Description"), VehicleID: in.text("Test Vehicle ID") + "/" + in.text("Test Veh Configuration #"),
		TestWeightLb: in.number(colWeight), PowerKW: in.number("Rated Horsepower") * wattPerHP / 1000,
		ALbf: in.number("Target Coef A (lbf)"), BLbfPerMPH: in.number("Target Coef B (lbf/mph)"), CLbfPerMPH2: in.number("Target Coef C (lbf/mph**2)"),
	}
}

// makeName takes the manufacturer where the make column holds a year, as in a
// few rows.
func makeName(mark, manufacturer string) string {
	if _, err := strconv.Atoi(mark); err == nil || mark == "" {
		return manufacturer
	}
	return mark
}

func (in *input) addTest(t *Table, e *Entry) error {
	figure := in.number("RND_ADJ_FE")
	if in.err != nil {
		return in.err
	}
	cycle, known := procedures[in.text("Test Procedure Cd")]
	if figure == 0 || !known {
		return nil
	}
	if figure < leastPlausible {
		t.Warnings = append(t.Warnings, fmt.Sprintf("%s, line %d, RND_ADJ_FE: %g for %s is neither MPGe nor kWh per 100 mi; left out", in.name, in.line, figure, cycle))
		return nil
	}
	run := Test{Cycle: cycle, Number: in.text("Test Number"), KWhPer100km: figure / kmPerMile, EnteredAs: "kWh/100 mi"}
	if figure >= mpgeFrom {
		run.KWhPer100km, run.EnteredAs = mpgeToKWhPer100km(figure), "MPGe"
	}
	e.Tests = append(e.Tests, run)
	return nil
}

func mpgeToKWhPer100km(mpge float64) float64 { return 100 * kWhPerGallon / mpge / kmPerMile }

var fuelEconomyColumns = []string{"make", "model", "year", "range", "combE", "cityE", "highwayE", "fuelType1"}

func (in *input) fuelEconomy() (*Table, error) {
	t := &Table{Kind: FuelEconomy}
	for in.next() {
		t.Rows++
		if in.text("fuelType1") != "Electricity" || !slices.Contains([]string{"EV", ""}, in.text("atvType")) {
			continue
		}
		t.Electric++
		e := Entry{
			Kind: FuelEconomy, Source: in.name, Line: in.line, Year: int(in.number("year")),
			Make: in.text("make"), Model: in.text("model"), Drive: in.text("drive"),
			RangeKm:          in.number("range") * kmPerMile,
			CityKWhPer100km:  in.number("cityE") / kmPerMile,
			RatedKWhPer100km: in.number("combE") / kmPerMile, HighwayKWhPer100km: in.number("highwayE") / kmPerMile,
		}
		if u := in.number("UCity"); u >= mpgeFrom {
			e.UDDSKWhPer100km = mpgeToKWhPer100km(u)
		}
		if u := in.number("UHighway"); u >= mpgeFrom {
			e.HWFETKWhPer100km = mpgeToKWhPer100km(u)
		}
		if in.err != nil {
			return nil, in.err
		}
		t.Entries = append(t.Entries, e)
	}
	return t, in.err
}

package tables_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"ampleway/energy/tables"
)

func read(t *testing.T, text string) *tables.Table {
	t.Helper()
	table, err := tables.Read(strings.NewReader(text), "invented.csv")
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// An invented car of the test car list with every figure, in the words and
// units of a car: 1 hp is 745.7 W, 1 lb 0.4536 kg, and the runs of one cycle
// count by their median.
func TestTestCarByHand(t *testing.T) {
	const columns = `Model Year,Represented Test Veh Make,Represented Test Veh Model,Vehicle Manufacturer Name,Drive System Description,Test Vehicle ID,Test Veh Configuration #,Rated Horsepower,Equivalent Test Weight (lbs.),Test Fuel Type Description,# of Cylinders and Rotors,Test Procedure Cd,RND_ADJ_FE,Target Coef A (lbf),Target Coef B (lbf/mph),Target Coef C (lbf/mph**2)
`
	row := func(procedure, figure string) string {
		return "2031,Invented,Runabout,Invented Works,2-Wheel Drive,X1,0,200,4000,Electricity,0," + procedure + "," + figure + ",30.5,0.1,0.02\n"
	}
	table := read(t, columns+row("81", "20")+row("81", "30")+row("2", "22")+row("84", "25")+row("3", "27")+row("83", "40")+row("90", "40")+row("85", "33.705")+row("95", "33.705")+row("86", "44.9")+row("99", "12"))
	if len(table.Entries) != 1 || table.Rows != 11 || table.Electric != 11 || len(table.Warnings) != 0 {
		t.Fatalf("%+v", table)
	}
	e := table.Entries[0]
	near(t, "kW", e.PowerKW, 149.14, 0.001)
	near(t, "kg", e.MassKg(), 1814.369, 0.001)
	for cycle, perMile := range map[tables.Cycle]float64{tables.UDDS: 22, tables.HWFET: 26, tables.US06: 40, tables.SC03: 33.705, tables.ColdFTP: 44.9} {
		near(t, string(cycle)+", kWh/100 km", e.MeasuredKWhPer100km(cycle), perMile/1.609344, 1e-9)
	}
	if len(e.Tests) != 10 {
		t.Errorf("%d runs, but a procedure that drives no cycle was left out", len(e.Tests))
	}
	known := []string{
		"coast-down A 30.5 lbf, B 0.1 lbf/mph, C 0.02 lbf/mph²", "test mass 1814 kg", "rated power 149 kW",
		"UDDS 13.7 kWh/100 km at the outlet, unadjusted", "HWFET 16.2 kWh/100 km at the outlet, unadjusted",
		"US06 24.9 kWh/100 km at the outlet, unadjusted", "SC03 20.9 kWh/100 km at the outlet, unadjusted",
		"FTP at 20 °F 27.9 kWh/100 km at the outlet, unadjusted",
	}
	if !slices.Equal(e.Known(), known) {
		t.Errorf("known: %q", e.Known())
	}
	load := e.RoadLoad()
	near(t, "A in N", load.AN, 30.5*4.4482216, 1e-5)
	near(t, "B in N per m/s", load.BNPerMS, 0.1*4.4482216/0.44704, 1e-6)
	near(t, "C in N per (m/s)²", load.CNPerMS2, 0.02*4.4482216/0.44704/0.44704, 1e-6)
	near(t, "kg of the test", load.TestMassKg, 1814.369, 0.001)
}

// A figure of 45 and more is MPGe, one from 10 is kWh per 100 mi, one below is
// neither; 0 and nothing are no figure.
func TestUnitLimits(t *testing.T) {
	for figure, want := range map[string]float64{"45": 3370.5 / 45 / 1.609344, "44.999": 44.999 / 1.609344, "10": 10 / 1.609344, "9.999": 0, "0": 0, "": 0} {
		table := read(t, head+"2031,I,M,X,4000,Electricity,,81,"+figure+",30,0,0\n")
		near(t, figure, table.Entries[0].MeasuredKWhPer100km(tables.UDDS), want, 1e-9)
		if warned := figure == "9.999"; len(table.Warnings) > 0 != warned {
			t.Errorf("%s: warnings %q", figure, table.Warnings)
		}
	}
}

// Only cars that burn nothing count: a car with an engine has cylinders, and a
// plug-in hybrid of the fuel economy table says what it is.
func TestOnlyElectricCars(t *testing.T) {
	for cylinders, electric := range map[string]int{"": 1, "0": 1, "1": 0, "3": 0} {
		if table := read(t, head+"2031,I,M,X,4000,Electricity,"+cylinders+",81,30,30,0,0\n"); table.Electric != electric || len(table.Entries) != electric {
			t.Errorf("%q cylinders: %d electric, %d entries", cylinders, table.Electric, len(table.Entries))
		}
	}
	for _, c := range []struct {
		fuel, kind string
		electric   int
	}{{"Electricity", "EV", 1}, {"Electricity", "", 1}, {"Electricity", "Plug-in Hybrid", 0}, {"Regular Gasoline", "", 0}, {"Regular Gasoline", "EV", 0}} {
		table := read(t, "make,model,year,range,combE,cityE,highwayE,fuelType1,atvType\nI,M,2031,200,30,28,33,"+c.fuel+","+c.kind+"\n")
		if table.Rows != 1 || table.Electric != c.electric || len(table.Entries) != c.electric {
			t.Errorf("%+v: %+v", c, table)
		}
	}
}

// An invented car of the fuel economy table: miles and kWh per 100 mi become km
// and kWh/100 km, unadjusted MPGe become what was measured on the two cycles,
// and nothing is made of the cycles it has not.
func TestFuelEconomyByHand(t *testing.T) {
	const columns = "make,model,year,range,combE,cityE,highwayE,fuelType1,drive,UCity,UHighway\n"
	e := read(t, columns+"Invented,Runabout,2031,250,28,25,31,Electricity,Rear-Wheel Drive,150,120\n").Entries[0]
	near(t, "range in km", e.RangeKm, 402.336, 1e-9)
	near(t, "combined", e.RatedKWhPer100km, 28/1.609344, 1e-9)
	near(t, "city", e.CityKWhPer100km, 25/1.609344, 1e-9)
	near(t, "highway", e.HighwayKWhPer100km, 31/1.609344, 1e-9)
	for cycle, want := range map[tables.Cycle]float64{tables.UDDS: 3370.5 / 150 / 1.609344, tables.HWFET: 3370.5 / 120 / 1.609344, tables.US06: 0, tables.SC03: 0, tables.ColdFTP: 0} {
		near(t, string(cycle), e.MeasuredKWhPer100km(cycle), want, 1e-9)
	}
	known := []string{
		"rated range 402 km", "rated 17.4 kWh/100 km at the outlet",
		"UDDS 14.0 kWh/100 km at the outlet, unadjusted", "HWFET 17.5 kWh/100 km at the outlet, unadjusted",
	}
	if !slices.Equal(e.Known(), known) {
		t.Errorf("known: %q", e.Known())
	}
	for figure, want := range map[string]float64{"45": 3370.5 / 45 / 1.609344, "44.9": 0, "0": 0} {
		e := read(t, columns+"I,M,2031,250,28,25,31,Electricity,,"+figure+","+figure+"\n").Entries[0]
		near(t, "UDDS from "+figure, e.UDDSKWhPer100km, want, 1e-9)
		near(t, "HWFET from "+figure, e.HWFETKWhPer100km, want, 1e-9)
	}
}

// A road load needs both the coefficients and the weight they belong to.
func TestHasRoadLoad(t *testing.T) {
	for _, c := range []struct {
		weightLb, aLbf float64
		has            bool
	}{{4000, 30, true}, {4000, 0.5, true}, {0.5, 30, true}, {0, 30, false}, {4000, 0, false}} {
		e := tables.Entry{TestWeightLb: c.weightLb, ALbf: c.aLbf}
		if e.HasRoadLoad() != c.has || (e.RoadLoad() != nil) != c.has {
			t.Errorf("%+v: %v", c, e.HasRoadLoad())
		}
	}
}

// The make is the maker's name where its column holds a year or nothing.
func TestMakeIsAName(t *testing.T) {
	const columns = "Vehicle Manufacturer Name," + head
	for mark, want := range map[string]string{"Invented": "Invented", "2031": "Invented Works", "": "Invented Works", "2 Wheels": "2 Wheels"} {
		e := read(t, columns+"Invented Works,2031,"+mark+",M,X,4000,Electricity,,81,30,30,0,0\n").Entries[0]
		if e.Make != want {
			t.Errorf("make column %q: %q, want %q", mark, e.Make, want)
		}
	}
}

// Figures are finite and of this world; the table that is neither says what
// it has and what either would begin with.
func TestWhatIsRefused(t *testing.T) {
	for figure, sound := range map[string]bool{"1e9": true, "1000000001": false, "-1e9": true, "-1000000001": false, "+Inf": false, "1,5": false} {
		_, err := tables.Read(strings.NewReader(head+fmt.Sprintf("2031,I,M,X,%q,Electricity,,81,30,30,0,0\n", figure)), "f.csv")
		if (err == nil) != sound {
			t.Errorf("weight %s: %v", figure, err)
		}
	}
	_, err := tables.Read(strings.NewReader("left, right\n1,2\n"), "f.csv")
	const says = "found left,right: expected the columns of the EPA test car list (Represented Test Veh Make, Represented Test Veh Model, Equivalent Test Weight (lbs.) ...) or of the fuel economy table (make, model, year ...)"
	if err == nil || !strings.Contains(err.Error(), says) {
		t.Errorf("%v", err)
	}
}

// What one looks for is found by any words in any order, the plainest name
// first, and nothing by nothing.
func TestFind(t *testing.T) {
	all := []tables.Entry{
		{Year: 2031, Make: "Invented", Model: "Runabout Long", Drive: "All-Wheel Drive"},
		{Year: 2031, Make: "Invented", Model: "Runabout", Drive: "Rear-Wheel Drive"},
		{Year: 2030, Make: "Invented", Model: "Invented Wagon", VehicleID: "W7/0"},
	}
	for text, want := range map[string][]string{
		"runabout":           {"2031 Invented Runabout", "2031 Invented Runabout Long"},
		"RUNABOUT 2031 all-": {"2031 Invented Runabout Long"},
		"w7/0":               {"2030 Invented Wagon"},
		"invented":           {"2030 Invented Wagon", "2031 Invented Runabout", "2031 Invented Runabout Long"},
		"runabout 2030":      nil,
		" ":                  nil,
	} {
		var got []string
		for _, e := range tables.Find(all, text) {
			got = append(got, e.Name())
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

package tables_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/energy/tables"
	"ampleway/testdata"
)

const (
	testCarsCSV    = "us-epa-test-cars-2023-electric.csv"
	fuelEconomyCSV = "us-fueleconomy-2023-electric.csv"
)

func open(t *testing.T, name string) (*tables.Table, string) {
	t.Helper()
	path := testdata.OpenData(t, "vehicles", name)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := tables.Read(f, name)
	if err != nil {
		t.Fatal(err)
	}
	return table, path
}

// query asks GDAL's CSV driver and SQLite, which share no code with this
// package, for one row of figures.
func query(t *testing.T, path, sql string) map[string]float64 {
	t.Helper()
	tool := testdata.Tool(t, "ogr2ogr")
	layer := strings.TrimSuffix(filepath.Base(path), ".csv")
	out, err := exec.Command(tool, "-f", "GeoJSON", "/vsistdout/", path, "-dialect", "sqlite",
		"-sql", strings.ReplaceAll(sql, "TABLE", `"`+layer+`"`)).Output()
	if err != nil {
		t.Fatal(err)
	}
	var answer struct {
		Features []struct{ Properties map[string]float64 }
	}
	if err := json.Unmarshal(out, &answer); err != nil || len(answer.Features) != 1 {
		t.Fatalf("%s: %v", out, err)
	}
	return answer.Features[0].Properties
}

func TestTestCarsAgainstSQL(t *testing.T) {
	table, path := open(t, testCarsCSV)
	want := query(t, path, `select count(*) n,
		count(distinct "Represented Test Veh Make" || "Represented Test Veh Model" || "Test Vehicle ID" || '/' || "Test Veh Configuration #" || "Equivalent Test Weight (lbs.)" || "Target Coef A (lbf)" || "Target Coef B (lbf/mph)" || "Target Coef C (lbf/mph**2)") cars,
		sum(case when cast(RND_ADJ_FE as real) >= 45 then 1 else 0 end) mpge,
		sum(case when cast(RND_ADJ_FE as real) between 10 and 44.999 then 1 else 0 end) kwh,
		sum(case when cast(RND_ADJ_FE as real) between 0.001 and 9.999 then 1 else 0 end) neither,
		sum(case when cast(RND_ADJ_FE as real) >= 45 then 3370.5/cast(RND_ADJ_FE as real) when cast(RND_ADJ_FE as real) >= 10 then cast(RND_ADJ_FE as real) else 0 end)/1.609344 total
		from TABLE`)
	var mpge, kwh, total float64
	for _, e := range table.Entries {
		for _, run := range e.Tests {
			total += run.KWhPer100km
			if run.EnteredAs == "MPGe" {
				mpge++
			} else {
				kwh++
			}
		}
	}
	if math.Abs(total-want["total"]) > 1e-6*total {
		t.Errorf("sum of all runs %.6f kWh/100 km, SQLite says %.6f", total, want["total"])
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"rows", float64(table.Rows), want["n"]}, {"electric rows", float64(table.Electric), want["n"]},
		{"cars", float64(len(table.Entries)), want["cars"]}, {"MPGe", mpge, want["mpge"]},
		{"kWh/100 mi", kwh, want["kwh"]}, {"left out", float64(len(table.Warnings)), want["neither"]},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, SQLite says %v", c.what, c.got, c.want)
		}
	}
	t.Logf("%d rows, %d cars, %v runs in MPGe, %v in kWh/100 mi, %d left out", table.Rows, len(table.Entries), mpge, kwh, len(table.Warnings))
}

func TestFuelEconomyAgainstSQL(t *testing.T) {
	table, path := open(t, fuelEconomyCSV)
	want := query(t, path, `select count(*) n, sum(cast(range as real)) miles, sum(cast(combE as real)) comb from TABLE where fuelType1 = 'Electricity'`)
	var miles, comb float64
	for _, e := range table.Entries {
		miles += e.RangeKm / 1.609344
		comb += e.RatedKWhPer100km * 1.609344
	}
	if len(table.Entries) != int(want["n"]) || math.Abs(miles-want["miles"]) > 1e-6 || math.Abs(comb-want["comb"]) > 1e-6 {
		t.Errorf("%d cars, %v mi, %v kWh/100 mi in all; SQLite says %v", len(table.Entries), miles, comb, want)
	}
}

// The fuel economy table has the same tests in MPGe and, for most cars, the
// adjusted kWh per 100 mi are the MPGe times one adjustment factor (40 CFR
// 600.210-12 allows 0.7 and the five-cycle method more), so rated energy lies
// above the measured one by 1/0.7 to 1/0.8 nearly always.
func TestRatedAgainstMeasured(t *testing.T) {
	table, _ := open(t, fuelEconomyCSV)
	outside := 0
	for _, e := range table.Entries {
		measured := 1 / (0.55/e.UDDSKWhPer100km + 0.45/e.HWFETKWhPer100km)
		if ratio := e.RatedKWhPer100km / measured; ratio < 1.2 || ratio > 1.5 {
			outside++
		}
	}
	if share := float64(outside) / float64(len(table.Entries)); share > 0.05 {
		t.Errorf("%.0f %% of the cars have a rated energy that does not follow from the measured one", 100*share)
	}
}

// One car stands in both tables. The highway runs must agree whatever unit a
// maker entered: this is what tells the unit trap apart.
func TestTablesAgree(t *testing.T) {
	cars, _ := open(t, testCarsCSV)
	rated, _ := open(t, fuelEconomyCSV)
	matched, kwhEntered := 0, 0
	for _, e := range cars.Entries {
		highway := e.MeasuredKWhPer100km(tables.HWFET)
		if highway == 0 || len(e.Tests) == 0 {
			continue
		}
		for _, r := range tables.Find(rated.Entries, e.Model) {
			if math.Abs(r.HWFETKWhPer100km/highway-1) < 0.01 {
				matched++
				if e.Tests[0].EnteredAs != "MPGe" {
					kwhEntered++
				}
				break
			}
		}
	}
	if matched < 20 {
		t.Errorf("only %d cars agree within 1 %% in both tables", matched)
	}
	t.Logf("%d cars agree within 1 %% on the highway in both tables, %d of them entered in kWh/100 mi", matched, kwhEntered)
}

func TestFindRealEntries(t *testing.T) {
	for _, name := range []string{testCarsCSV, fuelEconomyCSV} {
		table, _ := open(t, name)
		for _, e := range table.Entries {
			found := table.Find(strings.ToUpper(e.Name()))
			at := slices.IndexFunc(found, func(f tables.Entry) bool { return f.Line == e.Line })
			if at < 0 {
				t.Errorf("%s, line %d: not found by its own name %q", name, e.Line, e.Name())
			}
			if len(e.Known()) == 0 {
				t.Errorf("%s: nothing is known of it", e.Name())
			}
			if load := e.RoadLoad(); load != nil && !(load.AN > 0 && load.TestMassKg > 1000) {
				t.Errorf("%s: road load %+v", e.Name(), load)
			}
		}
	}
}

// Invented rows.
const head = `Model Year,Represented Test Veh Make,Represented Test Veh Model,Test Vehicle ID,Equivalent Test Weight (lbs.),Test Fuel Type Description,# of Cylinders and Rotors,Test Procedure Cd,RND_ADJ_FE,Target Coef A (lbf),Target Coef B (lbf/mph),Target Coef C (lbf/mph**2)
`

func TestUnitTrap(t *testing.T) {
	in := "\ufeff" + head +
		`2031,Invented,"Two, units",X1,4000,Electricity,,81,150,30,0.1,0.02
2031,Invented,"Two, units",X1,4000,Electricity,,81,22.47,30,0.1,0.02
2031,Invented,"Two, units",X1,4000,Electricity,,84,5,30,0.1,0.02
2031,Invented,Burner,X2,4000,Tier 2 Cert Gasoline,4,81,30,30,0.1,0.02
2031,Invented,Both,X3,4000,Electricity,4,81,90,30,0.1,0.02
`
	table, err := tables.Read(strings.NewReader(in), "invented.csv")
	if err != nil {
		t.Fatal(err)
	}
	if table.Rows != 5 || table.Electric != 3 || len(table.Entries) != 1 || len(table.Warnings) != 1 {
		t.Fatalf("%+v", table)
	}
	e := table.Entries[0]
	for _, run := range e.Tests {
		if math.Abs(run.KWhPer100km-22.47/1.609344) > 0.01 {
			t.Errorf("%+v: want 13.96 kWh/100 km in either unit", run)
		}
	}
	if e.MeasuredKWhPer100km(tables.HWFET) != 0 || !strings.Contains(table.Warnings[0], "line 4") {
		t.Errorf("5 is no figure of a car: %+v %v", e, table.Warnings)
	}
	if got := e.MassKg(); math.Abs(got-1814.37) > 0.01 {
		t.Errorf("4,000 lb = %v kg", got)
	}
}

func TestFaults(t *testing.T) {
	for _, c := range []struct{ name, in, where, field string }{
		{"empty", "", "", ""},
		{"other table", "a,b\n1,2\n", "line 1", ""},
		{"figure", head + "2031,I,M,X,heavy,Electricity,,81,100,30,0,0\n", "line 2", "Equivalent Test Weight (lbs.)"},
		{"not a number", head + "2031,I,M,X,4000,Electricity,,81,NaN,30,0,0\n", "line 2", "RND_ADJ_FE"},
		{"short row", head + "2031,I,M\n", "line 2", ""},
		{"quote", head + "2031,\"I,M\n", "line 2", ""},
	} {
		_, err := tables.Read(strings.NewReader(c.in), "f.csv")
		var in *fault.Input
		if !errors.As(err, &in) || in.File != "f.csv" || in.Where != c.where || in.Field != c.field || in.Expected == "" {
			t.Errorf("%s: %#v", c.name, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(head + "2031,I,M,X,4000,Electricity,,81,100,30,0,0\n")
	f.Add(strings.Join([]string{"make", "model", "year", "range", "combE", "cityE", "highwayE", "fuelType1"}, ",") + "\nI,M,2031,200,30,28,33,Electricity\n")
	f.Fuzz(func(t *testing.T, in string) {
		table, err := tables.Read(strings.NewReader(in), "fuzz.csv")
		if err != nil {
			var fl *fault.Input
			if !errors.As(err, &fl) {
				t.Fatalf("%T %v", err, err)
			}
			return
		}
		if table.Electric > table.Rows || len(table.Entries) > table.Electric {
			t.Fatalf("%+v", table)
		}
		for _, e := range table.Entries {
			_ = e.RoadLoad()
			for _, run := range e.Tests {
				if !(run.KWhPer100km > 0 && run.KWhPer100km < 50) {
					t.Fatalf("%+v", run)
				}
			}
		}
	})
}

package main

import (
	"encoding/json"
	"encoding/xml"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/data/cars"
	"ampleway/testdata"
)

func TestCarShowPrintsEveryBuiltInCar(t *testing.T) {
	for _, name := range cars.Names() {
		code, out, errOut := ampleway(t, "", "car", "show", name)
		if code != exitOK || errOut != "" {
			t.Fatalf("%s: exit %d, %s", name, code, errOut)
		}
		for _, want := range []string{"not a real car", "Range in km", "130 km/h", "-20 °C", "10 to 80 % takes", "100 %", "█", "Keep a reserve"} {
			if !strings.Contains(out, want) {
				t.Errorf("%s does not print %q", name, want)
			}
		}
	}
}

type shownCar struct {
	UsableKWh float64 `json:"usable_kwh"`
	MassKg    float64 `json:"mass_kg"`
	Ranges    []struct {
		SpeedKMH float64 `json:"speed_km_per_h"`
		TempC    float64 `json:"temp_c"`
		RangeKm  float64 `json:"range_km"`
	} `json:"ranges"`
	Ratings []struct {
		Rating  string  `json:"rating"`
		RangeKm float64 `json:"range_km"`
		Outlet  float64 `json:"outlet_kwh_per_100_km"`
	} `json:"ratings"`
	Charging struct {
		Minutes float64 `json:"from_10_to_80_pct_min"`
		Rows    []struct {
			PowerKW float64 `json:"power_kw"`
		} `json:"rows"`
	} `json:"dc_charging"`
}

func showCar(t *testing.T, args ...string) shownCar {
	t.Helper()
	code, out, errOut := ampleway(t, "", append([]string{"car", "show", "--format", "json"}, args...)...)
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	var s shownCar
	if err := json.Unmarshal([]byte(out), &s); err != nil {
		t.Fatal(err)
	}
	return s
}

func TestCarShowTakesConditions(t *testing.T) {
	plain := showCar(t, "crossover", "--speeds", "100", "--temps", "20")
	loaded := showCar(t, "crossover", "--speeds", "100", "--temps", "20", "--carry", "roof box", "--payload", "300")
	worn := showCar(t, "crossover", "--speeds", "100", "--temps", "20", "--battery-health", "80")
	us := showCar(t, "crossover", "--units", "us", "--speeds", "62.13711922373339", "--temps", "68")
	if len(plain.Ranges) != 1 || plain.Ranges[0].RangeKm <= loaded.Ranges[0].RangeKm {
		t.Errorf("plain %+v, loaded %+v", plain.Ranges, loaded.Ranges)
	}
	if ratio := worn.Ranges[0].RangeKm / plain.Ranges[0].RangeKm; ratio > 0.81 || ratio < 0.79 {
		t.Errorf("80 %% health leaves %.3f of the range", ratio)
	}
	if us.Ranges[0] != plain.Ranges[0] {
		t.Errorf("in US units %+v, metric %+v", us.Ranges[0], plain.Ranges[0])
	}
}

// A sheet says what its ranges are for, takes the conditions that a trip takes,
// and no figure twice.
func TestCarShowSaysItsConditions(t *testing.T) {
	code, out, errOut := ampleway(t, "", "car", "show", "van", "--rain", "40", "--wind", "30", "--winter-tyres")
	if code != exitOK || !strings.Contains(out, "dry road without wind, but for: wind 30 km/h; rain 40 mm/h; winter tyres\n") {
		t.Errorf("exit %d, %s%s", code, out, errOut)
	}
	wet := showCar(t, "van", "--speeds", "90", "--temps", "10", "--surface", "standing-water")
	rain := showCar(t, "van", "--speeds", "90", "--temps", "10", "--rain", "40")
	if rain.Ranges[0] != wet.Ranges[0] {
		t.Errorf("in rain %+v, on standing water %+v", rain.Ranges, wet.Ranges)
	}
	if code, _, errOut := ampleway(t, "", "car", "show", "van", "--payload", "100,200"); code != exitUsage || !strings.Contains(errOut, "one figure each") {
		t.Errorf("exit %d, %s", code, errOut)
	}
}

// The picture is a file of its own: it names its namespace and its colours, and
// is the same each time.
func TestCarShowDraws(t *testing.T) {
	path := filepath.Join(t.TempDir(), "car.svg")
	if code, _, errOut := ampleway(t, "", "car", "show", "large-suv", "-o", path); code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	drawing, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, again, _ := ampleway(t, "", "car", "show", "large-suv", "--format", "svg"); again != string(drawing) {
		t.Error("it is not the same the second time")
	}
	var root struct {
		XMLName xml.Name
		Text    []string `xml:"text"`
	}
	if err := xml.Unmarshal(drawing, &root); err != nil {
		t.Fatal(err)
	}
	if root.XMLName != (xml.Name{Space: "http://www.w3.org/2000/svg", Local: "svg"}) || strings.Contains(string(drawing), "var(") {
		t.Errorf("a program that reads SVG cannot show it: %.300s", drawing)
	}
	for _, want := range []string{"state of charge, %", "air temperature, °C", "110 km/h"} {
		if !slices.Contains(root.Text, want) {
			t.Errorf("the drawing does not say %q", want)
		}
	}
	if code, _, errOut := ampleway(t, "", "car", "show", "large-suv", "--format", "png"); code != exitUsage || !strings.Contains(errOut, "svg") {
		t.Errorf("png: exit %d, %s", code, errOut)
	}
	path = filepath.Join(t.TempDir(), "car.png")
	if code, _, errOut := ampleway(t, "", "car", "show", "large-suv", "-o", path); code != exitUsage || !strings.Contains(errOut, "svg") {
		t.Errorf("%s: exit %d, %s", path, code, errOut)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("text stands in a file that is called a picture")
	}
}

// The figures an owner gives come back from the file, as car show reads it.
func TestCarNewReproducesWhatTheOwnerSaid(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ours.yaml")
	code, _, errOut := ampleway(t, "", "car", "new", "--name", "ours", "--usable-kwh", "64", "--mass", "1850",
		"--rated-range", "420", "--rated-on", "wltp", "--kwh-per-100km", "17.2", "--peak-kw", "105", "--minutes-10-80", "34", "-o", path)
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	if !strings.Contains(errOut, "traction factor") || !strings.Contains(errOut, "mid-size sedan") {
		t.Errorf("it does not say what was assumed: %s", errOut)
	}
	s := showCar(t, path)
	if s.UsableKWh != 64 || s.MassKg != 1850 || s.Charging.Minutes != 34 {
		t.Errorf("got %+v", s)
	}
	for _, r := range s.Ratings {
		if r.Rating == "wltp" && (r.RangeKm != 420 || r.Outlet != 17.2) {
			t.Errorf("rated %+v, want 420 km and 17.2 kWh/100 km", r)
		}
	}
	var peak float64
	for _, r := range s.Charging.Rows {
		peak = max(peak, r.PowerKW)
	}
	if peak != 105 {
		t.Errorf("peak %v kW", peak)
	}
}

func TestCarNewInUSUnits(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ours.json")
	if code, _, errOut := ampleway(t, "", "car", "new", "--units", "us", "--name", "ours", "--usable-kwh", "75", "--mass", "4200",
		"--rated-range", "280", "--kwh-per-100mi", "30", "--format", "json", "-o", path); code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	s := showCar(t, path)
	if got := s.Ratings[0]; got.Rating != "us" || math.Abs(got.RangeKm-280*1.609344) > 0.05 || math.Abs(got.Outlet*1.609344-30) > 0.01 {
		t.Errorf("rated %+v, want 280 mi and 30 kWh/100 mi", got)
	}
}

// Open data: the two tables of the US government, model year 2023.
func TestCarNewFromTables(t *testing.T) {
	testCars := testdata.OpenData(t, "vehicles", "us-epa-test-cars-2023-electric.csv")
	labels := testdata.OpenData(t, "vehicles", "us-fueleconomy-2023-electric.csv")
	path := filepath.Join(t.TempDir(), "found.yaml")
	code, _, errOut := ampleway(t, "", "car", "new", "--table", testCars, "--table", labels,
		"--find", "CE1U467EA114R/0", "--find", "6 Long range RWD (18", "--assume", "-o", path)
	if code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	for _, want := range []string{"coast-down A 23.958 lbf", "the tables lack: usable kWh, peak DC kW, 10-80 % minutes", "assumed, rated range times rated consumption", "the label has a range of 581 km"} {
		if !strings.Contains(errOut, want) {
			t.Errorf("it does not say %q:\n%s", want, errOut)
		}
	}
	s := showCar(t, path)
	for _, r := range s.Ratings {
		if want := 18.9 / 1.609344; r.Rating == "hwfet" && math.Abs(r.Outlet-want) > 0.006 { // 18.9 kWh/100 mi in the test car list
			t.Errorf("highway %v kWh/100 km, measured %v", r.Outlet, want)
		}
	}
	code, _, errOut = ampleway(t, "", "car", "new", "--table", testCars, "--find", "long range")
	if code != exitUsage || !strings.Contains(errOut, "only one car") {
		t.Errorf("several cars: exit %d, %s", code, errOut)
	}
}

func TestCarMistakesAreUsageErrors(t *testing.T) {
	for _, args := range [][]string{
		{"car", "show"},
		{"car", "show", "no-such-car"},
		{"car", "show", "crossover", "--format", "gif"},
		{"car", "show", "crossover", "--carry", "sail"},
		{"car", "show", "crossover", "--speeds", "-5"},
		{"car", "show", "crossover", "--temps", "400"},
		{"car", "show", "crossover", "--units", "imperial"},
		{"car", "new", "--name", "ours"},
		{"car", "new", "--name", "ours", "--usable-kwh", "60", "--mass", "1800"},
		{"car", "new", "--name", "ours", "--usable-kwh", "60", "--mass", "1800", "--rated-range", "400", "--rated-on", "moon"},
		{"car", "new", "--name", "ours", "--usable-kwh", "60", "--mass", "1800", "--kwh-per-100km", "18", "--kwh-per-100mi", "29"},
		{"car", "new", "--find", "anything"},
		{"car", "new", "--table", "no-such-file.csv", "--find", "anything"},
	} {
		if code, out, errOut := ampleway(t, "", args...); code != exitUsage || errOut == "" || out != "" {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, errOut)
		}
	}
}

// An adapter is the owner's to name: the built-in classes have none, and a new
// car takes none over from the car it is like.
func TestNoCarHasAnAdapterThatNobodyNamed(t *testing.T) {
	for _, name := range cars.Names() {
		if _, out, _ := ampleway(t, "", "car", "show", name); strings.Contains(out, "adapter") {
			t.Errorf("%s has an adapter:\n%s", name, out)
		}
	}
	dir := t.TempDir()
	_, text, _ := ampleway(t, "", "car", "new", "--name", "ours", "--usable-kwh", "64", "--mass", "1800", "--rated-range", "400")
	withOne := strings.Replace(text, "connectors: [\"CCS2\", \"Type 2\"]", "connectors: [CCS2, Type 2]\nadapters: [{station: CHAdeMO, inlet: CCS2}]", 1)
	path := filepath.Join(dir, "ours.yaml")
	if err := os.WriteFile(path, []byte(withOne), 0o644); err != nil || withOne == text {
		t.Fatal(err, text)
	}
	if _, out, _ := ampleway(t, "", "car", "show", path); !strings.Contains(out, "adapter: CHAdeMO") {
		t.Errorf("the adapter that the file names is not shown:\n%s", out)
	}
	code, out, errOut := ampleway(t, "", "car", "new", "--name", "other", "--usable-kwh", "60", "--rated-range", "380", "--like", path)
	if code != exitOK || strings.Contains(out, "station: CHAdeMO") || !strings.Contains(errOut, "look at the car") {
		t.Errorf("exit %d\n%s\n%s", code, out, errOut)
	}
	_, out, errOut = ampleway(t, "", "car", "new", "--name", "other", "--usable-kwh", "60", "--rated-range", "380", "--like", path, "--connector", "CCS1,J1772")
	if !strings.Contains(out, "connectors: [\"CCS1\", \"J1772\"]") || !strings.Contains(errOut, "inlets CCS1, J1772: as given") || strings.Contains(errOut, "CCS2") {
		t.Errorf("%s\n%s", out, errOut)
	}
}

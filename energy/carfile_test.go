package energy_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"ampleway/data/cars"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/taper"
)

const soundFile = `name: our car
usable_kwh: 60
mass_kg: 1800
road_load:
  rolling_coefficient: 0.01
  drag_area_m2: 0.65
dc_taper:
  - {soc_pct: 0, power_kw: 100}
  - {soc_pct: 100, power_kw: 10}
connectors: [CCS2]
`

func TestCarFileDefaults(t *testing.T) {
	car, err := energy.ReadCar(strings.NewReader(soundFile), "ours.yaml")
	if err != nil {
		t.Fatal(err)
	}
	want := &energy.Car{
		Name: "our car", UsableKWh: 60, MassKg: 1800,
		RotatingShare:   energy.DefaultRotatingShare,
		RoadLoad:        energy.RoadLoad{RollingCoefficient: 0.01, DragAreaM2: 0.65},
		TractionFactor:  1,
		DriveEfficiency: energy.DefaultDriveEfficiency, RegenEfficiency: energy.DefaultRegenEfficiency,
		RegenLimitKW: energy.DefaultRegenLimitKW, AuxiliaryW: energy.DefaultAuxiliaryW,
		TopSpeedMS: energy.DefaultTopSpeedMS,
		Taper:      taper.Curve{{SoC: 0, PowerKW: 100}, {SoC: 1, PowerKW: 10}},
		AC:         energy.OnBoard{PowerKW: energy.DefaultACKW, Phases: 1, Efficiency: energy.DefaultACEfficiency},
		Connectors: []string{"CCS2"},
		Spread:     energy.Spread{Trip: energy.ClassTripSpread, Leg: energy.LegSpread},
	}
	if diff := cmp.Diff(want, car); diff != "" {
		t.Error(diff)
	}
}

func TestCarFileErrorsSayWhere(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		says           []string
	}{
		{"unknown key", "mass_kg: 1800", "mass_kg: 1800\nseats: 5", []string{"line 4", "seats", "^"}},
		{"unknown key inside", "drag_area_m2: 0.65", "drag_area_m2: 0.65\n  wings_m2: 3", []string{"line 7", "wings_m2", "^"}},
		{"key without unit", "usable_kwh", "usable", []string{"line 2", "usable", "^"}},
		{"text for a number", "usable_kwh: 60", "usable_kwh: 60 kWh", []string{"line 2", "60 kWh", "^"}},
		{"out of range", "usable_kwh: 60", "usable_kwh: 60000", []string{"line 2", "usable_kwh", "60000", "1 to 2000", "^"}},
		{"missing key", "mass_kg: 1800\n", "", []string{"mass_kg", "found 0"}},
		{"not a number", "mass_kg: 1800", "mass_kg: .nan", []string{"line 3", "NaN"}},
		{"taper falls back", "soc_pct: 100", "soc_pct: -5", []string{"line 9", "dc_taper[1].soc_pct", "-5"}},
		{"taper ends early", "soc_pct: 100", "soc_pct: 95", []string{"dc_taper[1].soc_pct", "95", "100 at the last point"}},
		{"both road loads", "drag_area_m2: 0.65", "drag_area_m2: 0.65\n  coast_down: {a_n: 100, b_n_per_kmh: 1, c_n_per_kmh2: 0.03, test_mass_kg: 1900}", []string{"line 5", "either"}},
		{"adapter to no inlet", "connectors: [CCS2]", "connectors: [CCS2]\nadapters: [{station: CHAdeMO, inlet: CCS1}]", []string{"line 11", "CCS1", "one of the car's connectors"}},
		{"unknown heater", "connectors: [CCS2]", "climate: {heater: stove}\nconnectors: [CCS2]", []string{"line 10", "stove"}},
		{"bad indentation", "  rolling", " \trolling", []string{"line 5"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(soundFile, c.old, c.new, 1)
			if text == soundFile {
				t.Fatal("nothing changed")
			}
			_, err := energy.ReadCar(strings.NewReader(text), "ours.yaml")
			var in *fault.Input
			if !errors.As(err, &in) || in.File != "ours.yaml" {
				t.Fatalf("error %v, want a *fault.Input of ours.yaml", err)
			}
			for _, want := range c.says {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("error does not say %q:\n%v", want, err)
				}
			}
		})
	}
	if _, err := energy.ReadCar(strings.NewReader(""), "empty.yaml"); err == nil || !strings.Contains(err.Error(), "empty") {
		t.Errorf("empty file: %v", err)
	}
	if _, err := energy.ReadCar(strings.NewReader(strings.Repeat("#", 2<<20)), "big.yaml"); err == nil || !strings.Contains(err.Error(), "1 MiB") {
		t.Errorf("big file: %v", err)
	}
}

// sameCar allows for the twelve digits of a file.
var sameCar = cmp.Options{cmpopts.EquateApprox(1e-11, 1e-12), cmpopts.EquateEmpty()}

func TestBuiltInCarsSurviveYAMLAndJSON(t *testing.T) {
	for _, name := range cars.Names() {
		car := builtIn(t, name)
		if diff := cmp.Diff(car, reread(t, car), sameCar); diff != "" {
			t.Errorf("%s, YAML: %s", name, diff)
		}
		var file bytes.Buffer
		if err := energy.WriteCarJSON(&file, car); err != nil {
			t.Fatal(err)
		}
		again, err := energy.ReadCar(&file, name+".json")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(car, again, sameCar); diff != "" {
			t.Errorf("%s, JSON: %s", name, diff)
		}
	}
}

// anyCar draws cars with every part of the file in use.
func anyCar() *rapid.Generator[*energy.Car] {
	return rapid.Custom(func(r *rapid.T) *energy.Car {
		f := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(r, name) }
		car := testCar()
		car.Name = rapid.StringMatching(`[a-zA-Z0-9äß:#'"{}\[\],&*!|>%@ -]*[a-z]`).Draw(r, "name")
		car.Note = rapid.StringMatching(`[\x00-ÿ]{0,60}`).Draw(r, "note")
		car.UsableKWh, car.MassKg = f(10, 200, "usable"), f(900, 5000, "mass")
		car.TractionFactor, car.RotatingShare = f(0.7, 1.5, "factor"), f(0, 0.1, "rotating")
		car.DriveEfficiency, car.RegenEfficiency = f(0.6, 1, "drive"), f(0, 1, "regen")
		car.RegenLimitKW, car.AuxiliaryW, car.TopSpeedMS = f(0, 300, "regen limit"), f(0, 2000, "aux"), f(10, 80, "top")
		switch rapid.IntRange(0, 2).Draw(r, "road load") {
		case 0:
			car.RoadLoad = energy.RoadLoad{RollingCoefficient: f(0.005, 0.02, "crr"), DragAreaM2: f(0.3, 5, "cda")}
		case 1:
			c := energy.CoastDownUS(f(10, 80, "a"), f(-0.3, 0.6, "b"), f(0.01, 0.05, "c"), f(2500, 9000, "weight"))
			c.AeroShare = f(0, 1, "aero share")
			car.RoadLoad = energy.RoadLoad{CoastDown: c}
		}
		car.Climate = energy.Climate{
			HeatPump:    rapid.Bool().Draw(r, "heat pump"),
			StartWhPerK: f(1, 100, "start"),
			Curve:       []energy.ClimatePoint{{TempC: -20, PowerKW: f(0, 9, "cold kW")}, {TempC: 20, PowerKW: 0}},
			PackCurve:   []energy.ClimatePoint{{TempC: 30, PowerKW: f(0, 1, "pack kW")}},
		}
		car.AC = energy.OnBoard{PowerKW: f(1, 22, "ac"), Phases: rapid.IntRange(1, 3).Draw(r, "phases"), CurrentA: f(6, 80, "amps"), Efficiency: f(0.5, 1, "ac efficiency")}
		car.Pack = []energy.PackPoint{{SoC: 0, VoltageV: f(200, 400, "empty V")}, {SoC: f(0.1, 0.9, "mid"), VoltageV: 350}, {SoC: 1, VoltageV: f(400, 900, "full V")}}
		car.Taper = taper.Curve{{SoC: 0, PowerKW: f(20, 300, "kW")}, {SoC: 0.3, PowerKW: f(20, 300, "kW")}, {SoC: 0.3, PowerKW: f(20, 300, "kW")}, {SoC: 1, PowerKW: f(1, 20, "kW")}}
		car.Connectors = []string{"CCS1", "J1772"}
		car.Adapters = []energy.Adapter{{Station: "CHAdeMO", Inlet: "CCS1", LimitKW: f(10, 60, "limit kW"), LimitA: f(10, 200, "limit A")}}
		car.Extras = []energy.Extra{{Name: "roof box", MassKg: f(0, 100, "box kg"), DragAreaM2: f(0, 1, "box m2"), TopSpeedMS: f(20, 50, "box speed")}}
		car.Spread, car.OwnSpread = energy.Spread{Trip: f(0, 0.3, "trip"), Leg: f(0, 0.3, "leg")}, true
		return car
	})
}

func TestAnyCarSurvivesItsFile(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		car := anyCar().Draw(r, "car")
		if err := car.Validate(); err != nil {
			r.Fatal(err)
		}
		if diff := cmp.Diff(car, reread(r, car), sameCar); diff != "" {
			r.Fatal(diff)
		}
	})
}

// Whatever the bytes, reading gives a car that is valid and survives its own
// file, or a *fault.Input; never a panic.
func FuzzReadCar(f *testing.F) {
	f.Add([]byte(soundFile))
	for _, name := range cars.Names() {
		_, text, _ := cars.File(name)
		f.Add(text)
		car := builtIn(f, name)
		var file bytes.Buffer
		if err := energy.WriteCarJSON(&file, car); err != nil {
			f.Fatal(err)
		}
		f.Add(file.Bytes())
	}
	for _, text := range []string{"", "[]", "a: &a [*a]", "name: \x00", "? {", "dc_taper: 5", "!!binary x", "name: !x y", "<<: 3", "- 1", "road_load: {coast_down: null}"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		car, err := energy.ReadCar(bytes.NewReader(text), "fuzz.yaml")
		if err != nil {
			var in *fault.Input
			if !errors.As(err, &in) {
				t.Fatalf("error %T %v", err, err)
			}
			return
		}
		if err := car.Validate(); err != nil {
			t.Fatalf("read an invalid car: %v", err)
		}
		if diff := cmp.Diff(car, reread(t, car), sameCar); diff != "" {
			t.Fatal(diff)
		}
	})
}

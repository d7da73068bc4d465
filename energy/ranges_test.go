package energy_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/taper"
)

// bounds is a figure that a function takes from low to high, both included.
type bounds struct {
	field     string // what the error must name
	low, high float64
	give      func(x float64) error
}

// check asks for both ends and for the numbers next to them.
func (b bounds) check(t *testing.T) {
	t.Helper()
	for _, x := range []float64{b.low, b.high} {
		if err := b.give(x); err != nil {
			t.Errorf("%s: %v belongs to the range, but: %v", b.field, x, err)
		}
	}
	for _, x := range []float64{below(b.low), above(b.high), math.NaN()} {
		err := b.give(x)
		var in *fault.Input
		if !errors.As(err, &in) || !strings.Contains(in.Field, b.field) || in.Expected == "" {
			t.Errorf("%s: %v lies outside the range, but: %v", b.field, x, err)
		}
	}
}

func below(x float64) float64 { return math.Nextafter(x, math.Inf(-1)) }
func above(x float64) float64 { return math.Nextafter(x, math.Inf(1)) }

// fullFile uses every key of a car file.
const fullFile = `name: our car
usable_kwh: 60
mass_kg: 1800
rotating_share_pct: 3
road_load: {rolling_coefficient: 0.01, drag_coefficient: 0.28, frontal_area_m2: 2.4}
traction_factor: 1
drive_efficiency_pct: 89
regen_efficiency_pct: 82
regen_limit_kw: 60
auxiliary_w: 250
climate:
  start_wh_per_k: 20
  curve: [{temp_c: -20, power_kw: 4}, {temp_c: 21, power_kw: 0}]
  pack_curve: [{temp_c: 30, power_kw: 0}, {temp_c: 40, power_kw: 1}]
top_speed_kmh: 160
dc_taper: [{soc_pct: 0, power_kw: 100}, {soc_pct: 50, power_kw: 90}, {soc_pct: 100, power_kw: 10}]
pack: [{soc_pct: 10, voltage_v: 330}, {soc_pct: 90, voltage_v: 390}]
ac: {power_kw: 11, phases: 3, current_a: 16, efficiency_pct: 90}
connectors: [CCS2]
adapters: [{station: CHAdeMO, inlet: CCS2, limit_kw: 50, limit_a: 125}]
extras: [{name: box, mass_kg: 50, drag_area_m2: 0.2, top_speed_kmh: 130}]
spread: {trip_pct: 8, leg_pct: 4}
`

const physicalLoad = `road_load: {rolling_coefficient: 0.01, drag_coefficient: 0.28, frontal_area_m2: 2.4}`

const coastDownLoad = `road_load: {coast_down: {a_n: 100, b_n_per_kmh: 1, c_n_per_kmh2: 0.03, test_mass_kg: 1900, aero_share_pct: 90}}`

// A car file with a slipped decimal point or a wrong unit is refused and told
// which key; the ends of each range belong to it.
func TestCarFileRanges(t *testing.T) {
	coastDown := replaced(t, fullFile, physicalLoad, coastDownLoad)
	dragArea := replaced(t, fullFile, physicalLoad, `road_load: {rolling_coefficient: 0.01, drag_area_m2: 0.67}`)
	onePoint := replaced(t, fullFile, "{temp_c: -20, power_kw: 4}, ", "")
	onePack := replaced(t, fullFile, "{soc_pct: 10, voltage_v: 330}, ", "")
	for _, c := range []struct {
		key, file, old string // old ends with the figure
		low, high      float64
	}{
		{"usable_kwh", fullFile, "usable_kwh: 60", 1, 2000},
		{"mass_kg", fullFile, "mass_kg: 1800", 200, 60000},
		{"rotating_share_pct", fullFile, "rotating_share_pct: 3", 0, 20},
		{"road_load.rolling_coefficient", fullFile, "rolling_coefficient: 0.01", 0.002, 0.05},
		{"road_load.drag_coefficient", fullFile, "drag_coefficient: 0.28", 0.05, 2},
		{"road_load.frontal_area_m2", fullFile, "frontal_area_m2: 2.4", 0.5, 15},
		{"road_load.drag_area_m2", dragArea, "drag_area_m2: 0.67", 0.1, 15},
		{"road_load.coast_down.a_n", coastDown, "a_n: 100", 0, 5000},
		{"road_load.coast_down.b_n_per_kmh", coastDown, "b_n_per_kmh: 1", -20, 50},
		{"road_load.coast_down.c_n_per_kmh2", coastDown, "c_n_per_kmh2: 0.03", 0, 2},
		{"road_load.coast_down.test_mass_kg", coastDown, "test_mass_kg: 1900", 200, 60000},
		{"road_load.coast_down.aero_share_pct", coastDown, "aero_share_pct: 90", 0, 100},
		{"traction_factor", fullFile, "traction_factor: 1", 0.2, 5},
		{"drive_efficiency_pct", fullFile, "drive_efficiency_pct: 89", 30, 100},
		{"regen_efficiency_pct", fullFile, "regen_efficiency_pct: 82", 0, 100},
		{"regen_limit_kw", fullFile, "regen_limit_kw: 60", 0, 2000},
		{"auxiliary_w", fullFile, "auxiliary_w: 250", 0, 20000},
		{"climate.start_wh_per_k", fullFile, "start_wh_per_k: 20", 0, 500},
		{"climate.curve[0].temp_c", onePoint, "curve: [{temp_c: 21", -70, 70},
		{"climate.curve[0].power_kw", fullFile, "temp_c: -20, power_kw: 4", 0, 50},
		{"climate.pack_curve[1].power_kw", fullFile, "temp_c: 40, power_kw: 1", 0, 50},
		{"top_speed_kmh", fullFile, "top_speed_kmh: 160", 20, 400},
		{"dc_taper[0].power_kw", fullFile, "soc_pct: 0, power_kw: 100", 0.05, 5000},
		{"dc_taper[1].soc_pct", fullFile, "{soc_pct: 50", 0, 100},
		{"pack[0].soc_pct", onePack, "{soc_pct: 90", 0, 100},
		{"pack[0].voltage_v", fullFile, "voltage_v: 330", 20, 1500},
		{"ac.power_kw", fullFile, "ac: {power_kw: 11", 0.5, 100},
		{"ac.current_a", fullFile, "current_a: 16", 5, 200},
		{"ac.efficiency_pct", fullFile, "efficiency_pct: 90", 40, 100},
		{"adapters[0].limit_kw", fullFile, "limit_kw: 50", 0.5, 5000},
		{"adapters[0].limit_a", fullFile, "limit_a: 125", 5, 5000},
		{"extras[0].mass_kg", fullFile, "box, mass_kg: 50", 0, 20000},
		{"extras[0].drag_area_m2", fullFile, "drag_area_m2: 0.2", 0, 15},
		{"extras[0].top_speed_kmh", fullFile, "0.2, top_speed_kmh: 130", 20, 400},
		{"spread.trip_pct", fullFile, "trip_pct: 8", 0, 60},
		{"spread.leg_pct", fullFile, "leg_pct: 4", 0, 60},
	} {
		words := c.old[:strings.LastIndex(c.old, " ")+1]
		bounds{c.key, c.low, c.high, func(x float64) error {
			return readText(replaced(t, c.file, c.old, words+inYAML(x)))
		}}.check(t)
	}
}

func inYAML(x float64) string {
	if math.IsNaN(x) {
		return ".nan"
	}
	return fmt.Sprint(x)
}

func replaced(t testing.TB, text, old, by string) string {
	t.Helper()
	if strings.Count(text, old) != 1 {
		t.Fatalf("%q stands %d times in the file", old, strings.Count(text, old))
	}
	return strings.Replace(text, old, by, 1)
}

func readText(text string) error {
	_, err := energy.ReadCar(strings.NewReader(text), "ours.yaml")
	return err
}

// What a file may leave out, it may also give as 0 for the default.
func TestCarFileZeroIsLeftOut(t *testing.T) {
	for _, old := range []string{
		"traction_factor: 1", "start_wh_per_k: 20", "top_speed_kmh: 160", "ac: {power_kw: 11", "phases: 3",
		"current_a: 16", "limit_kw: 50", "limit_a: 125", "0.2, top_speed_kmh: 130",
	} {
		words := old[:strings.LastIndex(old, " ")+1]
		if err := readText(replaced(t, fullFile, old, words+"0")); err != nil {
			t.Errorf("%s0: %v", words, err)
		}
	}
}

// Points come in order, names are given and are apart, and an on-board charger
// has one to three phases.
func TestCarFileShape(t *testing.T) {
	for _, c := range []struct {
		name, old, new, field string // field "": sound
	}{
		{"full", "name: our car", "name: our car", ""},
		{"four phases", "phases: 3", "phases: 4", "ac.phases"},
		{"two phases", "phases: 3", "phases: 2", ""},
		{"minus one phase", "phases: 3", "phases: -1", "ac.phases"},
		{"no name", "name: our car", `name: " "`, "name"},
		{"climate twice at one temperature", "{temp_c: 21, power_kw: 0}", "{temp_c: -20, power_kw: 0}", "climate.curve[1].temp_c"},
		{"climate falls back", "{temp_c: 21, power_kw: 0}", "{temp_c: -21, power_kw: 0}", "climate.curve[1].temp_c"},
		{"pack voltage twice at one SoC", "{soc_pct: 90", "{soc_pct: 10", "pack[1].soc_pct"},
		{"pack voltage falls back", "{soc_pct: 90", "{soc_pct: 9", "pack[1].soc_pct"},
		{"taper begins late", "dc_taper: [{soc_pct: 0", "dc_taper: [{soc_pct: 1", "dc_taper[0].soc_pct"},
		{"taper of one point", "{soc_pct: 0, power_kw: 100}, {soc_pct: 50, power_kw: 90}, ", "", "dc_taper"},
		{"taper of two points", "{soc_pct: 50, power_kw: 90}, ", "", ""},
		{"step", "{soc_pct: 50, power_kw: 90}", "{soc_pct: 50, power_kw: 90}, {soc_pct: 50, power_kw: 60}", ""},
		{"step at the start", "{soc_pct: 50, power_kw: 90}", "{soc_pct: 0, power_kw: 90}", ""},
		{"step of three", "{soc_pct: 50, power_kw: 90}", "{soc_pct: 50, power_kw: 90}, {soc_pct: 50, power_kw: 60}, {soc_pct: 50, power_kw: 40}", "dc_taper[3].soc_pct"},
		{"no connector", "[CCS2]", "[]", "connectors"},
		{"blank connector", "[CCS2]", `[CCS2, " "]`, "connectors[1]"},
		{"adapter from nowhere", "station: CHAdeMO", `station: ""`, "adapters[0].station"},
		{"extra without a name", "name: box", `name: ""`, "extras[0].name"},
		{"extras of one name", "extras: [", "extras: [{name: box}, ", "extras[1].name"},
		{"extras of two names", "extras: [", "extras: [{name: bikes}, ", ""},
		{"area twice", "frontal_area_m2: 2.4", "frontal_area_m2: 2.4, drag_area_m2: 0.67", "road_load.drag_area_m2"},
		{"coefficient without area", ", frontal_area_m2: 2.4", "", "road_load.frontal_area_m2"},
		{"area without coefficient", ", drag_coefficient: 0.28", "", "road_load.drag_coefficient"},
	} {
		err := readText(replaced(t, fullFile, c.old, c.new))
		var in *fault.Input
		if c.field == "" && err != nil || c.field != "" && (!errors.As(err, &in) || in.Field != c.field) {
			t.Errorf("%s: %v, want a fault of %q", c.name, err, c.field)
		}
	}
	for _, part := range []string{"rolling_coefficient: 0.01", "drag_coefficient: 0.28", "frontal_area_m2: 2.4", "drag_area_m2: 0.7"} {
		both := strings.TrimSuffix(coastDownLoad, "}") + ", " + part + "}"
		if err := readText(replaced(t, fullFile, physicalLoad, both)); err == nil || !strings.Contains(err.Error(), "both forms") {
			t.Errorf("coast-down beside %s: %v", part, err)
		}
	}
}

// A file is to be read by people: 0.29 is 29 %, not 28.999999999999996.
func TestCarFileWritesRoundFigures(t *testing.T) {
	car := testCar()
	car.RegenEfficiency, car.DriveEfficiency, car.RotatingShare, car.AC.Efficiency = 0.29, 0.57, 0.07, 0.58
	car.TopSpeedMS = 130 / 3.6
	car.Taper = taper.Curve{{SoC: 0, PowerKW: 100}, {SoC: 0.55, PowerKW: 80}, {SoC: 0.57, PowerKW: 60}, {SoC: 1, PowerKW: 10}}
	car.Spread = energy.Spread{Trip: 0.07, Leg: 0.14}
	car.RoadLoad = energy.RoadLoad{CoastDown: &energy.CoastDown{AN: 120, BNPerMS: 1.1 * 3.6, CNPerMS2: 0.03 * 3.6 * 3.6, TestMassKg: 1900, AeroShare: 0.57}}
	var yaml, json bytes.Buffer
	if err := energy.WriteCarYAML(&yaml, car); err != nil {
		t.Fatal(err)
	}
	if err := energy.WriteCarJSON(&json, car); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{yaml.String(), json.String()} {
		if long := regexp.MustCompile(`[0-9.]{8,}`).FindAllString(text, -1); long != nil {
			t.Errorf("%q in\n%s", long, text)
		}
	}
}

// The conditions of a drive are refused beyond what weather and roads have.
func TestConditionsRanges(t *testing.T) {
	drive := func(set func(c *energy.Conditions, x float64)) func(float64) error {
		return func(x float64) error {
			c := energy.Mild()
			set(&c, x)
			_, err := energy.StandingKW(testCar(), c)
			return err
		}
	}
	for _, b := range []bounds{
		{"temp_c", -60, 60, drive(func(c *energy.Conditions, x float64) { c.TempC = x })},
		{"sea_level_hpa", 850, 1100, drive(func(c *energy.Conditions, x float64) { c.SeaLevelHPa = x })},
		{"wind_speed_m_per_s", 0, 60, drive(func(c *energy.Conditions, x float64) { c.WindSpeedMS = x })},
		{"wind_from_deg", -360, 360, drive(func(c *energy.Conditions, x float64) { c.WindFromDeg = x })},
		{"sun_w_per_m2", 0, 1400, drive(func(c *energy.Conditions, x float64) { c.SunWM2 = x })},
		{"payload_kg", 0, 20000, drive(func(c *energy.Conditions, x float64) { c.PayloadKg = x })},
		{"speed_cap_m_per_s", 0, 100, drive(func(c *energy.Conditions, x float64) { c.SpeedCapMS = x })},
		{"state_of_health", 0.2, 1.1, drive(func(c *energy.Conditions, x float64) { c.StateOfHealth = x })},
		{"user_factor", 0.2, 5, drive(func(c *energy.Conditions, x float64) { c.UserFactor = x })},
		{"regen_share", 0, 1, drive(func(c *energy.Conditions, x float64) { c.RegenShare = x })},
	} {
		b.check(t)
	}
}

// So are the figures of a charge.
func TestChargeRanges(t *testing.T) {
	car := testCar()
	supply := func(set func(s *energy.DCSupply, x float64)) func(float64) error {
		return func(x float64) error {
			var s energy.DCSupply
			set(&s, x)
			return s.Validate()
		}
	}
	session := func(pack, air, from, to float64) error {
		_, err := car.Session(energy.DCSupply{}, energy.Battery{}, pack, air, from, to)
		return err
	}
	with := func(usableKWh float64) *energy.Car {
		other := *car
		other.UsableKWh = usableKWh
		return &other
	}
	for _, b := range []bounds{
		{"charger PowerKW", 0, 1e4, supply(func(s *energy.DCSupply, x float64) { s.PowerKW = x })},
		{"charger CurrentA", 0, 1e4, supply(func(s *energy.DCSupply, x float64) { s.CurrentA = x })},
		{"charger VoltageV", 0, 1e4, supply(func(s *energy.DCSupply, x float64) { s.VoltageV = x })},
		{"pack temperature", -100, 100, func(x float64) error { return session(x, 20, 0.5, 0.5) }},
		{"air temperature", -100, 100, func(x float64) error { return session(20, x, 0.5, 0.5) }},
		{"SoC before charging", 0, 1, func(x float64) error { return session(20, 20, x, 1) }},
		{"SoC after charging", 0, 1, func(x float64) error { return session(20, 20, 0, x) }},
		{"usable capacity", 0.1, 1e5, func(x float64) error {
			_, err := with(x).Session(energy.DCSupply{}, energy.Battery{}, 20, 20, 0.5, 0.5)
			return err
		}},
		{"usable capacity", 0.1, 1e5, func(x float64) error { _, err := energy.CommonTaper(x, 100); return err }},
		{"peak DC power", 1, 1e4, func(x float64) error { _, err := energy.CommonTaper(60, x); return err }},
		{"VoltageV", above(0), 1000, func(x float64) error { return energy.Circuit{VoltageV: x, BreakerA: 40}.Validate() }},
		{"BreakerA", above(0), 1000, func(x float64) error { return energy.Circuit{VoltageV: 240, BreakerA: x}.Validate() }},
		{"CableA", 0, 1000, func(x float64) error { return energy.Circuit{VoltageV: 240, BreakerA: 40, CableA: x}.Validate() }},
		{"on-board charger efficiency", above(0), 1, func(x float64) error {
			_, err := energy.OnBoard{PowerKW: 7, Efficiency: x}.On(energy.Circuit{VoltageV: 240, BreakerA: 40})
			return err
		}},
	} {
		b.check(t)
	}
	for phases, sound := range map[int]bool{-1: false, 0: true, 1: true, 2: false, 3: true, 4: false} {
		if err := (energy.Circuit{VoltageV: 240, BreakerA: 40, Phases: phases}).Validate(); (err == nil) != sound {
			t.Errorf("%d phases: %v", phases, err)
		}
	}
}

// And of a night at home.
func TestNightRanges(t *testing.T) {
	sound := energy.Night{Charge: energy.ACCharge{OutletKW: 7, Efficiency: 0.9}, UsableKWh: 60, ArriveMin: 1080, DepartMin: 420}
	night := func(set func(n *energy.Night, x float64)) func(float64) error {
		return func(x float64) error {
			n := sound
			set(&n, x)
			_, err := n.Result()
			return err
		}
	}
	for _, b := range []bounds{
		{"Charge", above(0), 1, night(func(n *energy.Night, x float64) { n.Charge.Efficiency = x })},
		{"UsableKWh", above(0), below(1e6), night(func(n *energy.Night, x float64) { n.UsableKWh = x })},
		{"ArriveSoC", 0, 1, night(func(n *energy.Night, x float64) { n.ArriveSoC = x })},
		{"TargetSoC", 0, 1, night(func(n *energy.Night, x float64) { n.TargetSoC = x })},
		{"PerKWh", above(-1e6), below(1e6), night(func(n *energy.Night, x float64) { n.Rates = []energy.Rate{{PerKWh: x}} })},
	} {
		b.check(t)
	}
	for minute, taken := range map[int][2]bool{-1: {false, false}, 0: {true, true}, 1439: {true, true}, 1440: {false, true}, 1441: {false, false}} {
		clock := func(set func(n *energy.Night)) bool {
			n := energy.Night{Charge: energy.ACCharge{OutletKW: 7, Efficiency: 0.9}, UsableKWh: 60, ArriveMin: 600, DepartMin: 601}
			set(&n)
			_, err := n.Result()
			return err == nil
		}
		for name, c := range map[string]struct{ got, want bool }{
			"arrival":        {clock(func(n *energy.Night) { n.ArriveMin = minute }), taken[0]},
			"departure":      {clock(func(n *energy.Night) { n.DepartMin = minute }), taken[0]},
			"a rate's start": {clock(func(n *energy.Night) { n.Rates = []energy.Rate{{FromMin: minute}} }), taken[1]},
			"a rate's end":   {clock(func(n *energy.Night) { n.Rates = []energy.Rate{{ToMin: minute}} }), taken[1]},
		} {
			if c.got != c.want {
				t.Errorf("minute %d for %s: taken %v, want %v", minute, name, c.got, c.want)
			}
		}
	}
}

// And of a drive.
func TestDriveRanges(t *testing.T) {
	car := testCar()
	mean := func(a, b energy.Moment) error {
		_, err := energy.Drive(car, energy.Mild(), []energy.Moment{a, b}, 30)
		return err
	}
	for _, b := range []bounds{
		{"energy at departure", 0, 60, func(x float64) error { _, err := energy.Drive(car, energy.Mild(), nil, x); return err }},
		{"speed", above(0), below(200), func(x float64) error { _, err := energy.RangeM(car, energy.Mild(), x); return err }},
	} {
		b.check(t)
	}
	for _, c := range []struct {
		name  string
		to    energy.Moment
		sound bool
	}{
		{"a second later", energy.Moment{TimeS: 1, SpeedMS: 1}, true},
		{"at rest", energy.Moment{TimeS: 1}, true},
		{"at once", energy.Moment{SpeedMS: 1}, false},
		{"before", energy.Moment{TimeS: -1, SpeedMS: 1}, false},
		{"never", energy.Moment{TimeS: math.Inf(1), SpeedMS: 1}, false},
		{"backwards", energy.Moment{TimeS: 1, SpeedMS: -1}, false},
		{"as fast as a bullet", energy.Moment{TimeS: 1, SpeedMS: 1000}, false},
		{"in space", energy.Moment{TimeS: 1, SpeedMS: 1, ElevationM: 1e5}, false},
		{"under the ground", energy.Moment{TimeS: 1, SpeedMS: 1, ElevationM: -1e5}, false},
		{"spinning", energy.Moment{TimeS: 1, SpeedMS: 1, BearingDeg: 1e6}, false},
	} {
		err := mean(energy.Moment{}, c.to)
		var in *fault.Input
		if c.sound && err != nil || !c.sound && (!errors.As(err, &in) || in.Where != "moment 1") {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if err := mean(energy.Moment{TimeS: math.Inf(-1), SpeedMS: 1}, energy.Moment{TimeS: 1, SpeedMS: 1}); err == nil {
		t.Error("a drive that began at the beginning of time was followed")
	}
}

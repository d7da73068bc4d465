package energy

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Validate says what a car cannot be, by the key it has in a car file; nil if
// every value is in its range. The error is a *fault.Input.
func (c *Car) Validate() error {
	if m := newCarFile(c).check(); m != nil {
		return &fault.Input{File: c.Name, Field: m.path[2:], Found: m.found, Expected: m.expected}
	}
	return nil
}

// checker collects the first misfit.
type checker struct{ first *misfit }

func (k *checker) fail(path, found, expected string) {
	if k.first == nil {
		k.first = &misfit{"$." + path, found, expected}
	}
}

func (k *checker) within(path string, value, low, high float64) {
	if !(value >= low && value <= high) {
		k.fail(path, digits(value), fmt.Sprintf("a number from %v to %v", low, high))
	}
}

func (k *checker) optional(path string, value *float64, low, high float64) {
	if value != nil {
		k.within(path, *value, low, high)
	}
}

func (k *checker) orZero(path string, value, low, high float64) {
	if value != 0 {
		k.within(path, value, low, high)
	}
}

func blank(text quoted) bool { return strings.TrimSpace(string(text)) == "" }

func digits(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// check returns the first value out of range, or nil. The ranges are wide:
// they catch a wrong unit or a slipped decimal point, not an odd car.
func (f *carFile) check() *misfit {
	var k checker
	if blank(f.Name) {
		k.fail("name", strconv.Quote(string(f.Name)), "a name")
	}
	if f.MadeFrom != "" && !slices.Contains(Origins(), f.MadeFrom) {
		k.fail("made_from", strconv.Quote(string(f.MadeFrom)), "class, label, tables or log; without it how well the car is known counts as not known")
	}
	k.within("usable_kwh", f.UsableKWh, 1, 2000)
	k.within("mass_kg", f.MassKg, 200, 60000)
	k.optional("rotating_share_pct", f.RotatingShare, 0, 20)
	f.RoadLoad.check(&k)
	k.orZero("traction_factor", f.TractionFactor, 0.2, 5)
	k.optional("drive_efficiency_pct", f.DriveEfficiency, 30, 100)
	k.optional("regen_efficiency_pct", f.RegenEfficiency, 0, 100)
	k.optional("regen_limit_kw", f.RegenLimitKW, 0, 2000)
	k.optional("auxiliary_w", f.AuxiliaryW, 0, 20000)
	f.Climate.check(&k)
	k.orZero("top_speed_kmh", f.TopSpeedKMH, 20, 400)
	f.checkTaper(&k)
	f.checkPack(&k)
	f.AC.check(&k)
	f.checkPlugs(&k)
	f.checkExtras(&k)
	if s := f.Spread; s != nil {
		k.within("spread.trip_pct", s.TripPct, 0, 60)
		k.within("spread.leg_pct", s.LegPct, 0, 60)
	}
	return k.first
}

func (r *roadLoadFile) check(k *checker) {
	if c := r.CoastDown; c != nil {
		if r.RollingCoefficient != 0 || r.DragCoefficient != 0 || r.FrontalAreaM2 != 0 || r.DragAreaM2 != 0 {
			k.fail("road_load", "both forms", "either coast_down or rolling_coefficient with a drag area")
		}
		k.within("road_load.coast_down.a_n", c.AN, 0, 5000)
		k.within("road_load.coast_down.b_n_per_kmh", c.BNPerKMH, -20, 50)
		k.within("road_load.coast_down.c_n_per_kmh2", c.CNPerKMH2, 0, 2)
		k.within("road_load.coast_down.test_mass_kg", c.TestMassKg, 200, 60000)
		k.optional("road_load.coast_down.aero_share_pct", c.AeroSharePct, 0, 100)
		return
	}
	k.within("road_load.rolling_coefficient", r.RollingCoefficient, 0.002, 0.05)
	if r.DragCoefficient == 0 && r.FrontalAreaM2 == 0 {
		k.within("road_load.drag_area_m2", r.DragAreaM2, 0.1, 15)
		return
	}
	if r.DragAreaM2 != 0 {
		k.fail("road_load.drag_area_m2", digits(r.DragAreaM2), "either drag_area_m2 or drag_coefficient with frontal_area_m2")
	}
	k.within("road_load.drag_coefficient", r.DragCoefficient, 0.05, 2)
	k.within("road_load.frontal_area_m2", r.FrontalAreaM2, 0.5, 15)
}

func (c *climateFile) check(k *checker) {
	if c.Heater != "" && c.Heater != heaterPump && c.Heater != heaterResistive {
		k.fail("climate.heater", strconv.Quote(c.Heater), `"resistive" or "heat pump"`)
	}
	k.orZero("climate.start_wh_per_k", c.StartWhPerK, 0, 500)
	checkPower(k, "climate.curve", c.Curve)
	checkPower(k, "climate.pack_curve", c.PackCurve)
}

func checkPower(k *checker, path string, curve []powerFile) {
	for i, p := range curve {
		k.within(fmt.Sprintf("%s[%d].temp_c", path, i), p.TempC, -70, 70)
		k.within(fmt.Sprintf("%s[%d].power_kw", path, i), p.PowerKW, 0, 50)
		if i > 0 && p.TempC <= curve[i-1].TempC {
			k.fail(fmt.Sprintf("%s[%d].temp_c", path, i), digits(p.TempC), "more than the point before it")
		}
	}
}

func (f *carFile) checkTaper(k *checker) {
	if len(f.Taper) < 2 {
		k.fail("dc_taper", fmt.Sprintf("%d points", len(f.Taper)), "at least two points, from soc_pct 0 to 100")
		return
	}
	for i, p := range f.Taper {
		k.within(fmt.Sprintf("dc_taper[%d].power_kw", i), p.PowerKW, 0.05, 5000)
		k.within(fmt.Sprintf("dc_taper[%d].soc_pct", i), p.SoCPct, 0, 100)
		if i > 0 && p.SoCPct < f.Taper[i-1].SoCPct {
			k.fail(fmt.Sprintf("dc_taper[%d].soc_pct", i), digits(p.SoCPct), "no less than the point before it")
		}
		if i > 1 && p.SoCPct == f.Taper[i-2].SoCPct {
			k.fail(fmt.Sprintf("dc_taper[%d].soc_pct", i), digits(p.SoCPct), "at most two points at one soc_pct, which make a step")
		}
	}
	if first := f.Taper[0].SoCPct; first != 0 {
		k.fail("dc_taper[0].soc_pct", digits(first), "0")
	}
	if last := len(f.Taper) - 1; f.Taper[last].SoCPct != 100 {
		k.fail(fmt.Sprintf("dc_taper[%d].soc_pct", last), digits(f.Taper[last].SoCPct), "100 at the last point")
	}
}

func (f *carFile) checkPack(k *checker) {
	for i, p := range f.Pack {
		k.within(fmt.Sprintf("pack[%d].soc_pct", i), p.SoCPct, 0, 100)
		k.within(fmt.Sprintf("pack[%d].voltage_v", i), p.VoltageV, 20, 1500)
		if i > 0 && p.SoCPct <= f.Pack[i-1].SoCPct {
			k.fail(fmt.Sprintf("pack[%d].soc_pct", i), digits(p.SoCPct), "more than the point before it")
		}
	}
}

func (a *acFile) check(k *checker) {
	k.orZero("ac.power_kw", a.PowerKW, 0.5, 100)
	k.orZero("ac.phases", float64(a.Phases), 1, 3)
	k.orZero("ac.current_a", a.CurrentA, 5, 200)
	k.optional("ac.efficiency_pct", a.EfficiencyPct, 40, 100)
}

func (f *carFile) checkPlugs(k *checker) {
	if len(f.Connectors) == 0 {
		k.fail("connectors", "none", "at least one, such as CCS2")
	}
	for i, name := range f.Connectors {
		if blank(name) {
			k.fail(fmt.Sprintf("connectors[%d]", i), strconv.Quote(string(name)), "a connector's name")
		}
	}
	for i, a := range f.Adapters {
		path := fmt.Sprintf("adapters[%d]", i)
		if blank(a.Station) {
			k.fail(path+".station", strconv.Quote(string(a.Station)), "the station's connector")
		}
		if !slices.Contains(f.Connectors, a.Inlet) {
			k.fail(path+".inlet", strconv.Quote(string(a.Inlet)), "one of the car's connectors")
		}
		k.orZero(path+".limit_kw", a.LimitKW, 0.5, 5000)
		k.orZero(path+".limit_a", a.LimitA, 5, 5000)
	}
}

func (f *carFile) checkExtras(k *checker) {
	seen := map[quoted]bool{}
	for i, e := range f.Extras {
		path := fmt.Sprintf("extras[%d]", i)
		if blank(e.Name) || seen[e.Name] {
			k.fail(path+".name", strconv.Quote(string(e.Name)), "a name of its own")
		}
		seen[e.Name] = true
		k.within(path+".mass_kg", e.MassKg, 0, 20000)
		k.within(path+".drag_area_m2", e.DragAreaM2, 0, 15)
		k.orZero(path+".top_speed_kmh", e.TopSpeedKMH, 20, 400)
	}
}

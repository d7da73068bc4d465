package energy_test

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode"

	"ampleway/energy"
	"ampleway/testdata"
)

// measured is one car of the US EPA test car list: coast-down coefficients in
// lbf and mph, equivalent test weight in lb, unadjusted energy at the outlet
// in kWh per 100 miles on the city (UDDS) and highway (HWFET) tests.
type measured struct {
	name          string
	weightLb      float64
	a, b, c       float64
	city, highway float64
}

const kWhPerGallon = 33.705 // 40 CFR 600.002, for figures given as MPGe

func mpge(runs ...float64) float64 {
	var sum float64
	for _, r := range runs {
		sum += 100 * kWhPerGallon / r
	}
	return sum / float64(len(runs))
}

// US EPA test car list, model year 2022, twelve battery cars. They are named
// as the list names them because the measurements are theirs; where two runs
// stand, the mean energy is taken.
var measuredCars = []measured{
	{"147 hp hatch", 3875, 25.890, 0.34490, 0.019450, mpge(174.0, 177.1), mpge(141.1, 141.3)},
	{"214 hp hatch", 4250, 28.150, 0.28920, 0.020090, mpge(167.8, 169.1), mpge(138.9, 139.1)},
	{"small crossover 1", 4000, 24.859, -0.20036, 0.023656, 17.2, 21.7},
	{"small crossover 2", 4250, 32.717, -0.19110, 0.023073, 19.2, 23.3},
	{"crossover 3 RWD", 4500, 25.158, 0.10857, 0.022881, 17.6, 23.9},
	{"crossover 3 AWD", 5000, 34.342, 0.21928, 0.022718, 22.4, 27.4},
	{"crossover 4 RWD", 4500, 23.313, 0.11939, 0.022206, 17.1, 22.7},
	{"crossover 5 RWD", 4750, 23.987, 0.29124, 0.016006, mpge(168.2, 170.9), mpge(142.7, 142.8)},
	{"crossover 6 RWD", 4750, 31.430, 0.12790, 0.021520, mpge(157.4), mpge(136.9)},
	{"sedan 18in", 5000, 33.900, 0.03400, 0.016680, mpge(156.3), mpge(154.8)},
	{"small three-door", 3500, 27.400, 0.43100, 0.014950, mpge(169.6), mpge(143.5)},
	{"sedan single motor", 4750, 31.110, 0.21910, 0.016250, mpge(159.5), mpge(141.3)},
}

// onDynamometer is the car of a test: its coefficients and weight, the
// constant set of efficiencies for everything else.
func (m measured) onDynamometer() *energy.Car {
	car := testCar()
	car.Name = m.name
	car.UsableKWh = 100
	car.RoadLoad = energy.RoadLoad{CoastDown: energy.CoastDownUS(m.a, m.b, m.c, m.weightLb)}
	car.MassKg = car.RoadLoad.CoastDown.TestMassKg
	return car
}

// dynamometer is a test cell at 20 °C whose rollers give the coast-down force
// itself: the pressure makes the air as dense as the coefficients' reference.
func dynamometer() energy.Conditions {
	return energy.Conditions{TempC: 20, SeaLevelHPa: 982.1, ClimateOff: true}
}

// outletKWh100mi is the energy at the outlet for 100 miles of a cycle.
func outletKWh100mi(t testing.TB, car *energy.Car, moments []energy.Moment) (kWh float64, run energy.Run) {
	t.Helper()
	run, err := energy.Drive(car, dynamometer(), moments, 50)
	if err != nil {
		t.Fatal(err)
	}
	return run.BatteryKWh / car.AC.Efficiency / run.DistanceM * 160934.4, run
}

// fitted is the errors of one car: with the constant set, and with the
// traction factor that makes the highway figure right.
type fitted struct {
	measured
	cityError, highwayError             float64
	factor                              float64
	fittedCityError, fittedHighwayError float64
	// The two figures together, by a factor and a constant load.
	bothFactor, loadW float64
}

func fit(t testing.TB, m measured, udds, hwfet []energy.Moment) fitted {
	car := m.onDynamometer()
	city, cityRun := outletKWh100mi(t, car, udds)
	highway, run := outletKWh100mi(t, car, hwfet)
	f := fitted{measured: m, cityError: city/m.city - 1, highwayError: highway/m.highway - 1}
	f.factor = 1 + (m.highway/highway-1)*run.BatteryKWh/run.DriveKWh
	f.bothFactor, f.loadW = both(cityRun, run, m.city/city, m.highway/highway)
	car.TractionFactor = f.factor
	city, _ = outletKWh100mi(t, car, udds)
	highway, _ = outletKWh100mi(t, car, hwfet)
	f.fittedCityError, f.fittedHighwayError = city/m.city-1, highway/m.highway-1
	return f
}

// both solves for the factor on traction and the constant load in W that
// together give both measured figures.
func both(city, highway energy.Run, cityRatio, highwayRatio float64) (factor, loadW float64) {
	missing := func(r energy.Run, ratio float64) float64 { return r.BatteryKWh * (ratio - 1) }
	ch, hh := city.TimeS/3600, highway.TimeS/3600
	det := city.DriveKWh*hh - highway.DriveKWh*ch
	c, h := missing(city, cityRatio), missing(highway, highwayRatio)
	return 1 + (c*hh-h*ch)/det, 1000 * (city.DriveKWh*h - highway.DriveKWh*c) / det
}

// cause says in words what would make a car an outlier: what is left of it
// when a factor, a constant load, or both are allowed.
func (f fitted) cause() string {
	switch {
	case math.Abs(f.fittedCityError) <= 0.12 && f.factor > 1:
		return "the drive train takes more than the constant set, one factor explains both figures"
	case math.Abs(f.fittedCityError) <= 0.12:
		return fmt.Sprintf("measured below its listed coefficients, one factor explains both figures: of the outlet's energy %.0f %% would have to reach the wheels, so other coefficients than the listed are likely",
			100*energy.DefaultDriveEfficiency*energy.DefaultACEfficiency/f.factor)
	case f.loadW > 400:
		return fmt.Sprintf("a constant load of %.0f W beside a factor of %.2f: electronics that always run, or poor regeneration in the city", f.loadW, f.bothFactor)
	}
	return "not explained by a factor or a load"
}

// Bounds: the published values state that one constant set of efficiencies
// reproduces the highway energy of these cars within about 8 % and the city
// within about 17 %.
func TestOneConstantSetReproducesTheTestCars(t *testing.T) {
	udds, hwfet := cycle(t, "udds"), cycle(t, "hwfet")
	t.Logf("%-20s %8s %8s %8s %11s %11s", "car", "highway", "city", "factor", "hwy fitted", "city fitted")
	for _, m := range measuredCars {
		f := fit(t, m, udds, hwfet)
		t.Logf("%-20s %+7.1f%% %+7.1f%% %8.3f %+10.2f%% %+10.1f%%", m.name,
			100*f.highwayError, 100*f.cityError, f.factor, 100*f.fittedHighwayError, 100*f.fittedCityError)
		near(t, m.name+" highway", f.highwayError, 0, 0.08)
		near(t, m.name+" city", f.cityError, 0, 0.17)
		near(t, m.name+" highway, fitted there", f.fittedHighwayError, 0, 0.02)
		near(t, m.name+" city, fitted on highway", f.fittedCityError, 0, 0.12)
	}
}

// The list of model year 2023 (open data, US EPA): every car with both tests.
// The distribution and each car outside the band of the twelve is printed with
// what would explain it. Bounds: at least two cars in three inside the band,
// medians within 5 %, and, fitted on the highway, the city of nine in ten
// within 12 %.
func TestTheLongTestCarListHasItsDistribution(t *testing.T) {
	udds, hwfet := cycle(t, "udds"), cycle(t, "hwfet")
	list := readTestCars(t)
	var city, highway, fittedCity []float64
	inside, fittedInside := 0, 0
	causes := map[string]int{}
	for _, m := range list {
		f := fit(t, m, udds, hwfet)
		city, highway, fittedCity = append(city, f.cityError), append(highway, f.highwayError), append(fittedCity, f.fittedCityError)
		if math.Abs(f.fittedCityError) <= 0.12 {
			fittedInside++
		}
		if math.Abs(f.highwayError) <= 0.08 && math.Abs(f.cityError) <= 0.17 {
			inside++
			continue
		}
		cause := f.cause()
		causes[strings.FieldsFunc(cause, func(r rune) bool { return r == ':' || unicode.IsDigit(r) })[0]]++
		t.Logf("outside: %-60s %5.0f lb  highway %+6.1f %%  city %+6.1f %%  factor %.3f  city fitted %+6.1f %%: %s",
			m.name, m.weightLb, 100*f.highwayError, 100*f.cityError, f.factor, 100*f.fittedCityError, cause)
	}
	t.Logf("%d cars, %d inside highway 8 %% and city 17 %%; fitted on the highway, the city of %d within 12 %%", len(list), inside, fittedInside)
	for _, cause := range slices.Sorted(maps.Keys(causes)) {
		t.Logf("%3d outside: %s", causes[cause], cause)
	}
	for _, d := range []struct {
		name   string
		errors []float64
	}{{"highway", highway}, {"city", city}, {"city, fitted on highway", fittedCity}} {
		t.Logf("%-25s %s", d.name, distribution(d.errors))
		near(t, d.name+" median", d.errors[len(d.errors)/2], 0, 0.05)
	}
	if len(list) < 100 {
		t.Errorf("only %d cars read", len(list))
	}
	if inside*3 < len(list)*2 {
		t.Errorf("%d of %d cars inside the band, want two in three", inside, len(list))
	}
	if fittedInside*10 < len(list)*9 {
		t.Errorf("%d of %d cars fitted within 12 %%, want nine in ten", fittedInside, len(list))
	}
}

func distribution(errors []float64) string {
	slices.Sort(errors)
	var sum, squares float64
	for _, e := range errors {
		sum, squares = sum+e, squares+e*e
	}
	n := float64(len(errors))
	at := func(q float64) float64 { return 100 * errors[int(q*(n-1)+0.5)] }
	return fmt.Sprintf("mean %+.1f%% rms %.1f%%  least %+.1f  5%% %+.1f  25%% %+.1f  50%% %+.1f  75%% %+.1f  95%% %+.1f  most %+.1f",
		100*sum/n, 100*math.Sqrt(squares/n), at(0), at(.05), at(.25), at(.5), at(.75), at(.95), at(1))
}

// readTestCars reads the cars of the 2023 list that have a city and a highway
// test with the same coefficients. The unit column says MPG throughout;
// figures below 45 are kWh/100 mi, as the list's own values show.
func readTestCars(t testing.TB) []measured {
	t.Helper()
	file, err := os.Open(testdata.OpenData(t, "vehicles", "us-epa-test-cars-2023-electric.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[strings.TrimSpace(name)] = i
	}
	type key struct{ id, config, a, b, c, weight string }
	byCar := map[key]*measured{}
	runs := map[key][2][]float64{}
	for _, row := range rows[1:] {
		get := func(name string) string { return row[column[name]] }
		k := key{get("Test Vehicle ID"), get("Test Veh Configuration #"), get("Target Coef A (lbf)"),
			get("Target Coef B (lbf/mph)"), get("Target Coef C (lbf/mph**2)"), get("Equivalent Test Weight (lbs.)")}
		figure := get("RND_ADJ_FE")
		var test int
		switch get("Test Procedure Description") {
		case "Charge Depleting UDDS":
			test = 0
		case "Charge Depleting Highway":
			test = 1
		default:
			continue
		}
		if figure == "" || k.a == "" || k.b == "" || k.c == "" {
			continue
		}
		value := parse(t, figure)
		if value >= 45 {
			value = mpge(value)
		}
		if byCar[k] == nil {
			byCar[k] = &measured{
				name:     get("Represented Test Veh Make") + " " + get("Represented Test Veh Model") + " " + k.id + "/" + k.config,
				weightLb: parse(t, k.weight), a: parse(t, k.a), b: parse(t, k.b), c: parse(t, k.c),
			}
		}
		both := runs[k]
		both[test] = append(both[test], value)
		runs[k] = both
	}
	var out []measured
	for k, m := range byCar {
		both := runs[k]
		if len(both[0]) == 0 || len(both[1]) == 0 {
			continue
		}
		m.city, m.highway = mean(both[0]), mean(both[1])
		out = append(out, *m)
	}
	slices.SortFunc(out, func(x, y measured) int {
		return cmp.Or(strings.Compare(x.name, y.name), cmp.Compare(x.a, y.a))
	})
	return out
}

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

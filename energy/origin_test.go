package energy_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"ampleway/energy"
)

// margin is the share by which consumption on one leg lies above the estimate
// with 5 %, of two log-normal factors of mean 1: with s² the sum of their
// variances, exp(1.645 s − s²/2) − 1.
func margin(s energy.Spread) float64 {
	variance := math.Log1p(s.Trip*s.Trip) + math.Log1p(s.Leg*s.Leg)
	return math.Expm1(1.6448536*math.Sqrt(variance) - variance/2)
}

// The cars of the US EPA test car list of 2023, each set to its own highway
// test, at a steady 110 km/h, against what is predicted for it from the nearest
// class alone and from its label (40 CFR 600.210-12: the city and highway tests
// weighted, over 0.7). 95 in 100 must lie within the margin; without the
// spreads of class and label, at 8 and 4 %, more do not.
func TestMarginsOfClassAndLabelHoldForTheTestCars(t *testing.T) {
	steady := energy.AtOneHertz(slices.Repeat([]float64{110 / 3.6}, 601))
	udds, hwfet := cycle(t, "udds"), cycle(t, "hwfet")
	var class, label []float64
	for _, m := range readTestCars(t) {
		car := m.onDynamometer()
		car.TractionFactor = fit(t, m, udds, hwfet).factor
		nearest, err := energy.NearestClass(car.MassKg)
		if err != nil {
			t.Fatal(err)
		}
		rated := (0.55*m.city + 0.45*m.highway) / 0.7 / 1.609344
		fromLabel, _, err := energy.NewCar(energy.OwnerFigures{
			Name: m.name, Like: nearest, UsableKWh: nearest.UsableKWh, MassKg: car.MassKg, OutletKWhPer100km: rated,
		})
		if err != nil {
			t.Fatal(err)
		}
		uses := func(car *energy.Car) float64 {
			run, err := energy.Drive(car, dynamometer(), steady, car.UsableKWh)
			if err != nil {
				t.Fatal(err)
			}
			return run.BatteryKWh
		}
		class, label = append(class, uses(car)/uses(nearest)-1), append(label, uses(car)/uses(fromLabel)-1)
	}
	for _, c := range []struct {
		from       energy.Origin
		more       []float64
		published  float64 // needed by 95 in 100 of 113 cars, measured on 27 November 2026
		mostMargin float64 // beyond which a margin is not a statement about cars
	}{{energy.FromClass, class, 0.39, 0.42}, {energy.FromLabel, label, 0.27, 0.30}} {
		slices.Sort(c.more)
		n := len(c.more)
		above := func(m float64) float64 {
			at, _ := slices.BinarySearch(c.more, m)
			return float64(n-at) / float64(n)
		}
		planned := margin(read(t, "made_from: "+string(c.from)).PlanSpread())
		t.Logf("%s: %d cars, 95 in 100 within %+.1f %%; margin %.1f %%, above it %.1f %%, above that of 8 and 4 %% %.1f %%",
			c.from, n, 100*c.more[n*95/100], 100*planned, 100*above(planned), 100*above(margin(energy.Spread{Trip: 0.08, Leg: 0.04})))
		if above(planned) > 0.05 || planned < c.published || planned > c.mostMargin {
			t.Errorf("%s: margin %.3f, %.1f %% of the cars above it", c.from, planned, 100*above(planned))
		}
		if above(margin(energy.Spread{Trip: 0.08, Leg: 0.04})) < 0.08 {
			t.Errorf("%s: 8 and 4 %% would do, so this list shows nothing", c.from)
		}
	}
}

// read is the sound car file with more lines.
func read(t *testing.T, more string) *energy.Car {
	t.Helper()
	car, err := energy.ReadCar(strings.NewReader(soundFile+"\n"+more+"\n"), "ours.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// What a plan allows for, and whether it may be called a probability, for each
// thing that a car file can say.
func TestSpreadFollowsWhatTheCarWasMadeFrom(t *testing.T) {
	class, label := energy.Spread{Trip: 0.22, Leg: 0.04}, energy.Spread{Trip: 0.16, Leg: 0.04}
	for _, c := range []struct {
		file       string
		plans      energy.Spread
		calibrated bool
	}{
		{"", class, false},
		{"made_from: class", class, true},
		{"made_from: label", label, true},
		{"made_from: tables", class, false},
		{"made_from: log", energy.Spread{Trip: 0.16, Leg: 0.08}, false},
		{"made_from: log\nspread: {trip_pct: 7, leg_pct: 3}", energy.Spread{Trip: 0.14, Leg: 0.06}, false},
		{"made_from: log\nspread: {trip_pct: 2, leg_pct: 1}", energy.Spread{Trip: 0.08, Leg: 0.04}, false},
		{"made_from: tables\nspread: {trip_pct: 7, leg_pct: 3}", energy.Spread{Trip: 0.07, Leg: 0.03}, true},
		{"spread: {trip_pct: 7, leg_pct: 3}", energy.Spread{Trip: 0.07, Leg: 0.03}, true},
		{"spread: {trip_pct: 8, leg_pct: 4}", class, false},
		{"made_from: class\nspread: {trip_pct: 8, leg_pct: 4}", energy.Spread{Trip: 0.08, Leg: 0.04}, true},
	} {
		car := read(t, c.file)
		if car.PlanSpread() != c.plans || car.Calibrated() != c.calibrated {
			t.Errorf("%q: plans with %+v, calibrated %v; want %+v, %v", c.file, car.PlanSpread(), car.Calibrated(), c.plans, c.calibrated)
		}
		if again := reread(t, car); again.PlanSpread() != c.plans || again.Calibrated() != c.calibrated || again.MadeFrom != car.MadeFrom {
			t.Errorf("%q: %+v written and read is %+v", c.file, car, again)
		}
	}
}

// A car made from figures is known as well as these figures, whatever the car
// that says the rest was made from.
func TestNewCarSaysWhatItIsMadeFrom(t *testing.T) {
	like := read(t, "made_from: log\nspread: {trip_pct: 3, leg_pct: 1}")
	label := energy.OwnerFigures{Name: "ours", Like: like, UsableKWh: 60, RangeKm: 400}
	highway, coastDown := label, label
	highway.Rating = energy.RatingHighway
	coastDown.CoastDown = energy.CoastDownUS(30, 0.1, 0.02, 4000)
	for want, f := range map[energy.Origin][]energy.OwnerFigures{energy.FromLabel: {label}, energy.FromTables: {highway, coastDown}} {
		for _, figures := range f {
			car, _, err := energy.NewCar(figures)
			if err != nil {
				t.Fatal(err)
			}
			if car.MadeFrom != want || car.OwnSpread || car.PlanSpread() != read(t, "made_from: "+string(want)).PlanSpread() {
				t.Errorf("made from %q, spread %+v, own %v; want %q", car.MadeFrom, car.PlanSpread(), car.OwnSpread, want)
			}
		}
	}
}

package fit

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"ampleway/data/cars"
	"ampleway/energy"
)

func builtIn(t testing.TB, name string) *energy.Car {
	t.Helper()
	file, text, _ := cars.File(name)
	car, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// wander is an invented drive over hills, with stops.
func wander(seed uint64, seconds int, tempC float64) *Log {
	rng := rand.New(rand.NewPCG(seed, 3))
	l := &Log{Name: "wander"}
	speed, height := 0.0, 400.0
	nan := math.NaN()
	for s := range seconds {
		if s%90 < 10 {
			speed = max(speed-2, 0)
		} else {
			speed = min(max(speed+1.5*rng.NormFloat64()+0.1, 0), 38)
		}
		height += 0.3 * rng.NormFloat64()
		l.Samples = append(l.Samples, Sample{float64(s), speed, height, 5 * rng.NormFloat64(), nan, nan, nan, tempC, nan})
	}
	return l
}

// The fit has its own fast form of road load. It says the same as energy.Drive
// to the accuracy of that package's table of air densities.
func TestSamePhysicsAsDrive(t *testing.T) {
	coast := builtIn(t, "crossover")
	coast.RoadLoad = energy.RoadLoad{CoastDown: energy.CoastDownUS(30, 0.2, 0.021, 4500)}
	coast.RoadLoad.CoastDown.AeroShare = 0.8
	coast.TractionFactor = 1.07
	for _, car := range []*energy.Car{builtIn(t, "small-hatch"), builtIn(t, "van"), coast} {
		rapid.Check(t, func(r *rapid.T) {
			tempC := rapid.Float64Range(-20, 40).Draw(r, "tempC")
			trip, refusal := prepare(wander(rapid.Uint64().Draw(r, "seed"), 401, tempC))
			if refusal != nil {
				r.Fatal(refusal)
			}
			trip.packC = rapid.SampledFrom([]float64{math.NaN(), 3}).Draw(r, "packC")
			d, err := newDrive(car, trip, false)
			if err != nil {
				r.Fatal(err)
			}
			th := theta{
				pFactor: rapid.Float64Range(0.8, 1.3).Draw(r, "factor"), pAux: rapid.Float64Range(0, 1).Draw(r, "aux"),
				pRolling: rapid.Float64Range(0.7, 1.5).Draw(r, "rolling"), pDrag: rapid.Float64Range(0.7, 1.5).Draw(r, "drag"),
				pMass: rapid.Float64Range(0.8, 1.2).Draw(r, "mass"), pRegen: rapid.Float64Range(0.5, 0.95).Draw(r, "regen"), pCold: 3,
			}
			var own float64
			for i := range d.windows {
				own += d.predictKWh(&d.windows[i], &th)
			}
			public, err := d.roadKWh(car, &th)
			if err != nil {
				r.Fatal(err)
			}
			if math.Abs(own-public) > 1e-4*math.Abs(public)+1e-6 {
				r.Fatalf("%s: %.8f kWh, energy.Drive says %.8f", car.Name, own, public)
			}
		})
	}
}

// The climate model in closed form against energy.Drive, at times that the
// probe of an hour does not hold.
func TestSameClimateAsDrive(t *testing.T) {
	for _, name := range cars.Names() {
		car := builtIn(t, name)
		for _, tempC := range []float64{-18, 0, 12, 34} {
			c, err := newCabin(car, tempC)
			if err != nil {
				t.Fatal(err)
			}
			for _, untilS := range []float64{60, 600, 2400} {
				run, err := energy.Drive(car, energy.Conditions{TempC: tempC}, []energy.Moment{{TimeS: 0}, {TimeS: untilS}}, 0)
				if err != nil {
					t.Fatal(err)
				}
				if got := c.kWh(0, untilS, cabinFit{1, 1}); math.Abs(got-run.ClimateKWh) > 1e-9 {
					t.Errorf("%s, %v °C, %v s: %v kWh, energy.Drive says %v", name, tempC, untilS, got, run.ClimateKWh)
				}
			}
		}
	}
}

// A fitted climate model written into the car gives the fitted energies.
func TestAppliedCabin(t *testing.T) {
	car := builtIn(t, "crossover")
	want := cabinFit{steady: 0.6, start: 1.4}
	fitted, err := applyCabin(car, want)
	if err != nil {
		t.Fatal(err)
	}
	for _, tempC := range []float64{-20, -3, 5, 15, 24, 33} {
		given, err := newCabin(car, tempC)
		if err != nil {
			t.Fatal(err)
		}
		got, err := newCabin(fitted, tempC)
		if err != nil {
			t.Fatal(err)
		}
		a, b := given.kWh(0, 1500, want), got.kWh(0, 1500, cabinFit{1, 1})
		if math.Abs(a-b) > 1e-3*a+1e-4 {
			t.Errorf("%v °C: %v kWh, the written car %v", tempC, a, b)
		}
	}
}

// The gradient against central differences.
func TestGradient(t *testing.T) {
	car := builtIn(t, "small-hatch")
	rapid.Check(t, func(r *rapid.T) {
		trip, refusal := prepare(wander(rapid.Uint64().Draw(r, "seed"), 101, 4))
		if refusal != nil {
			r.Fatal(refusal)
		}
		trip.packC = rapid.SampledFrom([]float64{math.NaN(), 2.5, 41.3}).Draw(r, "packC")
		d, err := newDrive(car, trip, false)
		if err != nil {
			r.Fatal(err)
		}
		th := theta{1.1, 0.4, 1.2, 0.9, 1.05, 0.8, rapid.Float64Range(1, 5).Draw(r, "cold")}
		for i := range d.windows {
			w := &d.windows[i]
			got := d.gradientKWh(w, &th)
			for p := range th {
				up, down := th, th
				up[p] += 1e-6
				down[p] -= 1e-6
				want := (d.predictKWh(w, &up) - d.predictKWh(w, &down)) / 2e-6
				if math.Abs(got[p]-want) > 1e-5*math.Abs(want)+1e-6 {
					r.Fatalf("%s: %v, differences give %v", parameterNames[p], got[p], want)
				}
			}
		}
	})
}

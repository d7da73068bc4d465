package fit_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"ampleway/energy"
	"ampleway/energy/fit"
	"ampleway/testdata"
)

// Invented drives: a driver who stands, pulls away, holds a speed with small
// changes and brakes, over town, country and motorway, on rolling hills. The
// energy comes from energy.Drive, which the fit does not use to estimate.

// course is an invented drive of a true car, second by second.
type course struct {
	moments []energy.Moment
	driveKW []float64 // out of the battery for traction, before the user factor
	regenKW []float64
	tempC   float64
}

func newCourse(t testing.TB, car *energy.Car, rng *rand.Rand, minutes int) course {
	t.Helper()
	c := course{tempC: 5 + 20*rng.Float64()}
	fast := rng.Float64()
	hill, phase := 10+25*rng.Float64(), 2*math.Pi*rng.Float64()
	var speed, chainage, aim, hold float64
	for s := range 60*minutes + 1 {
		c.moments = append(c.moments, energy.Moment{TimeS: float64(s), SpeedMS: speed, ElevationM: 300 + hill*math.Sin(chainage/2500+phase)})
		if hold--; hold < 0 {
			hold = 15 + 60*rng.Float64()
			switch u := rng.Float64(); {
			case u < 0.15:
				aim, hold = 0, 10+20*rng.Float64()
			case u < 0.2+0.5*fast:
				aim = 22 + 12*rng.Float64()
			default:
				aim = 8 + 14*rng.Float64()
			}
		}
		change := min(max((aim-speed)*0.2, -2), 1.5) + 0.15*rng.NormFloat64()
		if aim == 0 && speed < 0.7 {
			change = -speed
		}
		next := max(speed+change, 0)
		chainage += (speed + next) / 2
		speed = next
	}
	cond := energy.Conditions{TempC: c.tempC, EveryMovement: true, ClimateOff: true}
	for i := 1; i < len(c.moments); i++ {
		run, err := energy.Drive(car, cond, c.moments[i-1:i+1], car.UsableKWh/2)
		if err != nil {
			t.Fatal(err)
		}
		c.driveKW = append(c.driveKW, 3600*run.DriveKWh)
		c.regenKW = append(c.regenKW, 3600*run.RegenKWh)
	}
	return c
}

// truth is what the fit has to find.
type truth struct {
	factor, auxKW       float64
	tripSD, pieceSD     float64 // spread between trips and between pieces of 3 min
	noiseKW, outlierPct float64
}

// log records a course as a logger would: noise, rounding, wrong figures,
// blanks.
func (c *course) log(name string, want truth, rng *rand.Rand) *fit.Log {
	l := &fit.Log{Name: name}
	nan := math.NaN()
	trip := 1 + want.tripSD*rng.NormFloat64()
	piece := 1.0
	for i, m := range c.moments {
		if i%180 == 0 {
			piece = 1 + want.pieceSD*rng.NormFloat64()
		}
		k := max(i-1, 0)
		heat := 0.3 + 0.2*math.Sin(float64(i)/200)
		// The mean of two neighbouring rows is the power between them.
		kW := want.auxKW + heat + want.noiseKW*rng.NormFloat64()
		kW += (c.traction(k, want.factor*trip*piece) + c.traction(min(i, len(c.driveKW)-1), want.factor*trip*piece)) / 2
		s := fit.Sample{
			TimeS: m.TimeS, SpeedMS: math.Round(m.SpeedMS*360) / 360, ElevationM: math.Round(m.ElevationM), PowerKW: math.Round(kW*50) / 50,
			SoC: nan, HeatKW: heat, CoolKW: 0, AmbientC: c.tempC, PackTempC: nan,
		}
		if 100*rng.Float64() < want.outlierPct {
			s.PowerKW += 100 * rng.NormFloat64()
		}
		if rng.Float64() < 0.01 {
			s.PowerKW = nan
		}
		l.Samples = append(l.Samples, s)
	}
	return l
}

func (c *course) traction(i int, factor float64) float64 { return factor*c.driveKW[i] - c.regenKW[i] }

// coverage counts how often each figure's interval holds the truth.
type coverage struct {
	mu      sync.Mutex
	runs    int
	inside  map[string]int
	refused int
}

func (c *coverage) add(r *fit.Result, err error, want map[string]float64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.runs++
	if err != nil {
		c.refused++
		return
	}
	for _, e := range r.Estimates {
		if x, asked := want[e.Name]; asked && e.Low <= x && x <= e.High {
			c.inside[e.Name]++
		}
	}
}

// runs is the number of invented sets of drives: 1,000 when asked for.
func runs() int {
	if testdata.Slow() {
		return 1000
	}
	return 16
}

// size is the number of invented drives to draw from, and of invented cars.
func size() (courses, cars int) {
	if testdata.Slow() {
		return 40, 8
	}
	return 16, 2
}

// check asks for 93 to 97 % of 1,000 runs; of fewer runs the same less the
// four standard deviations that chance allows.
func (c *coverage) check(t *testing.T, names []string) {
	t.Helper()
	if c.refused > 0 {
		t.Errorf("%d of %d runs refused", c.refused, c.runs)
	}
	for _, name := range names {
		share := float64(c.inside[name]) / float64(c.runs)
		t.Logf("%-36s truth inside the 95 %% interval in %.1f %% of %d runs", name, 100*share, c.runs)
		low, high := 0.93, 0.97
		if c.runs < 1000 {
			allowed := 4 * math.Sqrt(0.95*0.05/float64(c.runs))
			low, high = 0.95-allowed, 1
		}
		if share < low || share > high {
			t.Errorf("%s: want %.0f to %.0f %%", name, 100*low, 100*high)
		}
	}
}

// each runs the trials on all cores; every trial has its own seed.
func each(n int, trial func(seed uint64)) {
	var wg sync.WaitGroup
	next := make(chan uint64)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for seed := range next {
				trial(seed)
			}
		})
	}
	for i := range n {
		next <- uint64(i)
	}
	close(next)
	wg.Wait()
}

func pool(t testing.TB, car *energy.Car) []course {
	rng := rand.New(rand.NewPCG(4, 1))
	var out []course
	courses, _ := size()
	for range courses {
		out = append(out, newCourse(t, car, rng, 12+rng.IntN(10)))
	}
	return out
}

func logs(pool []course, n int, want truth, rng *rand.Rand) []*fit.Log {
	var out []*fit.Log
	for i, k := range rng.Perm(len(pool))[:n] {
		out = append(out, pool[k].log(fmt.Sprintf("invented %d", i), want, rng))
	}
	return out
}

func TestFactorCoverage(t *testing.T) {
	testdata.Sequential(t)
	car := builtIn(t, "small-hatch")
	courses := pool(t, car)
	c := &coverage{inside: map[string]int{}}
	each(runs(), func(seed uint64) {
		rng := rand.New(rand.NewPCG(seed, 7))
		want := truth{factor: 0.85 + 0.4*rng.Float64(), auxKW: 0.2 + 0.5*rng.Float64(), tripSD: 0.05, pieceSD: 0.05, noiseKW: 0.3, outlierPct: 0.3}
		r, err := fit.Fit(logs(courses, 14, want, rng), car, fit.Options{Detail: fit.Factor})
		c.add(r, err, map[string]float64{"user factor on traction energy": want.factor, "auxiliary power": 1000 * want.auxKW})
	})
	c.check(t, []string{"user factor on traction energy", "auxiliary power"})
}

// The full fit starts from the built-in car and has to find another one.
func TestFullCoverage(t *testing.T) {
	testdata.Sequential(t)
	given := builtIn(t, "small-hatch")
	type other struct {
		courses []course
		want    map[string]float64
	}
	rng := rand.New(rand.NewPCG(5, 1))
	var others []other
	_, cars := size()
	for range cars {
		car := *given
		car.MassKg *= 0.85 + 0.3*rng.Float64()
		car.RoadLoad.RollingCoefficient *= 0.8 + 0.5*rng.Float64()
		car.RoadLoad.FrontalAreaM2 *= 0.8 + 0.4*rng.Float64()
		car.RegenEfficiency = 0.65 + 0.25*rng.Float64()
		others = append(others, other{pool(t, &car), map[string]float64{
			"mass": car.MassKg, "rolling coefficient": car.RoadLoad.RollingCoefficient,
			"drag area": car.RoadLoad.CdAM2(), "regenerative efficiency": 100 * car.RegenEfficiency,
		}})
	}
	c := &coverage{inside: map[string]int{}}
	each(runs(), func(seed uint64) {
		rng := rand.New(rand.NewPCG(seed, 8))
		o := &others[rng.IntN(len(others))]
		want := truth{factor: 1, auxKW: 0.2 + 0.5*rng.Float64(), tripSD: 0.04, pieceSD: 0.04, noiseKW: 0.3, outlierPct: 0.3}
		expect := map[string]float64{"auxiliary power": 1000 * want.auxKW}
		for name, x := range o.want {
			expect[name] = x
		}
		r, err := fit.Fit(logs(o.courses, 14, want, rng), given, fit.Options{Detail: fit.Full})
		c.add(r, err, expect)
	})
	c.check(t, []string{"mass", "rolling coefficient", "drag area", "regenerative efficiency", "auxiliary power"})
}

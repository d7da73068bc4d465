package fit

import (
	"math"

	"ampleway/energy"
)

// cabin is the climate model of a car at one outside temperature: a steady
// power and a start energy that is spent as 1 − exp(−t/cabinS).
type cabin struct {
	steadyKW float64
	packKW   float64 // battery cooling or heating, spent also with the cabin's climate off
	wholeKWh float64 // start energy
}

// cabinS is the time constant of package energy, which a test compares.
const cabinS = 600.0

// newCabin asks package energy what an hour of standing takes.
func newCabin(car *energy.Car, tempC float64) (cabin, error) {
	var kWh [3]float64
	for i, cond := range []energy.Conditions{{ClimateOff: true}, {CabinReady: true}, {}} {
		cond.TempC = tempC
		run, err := energy.Drive(car, cond, []energy.Moment{{TimeS: 0}, {TimeS: 3600}}, car.UsableKWh/2)
		if err != nil {
			return cabin{}, err
		}
		kWh[i] = run.ClimateKWh
	}
	return cabin{packKW: kWh[0], steadyKW: kWh[1] - kWh[0], wholeKWh: (kWh[2] - kWh[1]) / -math.Expm1(-3600/cabinS)}, nil
}

func (c *cabin) steadyKWh(timeS float64) float64 { return c.steadyKW * timeS / 3600 }

func (c *cabin) startKWh(fromS, toS float64) float64 {
	return c.wholeKWh * (math.Exp(-fromS/cabinS) - math.Exp(-toS/cabinS))
}

// kWh is what heating and cooling take between two times since the start.
func (c *cabin) kWh(fromS, toS float64, fit cabinFit) float64 {
	return fit.steady*c.steadyKWh(toS-fromS) + fit.start*c.startKWh(fromS, toS) + c.packKW*(toS-fromS)/3600
}

// cabinFit scales the two parts of a car's climate model.
type cabinFit struct{ steady, start float64 }

// leastCabins is the number of drives with recorded climate that a fit of the
// climate model takes.
const leastCabins = 5

// fitCabin fits the climate model to the recorded heating and cooling of whole
// drives: least absolute deviations, with the car's own model as a prior of
// cabinPrior standard deviation, since drives of one length at one temperature
// do not tell the two parts apart. Found by reweighting; neither part falls
// below zero. false: too few drives, the car's own model is returned.
func fitCabin(drives []*drive) (cabinFit, bool) {
	var a, b, y []float64
	for _, d := range drives {
		if !d.recorded {
			continue
		}
		steady, start, recorded := d.cabinKWh()
		a, b, y = append(a, steady), append(b, start), append(y, recorded)
	}
	fit := cabinFit{1, 1}
	if len(y) < leastCabins {
		return fit, false
	}
	weight := make([]float64, len(y))
	for range mostSteps {
		var size float64
		for i := range y {
			off := max(math.Abs(y[i]-fit.steady*a[i]-fit.start*b[i]), leastOffKWh)
			weight[i] = 1 / off
			size += off / float64(len(y))
		}
		next := twoTerms(a, b, y, weight, size/(cabinPrior*cabinPrior))
		moved := math.Abs(next.steady-fit.steady) + math.Abs(next.start-fit.start)
		if fit = next; moved < 1e-9 {
			break
		}
	}
	return fit, true
}

const (
	cabinPrior  = 0.4 // cars' climate differs by about this much from a curve of the class; common practice
	leastOffKWh = 1e-3
)

// twoTerms is weighted least squares of y ≈ p a + q b with p, q ≥ 0, both
// drawn towards 1 with the weight ridge > 0.
func twoTerms(a, b, y, w []float64, ridge float64) cabinFit {
	aa, bb, ay, by := ridge, ridge, ridge, ridge
	var ab float64
	for i := range y {
		aa += w[i] * a[i] * a[i]
		ab += w[i] * a[i] * b[i]
		bb += w[i] * b[i] * b[i]
		ay += w[i] * a[i] * y[i]
		by += w[i] * b[i] * y[i]
	}
	det := aa*bb - ab*ab
	both := cabinFit{(bb*ay - ab*by) / det, (aa*by - ab*ay) / det}
	switch {
	case both.steady < 0:
		return cabinFit{start: max(by/bb, 0)}
	case both.start < 0:
		return cabinFit{steady: max(ay/aa, 0)}
	}
	return both
}

// cabinKWh is what the climate model takes over the windows of a drive, steady
// and to start, and what was recorded.
func (d *drive) cabinKWh() (steady, start, recorded float64) {
	for i := range d.windows {
		w := &d.windows[i]
		steady += d.cabin.steadyKWh(w.timeS)
		start += d.cabin.startKWh(w.startS, w.startS+w.timeS)
		recorded += w.recordedKWh
	}
	return steady, start, recorded
}

// applyCabin puts a fitted climate model into a copy of the car.
func applyCabin(car *energy.Car, fit cabinFit) (*energy.Car, error) {
	c := *car
	c.Climate.Curve = nil
	for _, tempC := range curveTemps {
		c.Climate.Curve = append(c.Climate.Curve, energy.ClimatePoint{TempC: tempC, PowerKW: round(fit.steady * car.Climate.PowerKW(tempC, 0))})
	}
	cold, err := newCabin(car, -10)
	if err != nil {
		return nil, err
	}
	colder, err := newCabin(car, -11)
	if err != nil {
		return nil, err
	}
	c.Climate.StartWhPerK = max(round(fit.start*1000*(colder.wholeKWh-cold.wholeKWh)), leastStartWhPerK)
	return &c, nil
}

// leastStartWhPerK stands for nothing in a car file, where 0 is the default.
const leastStartWhPerK = 0.01

// curveTemps hold the corners of the curves of package energy.
var curveTemps = []float64{-30, -15, -7, 0, 10, 18, 22, 26, 35, 45}

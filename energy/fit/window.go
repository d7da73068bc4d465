package fit

import (
	"math"

	"ampleway/energy"
)

// windowS is the length of the stretches whose energies are compared: long
// against the lag between speed and current, short against a trip.
const windowS = 20.0

// window is one stretch of a trip: what the battery gave and, by piece, what
// the road took.
type window struct {
	startS      float64 // since the start of the trip
	timeS       float64
	distanceM   float64
	measuredKWh float64
	recordedKWh float64 // heating and cooling as recorded
	climateKWh  float64 // heating and cooling that the fit takes as given
	noiseKWh    float64 // standard deviation expected of its residual, up to a common factor
	work        []work
}

func (w *window) speedMS() float64 { return w.distanceM / w.timeS }

// drive is a trip, or a part of one, seen with one car.
type drive struct {
	*trip
	windows         []window
	driveEfficiency float64 // with the car's own traction factor in it
	cabin           cabin
}

func newDrive(car *energy.Car, t *trip, modelled bool) (*drive, error) {
	r, err := newRoad(car, t.ambientC)
	if err != nil {
		return nil, err
	}
	d := &drive{trip: t, driveEfficiency: car.DriveEfficiency / orOne(car.TractionFactor)}
	if d.cabin, err = newCabin(car, t.ambientC); err != nil {
		return nil, err
	}
	for i, run := range t.runs {
		d.windows = append(d.windows, r.windows(run, t.startS[i], car)...)
	}
	as := asGiven(car)
	for i := range d.windows {
		w := &d.windows[i]
		w.noiseKWh = d.noiseKWh(w, &as)
		w.climateKWh = w.recordedKWh
		if modelled || !t.recorded {
			w.climateKWh = d.cabin.kWh(w.startS, w.startS+w.timeS, cabinFit{1, 1})
		}
	}
	return d, nil
}

// windows cuts a run into windows; a rest of less than half of one is left out.
func (r *road) windows(run []piece, startS float64, car *energy.Car) []window {
	var out []window
	w := window{startS: startS}
	for k := range run {
		p := &run[k]
		w.timeS += p.timeS
		w.distanceM += p.speedMS * p.timeS
		w.measuredKWh += p.powerKW * p.timeS / 3600
		w.recordedKWh += p.climateKW * p.timeS / 3600
		w.work = append(w.work, r.work(p, car))
		if w.timeS >= windowS {
			out = append(out, w)
			w = window{startS: w.startS + w.timeS}
		}
	}
	if w.timeS >= windowS/2 {
		out = append(out, w)
	}
	return out
}

// A window's residual grows with the energy that went to and from the wheels:
// noiseKW at rest and noiseShare of it under way, read off the residuals of
// the 29 drives of Steinstraeter et al. (IEEE DataPort 2020). Weighing by it
// lets standstill tell the auxiliaries.
const (
	noiseKW    = 0.5
	noiseShare = 0.2
)

func (d *drive) noiseKWh(w *window, th *theta) float64 {
	var joule float64
	for i := range w.work {
		joule += math.Abs(w.work[i].tractionJ(th, d.driveEfficiency, math.Inf(1)))
	}
	return noiseKW*w.timeS/3600 + noiseShare*joule/joulePerKWh
}

// predictKWh is the battery energy of a window without climate.
func (d *drive) predictKWh(w *window, th *theta) float64 {
	return d.tractionKWh(w, th) + th[pAux]*w.timeS/3600
}

func (d *drive) tractionKWh(w *window, th *theta) float64 {
	coldW := 1000 * coldLimitKW(th[pCold], d.packC)
	var joule float64
	for i := range w.work {
		k := &w.work[i]
		joule += k.tractionJ(th, d.driveEfficiency, coldW*k.timeS)
	}
	return joule / joulePerKWh
}

// gradientKWh is the derivative of predictKWh by the parameters.
func (d *drive) gradientKWh(w *window, th *theta) theta {
	coldW := 1000 * coldLimitKW(th[pCold], d.packC)
	var coldPerW float64
	if !math.IsInf(coldW, 1) {
		coldPerW = 1000 * max(d.packC, 0)
	}
	var g theta
	for i := range w.work {
		k := &w.work[i]
		k.addGradient(&g, th, d.driveEfficiency, coldW*k.timeS, coldPerW*k.timeS)
	}
	for p := range g {
		g[p] /= joulePerKWh
	}
	g[pAux] = w.timeS / 3600
	return g
}

// part is the drive with some of its windows only.
func (d *drive) part(windows []window) *drive {
	p := *d
	p.windows = windows
	return &p
}

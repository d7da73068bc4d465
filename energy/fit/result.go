package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"ampleway/energy"
)

// Result is what a fit found, ready to be written as text or JSON.
type Result struct {
	CarName    string      `json:"car"`
	Detail     Detail      `json:"detail,omitempty"`
	DistanceKm float64     `json:"distance_km"`
	TimeH      float64     `json:"time_h"`
	Estimates  []Estimate  `json:"estimates,omitempty"`
	Spread     *Spread     `json:"spread,omitempty"`
	Climate    *Climate    `json:"climate,omitempty"`
	Trips      []TripCheck `json:"drives,omitempty"`
	Recorded   *Check      `json:"check,omitempty"`                  // of Trips, climate as recorded where it is
	Modelled   *Check      `json:"check_climate_modelled,omitempty"` // the same with the climate modelled
	Bands      []Band      `json:"residuals_by_speed,omitempty"`
	Taper      *Taper      `json:"taper,omitempty"`
	Warnings   []string    `json:"warnings,omitempty"`
	Caution    string      `json:"caution"`

	Car *energy.Car `json:"-"` // the car with all that was fitted
}

func (r *Result) warn(format string, args ...any) {
	r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...))
}

// Estimate is one fitted figure with its 95 % interval.
type Estimate struct {
	Name  string  `json:"name"`
	Unit  string  `json:"unit,omitempty"`
	Value float64 `json:"value"`
	Low   float64 `json:"low_95"`
	High  float64 `json:"high_95"`
	Given float64 `json:"given,omitempty"` // the figure of the car that was given, 0: it has none
}

// Climate is the climate model fitted to recorded heating and cooling.
type Climate struct {
	SteadyFactor float64 `json:"steady_factor"` // on the power at temperature
	StartFactor  float64 `json:"start_factor"`  // on the energy that brings the cabin there
}

// TripCheck compares one drive with the fit that has not seen it (or, where
// LeftOut is false, with the fit to all).
type TripCheck struct {
	Name         string  `json:"drive"`
	DistanceKm   float64 `json:"distance_km"`
	TimeMin      float64 `json:"time_min"`
	AmbientC     float64 `json:"ambient_c"`
	GapPct       float64 `json:"gap_pct"`
	MeasuredKWh  float64 `json:"measured_kwh"`
	ClimateKWh   float64 `json:"climate_kwh"` // recorded, or modelled where it is not
	PredictedKWh float64 `json:"predicted_kwh"`
	ErrorPct     float64 `json:"error_pct"`
	ModelledKWh  float64 `json:"predicted_climate_modelled_kwh"` // with the climate modelled, also where it is recorded
	ModelledPct  float64 `json:"error_climate_modelled_pct"`
	LeftOut      bool    `json:"left_out"`
}

// Check sums up the errors of the drives.
type Check struct {
	MeanAbsolutePct float64 `json:"mean_absolute_error_pct"`
	TotalPct        float64 `json:"total_error_pct"`
	WorstPct        float64 `json:"worst_error_pct"`
}

// Band is the mean of measured less expected power over windows of 20 s in a
// band of speed.
type Band struct {
	FromKMH    float64 `json:"from_kmh"`
	ToKMH      float64 `json:"to_kmh"`
	Windows    int     `json:"windows"`
	MeanKW     float64 `json:"mean_kw"`
	ExpectedKW float64 `json:"expected_kw"` // mean of the expected power there
	SpreadKW   float64 `json:"standard_deviation_kw"`
}

func (f *driveFit) report(r *Result) error {
	for _, d := range f.drives {
		r.DistanceKm += d.distanceM / 1000
		r.TimeH += d.timeS / 3600
	}
	f.estimates(r)
	spread := f.spread()
	r.Spread = &spread
	if err := f.checks(r); err != nil {
		return err
	}
	r.Bands = f.bands()
	r.warn("rolling resistance is that of the tyres and roads driven: do not count winter tyres or rain again on top")
	if !f.byTrip {
		r.warn("%d drives only: intervals come from parts of them, widened by the car's own spread between trips, and no drive was left out", len(f.drives))
	}
	return nil
}

func (f *driveFit) estimates(r *Result) {
	given := asGiven(f.car)
	add := func(name, unit string, scale float64, bounds func(func(*theta) float64) (float64, float64), figure func(*theta) float64) {
		low, high := bounds(figure)
		r.Estimates = append(r.Estimates, Estimate{name, unit, scale * figure(&f.th), scale * low, scale * high, scale * figure(&given)})
	}
	add("user factor on traction energy", "", 1, f.factorInterval, f.tractionFactor)
	add("auxiliary power", "W", 1000, f.interval, func(th *theta) float64 { return th[pAux] })
	if !slices.Contains(f.free, pRolling) {
		return
	}
	load := &f.car.RoadLoad
	if load.CoastDown != nil {
		add("coast-down A", "N", load.CoastDown.AN, f.partInterval, func(th *theta) float64 { return th[pRolling] })
	} else {
		add("rolling coefficient", "", load.RollingCoefficient, f.partInterval, func(th *theta) float64 { return th[pRolling] / th[pMass] })
	}
	add("drag area", "m²", load.CdAM2(), f.partInterval, func(th *theta) float64 { return th[pDrag] })
	add("mass", "kg", f.car.MassKg, f.interval, func(th *theta) float64 { return th[pMass] })
	add("regenerative efficiency", "%", 100, f.interval, func(th *theta) float64 { return th[pRegen] })
	if slices.Contains(f.free, pCold) {
		add("regeneration of a cold battery above 10 kW", "kW/K", 1, f.interval, func(th *theta) float64 { return th[pCold] })
		r.Estimates[len(r.Estimates)-1].Given = 0
	}
}

// checks predicts every drive with the public evaluator of package energy and
// the car as fitted without that drive.
func (f *driveFit) checks(r *Result) error {
	var errors, modelledErrors []float64
	var measured, predicted, modelled float64
	for i, d := range f.drives {
		th, others := &f.th, f.drives
		if f.byTrip {
			th, others = &f.left[i], without(f.drives, i)
		}
		cabins, _ := fitCabin(others)
		t := TripCheck{
			Name: d.name, DistanceKm: d.distanceM / 1000, TimeMin: d.timeS / 60, AmbientC: d.ambientC,
			GapPct: 100 * d.gapShare, MeasuredKWh: d.usedKWh, LeftOut: f.byTrip,
		}
		road, err := d.roadKWh(f.car, th)
		if err != nil {
			return err
		}
		inCabin := d.modelledKWh(cabins)
		t.ModelledKWh, t.ClimateKWh = road+inCabin, inCabin
		if d.recorded && !f.opt.ModelledClimate {
			t.ClimateKWh = d.climateKWh()
		}
		t.PredictedKWh = road + t.ClimateKWh
		t.ErrorPct = off(t.PredictedKWh, t.MeasuredKWh)
		t.ModelledPct = off(t.ModelledKWh, t.MeasuredKWh)
		r.Trips = append(r.Trips, t)
		measured += t.MeasuredKWh
		predicted += t.PredictedKWh
		modelled += t.ModelledKWh
		errors, modelledErrors = append(errors, t.ErrorPct), append(modelledErrors, t.ModelledPct)
	}
	r.Recorded = newCheck(errors, off(predicted, measured))
	r.Modelled = newCheck(modelledErrors, off(modelled, measured))
	return nil
}

// off is predicted over measured less one in %; where next to nothing was
// measured, on a descent, in % of smallestKWh.
func off(predictedKWh, measuredKWh float64) float64 {
	return 100 * (predictedKWh - measuredKWh) / max(math.Abs(measuredKWh), smallestKWh)
}

const smallestKWh = 0.1

func newCheck(errors []float64, totalPct float64) *Check {
	c := &Check{TotalPct: totalPct}
	for _, x := range errors {
		c.MeanAbsolutePct += math.Abs(x) / float64(len(errors))
		if math.Abs(x) > math.Abs(c.WorstPct) {
			c.WorstPct = x
		}
	}
	return c
}

// roadKWh is traction and auxiliaries of a drive, by energy.Drive.
func (d *drive) roadKWh(car *energy.Car, th *theta) (float64, error) {
	c := apply(car, th)
	c.RegenLimitKW = min(c.RegenLimitKW, coldLimitKW(th[pCold], d.packC))
	var kWh float64
	for _, moments := range d.moments {
		run, err := energy.Drive(c, conditions(d.ambientC), moments, c.UsableKWh/2)
		if err != nil {
			return 0, err
		}
		kWh += run.DriveKWh - run.RegenKWh - run.RegenLostKWh + run.AuxiliaryKWh
	}
	return kWh, nil
}

// modelledKWh is what the climate model takes over the runs of a drive.
func (d *drive) modelledKWh(fit cabinFit) float64 {
	var kWh float64
	for i, m := range d.moments {
		kWh += d.cabin.kWh(d.startS[i], d.startS[i]+m[len(m)-1].TimeS-m[0].TimeS, fit)
	}
	return kWh
}

var bandEdgesKMH = []float64{0, 1, 30, 50, 70, 90, 110, 400}

func (f *driveFit) bands() []Band {
	off := make([][]float64, len(bandEdgesKMH)-1)
	expected := make([]float64, len(off))
	for i, d := range f.drives {
		th := &f.th
		if f.byTrip {
			th = &f.left[i]
		}
		for k := range d.windows {
			w := &d.windows[k]
			at, _ := slices.BinarySearch(bandEdgesKMH, 3.6*w.speedMS())
			at = min(max(at-1, 0), len(off)-1)
			kWh := d.predictKWh(w, th) + w.climateKWh
			off[at] = append(off[at], (w.measuredKWh-kWh)*3600/w.timeS)
			expected[at] += kWh * 3600 / w.timeS
		}
	}
	var out []Band
	for i, x := range off {
		if len(x) < 2 {
			continue
		}
		b := Band{FromKMH: bandEdgesKMH[i], ToKMH: bandEdgesKMH[i+1], Windows: len(x), ExpectedKW: expected[i] / float64(len(x))}
		b.MeanKW, b.SpreadKW = stat.MeanStdDev(x, nil)
		out = append(out, b)
	}
	return out
}

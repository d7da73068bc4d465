package fit

import (
	"fmt"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"ampleway/energy"
)

// Detail says how much a fit moves.
type Detail string

// Details. Auto takes Full where the logs can tell it and Factor otherwise.
const (
	Auto   Detail = ""
	Factor Detail = "factor" // one factor on traction energy, and the auxiliaries
	Full   Detail = "full"   // rolling resistance, drag, mass, regeneration and auxiliaries
)

// Options of a fit. The zero value is right for most.
type Options struct {
	Detail          Detail
	ModelledClimate bool   // take heating and cooling from the car's climate model even where they are recorded
	Name            string // of the fitted car; "": the given car's, with ", fitted"
}

// ParseDetail reads a detail by its name: auto, factor or full.
func ParseDetail(name string) (Detail, error) {
	switch d := Detail(name); d {
	case Factor, Full:
		return d, nil
	case Auto, "auto":
		return Auto, nil
	}
	return Auto, fmt.Errorf("detail %q: expected auto, factor or full", name)
}

// Fit fits a car to logs. Logs of drives give consumption, logs of DC charges
// the taper; both kinds may come together. The car gives what is not fitted
// and is not changed.
//
// The error is a *CannotTell when the logs do not hold the answer.
func Fit(logs []*Log, car *energy.Car, opt Options) (*Result, error) {
	if car == nil || len(logs) == 0 {
		panic("fit: a car and at least one log are needed")
	}
	result := &Result{CarName: car.Name}
	var trips []*trip
	var charges []*Log
	for _, l := range logs {
		result.Warnings = append(result.Warnings, l.Warnings...)
		if isCharge(l) {
			charges = append(charges, l)
			continue
		}
		t, refusal := prepare(l)
		if refusal != nil {
			return nil, refusal
		}
		result.Warnings = append(result.Warnings, t.warnings...)
		trips = append(trips, t)
	}
	fitted := car
	if len(trips) > 0 {
		var err error
		if fitted, err = fitDrives(result, trips, car, opt); err != nil {
			return nil, err
		}
	}
	if len(charges) > 0 {
		taper, err := fitTaper(charges, car)
		if err != nil {
			return nil, err
		}
		result.Taper = taper
		result.Warnings = append(result.Warnings, taper.warnings()...)
		with := *fitted
		with.Taper = taper.curve()
		fitted = &with
	}
	result.Car = named(fitted, result, opt.Name)
	return result, nil
}

// named says in the car where its figures are from.
func named(car *energy.Car, r *Result, name string) *energy.Car {
	c := *car
	if c.Name = name; name == "" {
		c.Name = car.Name + ", fitted"
	}
	text := ""
	if n := len(r.Trips); n > 0 {
		text = fmt.Sprintf("Consumption fitted to %d logged drives over %.0f km.", n, r.DistanceKm)
	}
	if r.Taper != nil {
		text += fmt.Sprintf(" Charging curve fitted to %d logged charges.", r.Taper.Charges)
	}
	c.Note = strings.TrimSpace(text + " The rest is that of " + r.CarName + ".")
	return &c
}

// driveFit is a fit of drives under way.
type driveFit struct {
	car     *energy.Car
	opt     Options
	drives  []*drive
	groups  []*drive // what is left out in turn for the intervals: trips, or parts of few trips
	byTrip  bool
	free    []int
	th      theta
	left    []theta         // with each group left out
	normals []*mat.SymDense // of each group
}

func fitDrives(r *Result, trips []*trip, car *energy.Car, opt Options) (*energy.Car, error) {
	f := &driveFit{car: car, opt: opt}
	for _, t := range trips {
		d, err := newDrive(car, t, opt.ModelledClimate)
		if err != nil {
			return nil, err
		}
		f.drives = append(f.drives, d)
	}
	if err := f.telling(); err != nil {
		return nil, err
	}
	if err := f.estimate(r); err != nil {
		return nil, err
	}
	if err := f.report(r); err != nil {
		return nil, err
	}
	fitted := apply(car, &f.th)
	fitted.Spread = energy.Spread{Trip: r.Spread.TripPct / 100, Leg: r.Spread.LegPct / 100}
	cabins, ok := fitCabin(f.drives)
	if !ok || opt.ModelledClimate {
		return fitted, nil
	}
	r.Climate = &Climate{cabins.steady, cabins.start}
	return applyCabin(fitted, cabins)
}

// What a log must hold for a fit of consumption.
const (
	leastKm        = 10.0
	leastDriveS    = 900.0
	leastSpeedSD   = 2.5 // m/s, of the mean speeds of the windows
	leastFollowing = 0.5 // correlation of measured with expected energy
)

// telling refuses logs that cannot tell consumption at all.
func (f *driveFit) telling() error {
	var km, seconds float64
	var speeds, measured, expected []float64
	as := asGiven(f.car)
	for _, d := range f.drives {
		km += d.distanceM / 1000
		seconds += d.timeS
		for i := range d.windows {
			w := &d.windows[i]
			speeds = append(speeds, w.speedMS())
			measured = append(measured, (w.measuredKWh-w.climateKWh)/w.timeS)
			expected = append(expected, d.predictKWh(w, &as)/w.timeS)
		}
	}
	switch follows := stat.Correlation(measured, expected, nil); {
	case km < leastKm || seconds < leastDriveS:
		return &CannotTell{Reason: fmt.Sprintf("%.1f km and %.0f min of driving are too short", km, seconds/60), Need: fmt.Sprintf("%.0f km and %.0f min", leastKm, leastDriveS/60)}
	case stat.StdDev(speeds, nil) < leastSpeedSD:
		return &CannotTell{Reason: fmt.Sprintf("speed hardly varies (by %.1f km/h), so traction and auxiliaries cannot be told apart", 3.6*stat.StdDev(speeds, nil)), Need: fmt.Sprintf("a spread of %.0f km/h, slow and fast roads", 3.6*leastSpeedSD)}
	case follows < -0.3:
		return &CannotTell{Reason: "the battery seems to charge while the car accelerates: current or power has the other sign", Need: "negative figures while discharging, or the option for the other sign"}
	case !(follows >= leastFollowing):
		return &CannotTell{Reason: fmt.Sprintf("battery power does not follow the driving (correlation %.2f)", follows), Need: "speed and power on one clock"}
	}
	return nil
}

// estimate chooses what to fit, fits it, and fits again with every group left
// out.
func (f *driveFit) estimate(r *Result) error {
	if !f.group() {
		return &CannotTell{Reason: fmt.Sprintf("the drives make %d parts only, too few for an interval", len(f.groups)), Need: fmt.Sprintf("%d drives, or %.0f min of one", leastGroups, leastGroups*partS/60)}
	}
	detail := f.opt.Detail
	if detail == Auto {
		detail = Factor
		if reason := f.fullReason(); reason == "" {
			detail = Full
		} else {
			r.warn("the road load as a whole is not fitted: %s", reason)
		}
	}
	if detail == Full {
		reason := f.run(Full)
		if reason == "" {
			r.Detail = Full
			return nil
		}
		if f.opt.Detail == Full {
			return &CannotTell{Reason: reason, Need: "more drives over slow and fast roads, or a fit of the factor only"}
		}
		r.warn("the road load as a whole is not fitted: %s", reason)
	}
	if reason := f.run(Factor); reason != "" {
		return &CannotTell{Reason: reason, Need: "more drives over slow and fast roads"}
	}
	r.Detail = Factor
	return nil
}

// What the logs must hold for a full fit.
const (
	fullKm      = 60.0
	fullGroups  = 6
	slowMS      = 50 * metreSPerKMH
	fastMS      = 70 * metreSPerKMH
	leastInBand = 0.1 // share of the windows
)

func (f *driveFit) fullReason() string {
	var km, slow, fast, n float64
	for _, d := range f.drives {
		km += d.distanceM / 1000
		for i := range d.windows {
			n++
			if v := d.windows[i].speedMS(); v < slowMS {
				slow++
			} else if v > fastMS {
				fast++
			}
		}
	}
	switch {
	case km < fullKm:
		return fmt.Sprintf("%.0f km are fewer than %.0f", km, fullKm)
	case len(f.groups) < fullGroups:
		return fmt.Sprintf("%d drives are fewer than %d", len(f.groups), fullGroups)
	case slow < leastInBand*n || fast < leastInBand*n:
		return "the drives have too little of slow (below 50 km/h) or of fast (above 70 km/h) roads"
	}
	return ""
}

func (f *driveFit) run(detail Detail) (reason string) {
	f.free = []int{pFactor, pAux}
	if detail == Full {
		f.free = []int{pRolling, pDrag, pMass, pRegen, pAux}
		if f.coldGroups() >= leastCold {
			f.free = append(f.free, pCold)
		}
	}
	start := asGiven(f.car)
	if detail == Full && f.free[len(f.free)-1] == pCold {
		start[pCold] = 3
	}
	var ok bool
	if f.th, ok = solve(f.groups, start, f.free); !ok {
		return "the fit does not settle"
	}
	for _, p := range f.free {
		if atLimit(f.th[p], p) && p != pCold {
			return fmt.Sprintf("%s ends at its limit (%.2f)", parameterNames[p], f.th[p])
		}
	}
	f.left = make([]theta, len(f.groups))
	for i := range f.groups {
		if f.left[i], ok = solve(without(f.groups, i), f.th, f.free); !ok {
			return "the fit does not settle without one of the drives"
		}
	}
	f.normals = f.groupNormals()
	for _, p := range []int{pRolling, pDrag, pMass, pFactor} {
		if low, high := f.interval(func(th *theta) float64 { return th[p] }); high-low > f.th[p] {
			return fmt.Sprintf("%s is uncertain by more than ± 50 %%", parameterNames[p])
		}
	}
	return ""
}

var parameterNames = [parameters]string{"the traction factor", "auxiliary power", "rolling resistance", "drag", "mass", "regenerative efficiency", "cold regeneration"}

func atLimit(x float64, p int) bool {
	low, high := limits[p][0], limits[p][1]
	return x <= low || x >= high
}

// Batteries below coldC limit regeneration so much that it can be fitted.
const (
	coldC     = 10.0
	leastCold = 2
)

func (f *driveFit) coldGroups() int {
	n := 0
	for _, g := range f.groups {
		if g.packC < coldC {
			n++
		}
	}
	return n
}

// Groups that are left out in turn: the trips, or parts of them when there are
// few.
const (
	leastTrips  = 5
	leastGroups = 6
	partS       = 240.0
)

func (f *driveFit) group() bool {
	if f.byTrip = len(f.drives) >= leastTrips; f.byTrip {
		f.groups = f.drives
		return true
	}
	for _, d := range f.drives {
		n := max(int(d.timeS/partS), 1)
		for i := range n {
			if part := d.windows[i*len(d.windows)/n : (i+1)*len(d.windows)/n]; len(part) > 0 {
				f.groups = append(f.groups, d.part(part))
			}
		}
	}
	return len(f.groups) >= leastGroups
}

func without(groups []*drive, i int) []*drive {
	out := make([]*drive, 0, len(groups)-1)
	return append(append(out, groups[:i]...), groups[i+1:]...)
}

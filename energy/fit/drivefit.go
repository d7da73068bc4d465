package fit

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ampleway/energy"
)

// driveFit is a fit of drives under way.
type driveFit struct {
	car       *energy.Car
	opt       Options
	drives    []*drive
	groups    []*drive // trips, or parts of few trips: each counts once
	byTrip    bool
	free      []int
	bounds    bounds
	th        theta
	left      []theta         // with each group left out
	known     []*mat.SymDense // what each group knows of the free parameters
	influence []*mat.VecDense // of each group on the free parameters
}

func fitDrives(r *Result, trips []*trip, car *energy.Car, opt Options) (*energy.Car, error) {
	f := &driveFit{car: car, opt: opt, bounds: limits}
	for _, t := range trips {
		d, err := newDrive(car, t, opt.ModelledClimate)
		if err != nil {
			return nil, err
		}
		f.drives = append(f.drives, d)
	}
	if f.modelsClimate() {
		f.bounds[pAux][0] = -limits[pAux][1]
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
	if f.th[pAux] < 0 {
		r.warn("heating and cooling were not all recorded and the car's model of them takes more than the drives show: auxiliary power came out below zero, and 0 is taken for the car")
	} else if f.modelsClimate() {
		r.warn("heating and cooling were not all recorded: auxiliary power also holds what the car's model of them is wrong by")
	}
	fitted := tidied(apply(car, &f.th))
	fitted.MadeFrom, fitted.OwnSpread = energy.FromLog, false
	fitted.Spread = energy.Spread{Trip: round(r.Spread.TripPct / 100), Leg: round(r.Spread.LegPct / 100)}
	cabins, ok := fitCabin(f.drives)
	if !ok || opt.ModelledClimate {
		return fitted, nil
	}
	r.Climate = &Climate{cabins.steady, cabins.start}
	return applyCabin(fitted, cabins)
}

// modelsClimate reports whether the climate of any drive is modelled. The
// auxiliaries then also hold what the model is wrong by, and may fall below
// zero.
func (f *driveFit) modelsClimate() bool {
	return f.opt.ModelledClimate || slices.ContainsFunc(f.drives, func(d *drive) bool { return !d.recorded })
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
	fullDrives  = 6
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
	case len(f.drives) < fullDrives:
		return fmt.Sprintf("%d drives are fewer than %d", len(f.drives), fullDrives)
	case slow < leastInBand*n || fast < leastInBand*n:
		return "the drives have too little of slow (below 50 km/h) or of fast (above 70 km/h) roads"
	}
	return ""
}

// run fits at one detail: the parameters, the parameters without each group,
// and how far each group pulls. The reason is "" when that went well.
func (f *driveFit) run(detail Detail) (reason string) {
	if detail == Factor {
		return f.move(pFactor, pAux)
	}
	if f.coldGroups() >= leastCold {
		if f.move(pRolling, pDrag, pMass, pRegen, pAux, pCold) == "" {
			return ""
		}
	}
	return f.move(pRolling, pDrag, pMass, pRegen, pAux)
}

// move fits the parameters that are free.
func (f *driveFit) move(free ...int) (reason string) {
	f.free = free
	start := asGiven(f.car)
	if slices.Contains(free, pCold) {
		start[pCold] = coldStart
	}
	var ok bool
	if f.th, ok = solve(f.groups, start, f.free, &f.bounds); !ok {
		return "the fit does not settle"
	}
	for _, p := range f.free {
		if f.th[p] <= f.bounds[p][0] || f.th[p] >= f.bounds[p][1] {
			return fmt.Sprintf("%s ends at its limit (%.2f)", parameterNames[p], f.th[p])
		}
	}
	f.left = make([]theta, len(f.groups))
	for i := range f.groups {
		if f.left[i], ok = solve(without(f.groups, i), f.th, f.free, &f.bounds); !ok {
			return "the fit does not settle without one of the drives"
		}
	}
	known, scores := groupEquations(f.groups, &f.th, f.free)
	f.known = known
	if f.influence, ok = influences(known, scores); !ok {
		return "the drives do not determine the figures"
	}
	for _, p := range []int{pRolling, pDrag, pMass, pFactor} {
		if low, high := f.interval(func(th *theta) float64 { return th[p] }); high-low > f.th[p] {
			return fmt.Sprintf("%s is uncertain by more than ± 50 %%", parameterNames[p])
		}
	}
	return ""
}

var parameterNames = [parameters]string{"the traction factor", "auxiliary power", "rolling resistance", "drag", "mass", "regenerative efficiency", "cold regeneration"}

// Batteries below coldC limit regeneration so much that it can be fitted.
const (
	coldC     = 10.0
	leastCold = 2
	coldStart = 3.0 // kW/K, where the fit starts
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

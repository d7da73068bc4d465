package fit

import (
	"fmt"
	"strings"

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
// and is not changed. A log that cannot tell is left out with a warning as long
// as another one can.
//
// The error is a *CannotTell when the logs do not hold the answer, or a
// *fault.Input when they are of no weather or car that package energy takes.
func Fit(logs []*Log, car *energy.Car, opt Options) (*Result, error) {
	if car == nil || len(logs) == 0 {
		panic("fit: a car and at least one log are needed")
	}
	result := &Result{CarName: car.Name, Caution: caution}
	trips, charges, refused := result.sort(logs, car)
	if len(trips)+len(charges) == 0 {
		return nil, refused
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

// sort makes trips and charges of the logs that can tell. refused is the last
// refusal.
func (r *Result) sort(logs []*Log, car *energy.Car) (trips []*trip, charges []*charge, refused *CannotTell) {
	for _, l := range logs {
		r.Warnings = append(r.Warnings, l.Warnings...)
		var refusal *CannotTell
		if isCharge(l) {
			var c *charge
			if c, refusal = readCharge(l, car); refusal == nil {
				charges = append(charges, c)
			}
		} else {
			var t *trip
			if t, refusal = prepare(l); refusal == nil {
				r.Warnings = append(r.Warnings, t.warnings...)
				trips = append(trips, t)
			}
		}
		if refusal != nil {
			refused = refusal
			r.warn("%s; it is left out", refusal)
		}
	}
	return trips, charges, refused
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

package energy

import (
	"cmp"
	"fmt"
	"math"

	"ampleway/data/fault"
	"ampleway/energy/taper"
)

// OwnerFigures are what an owner knows of a car, or can read on its label.
type OwnerFigures struct {
	Name              string
	Like              *Car    // gives everything that the figures below do not say, but adapters
	UsableKWh         float64 // > 0
	MassKg            float64 // with the driver; 0: as Like
	Rating            Rating  // what RangeKm and OutletKWhPer100km are rated on; "": RatingUS
	RangeKm           float64 // 0: unknown
	OutletKWhPer100km float64 // at the outlet, charging losses included; 0: unknown
	PeakKW            float64 // most DC power; 0: taper of Like, scaled to the capacity
	Minutes10to80     float64 // DC time from 10 to 80 %; 0: common shape
	CoastDown         *CoastDown
	// Label is a US label beside another rating. It is not reproduced: with
	// UsableKWh it says the charging efficiency.
	Label LabelFigures
}

// LabelFigures are the two figures of a label; zero is unknown.
type LabelFigures struct{ RangeKm, OutletKWhPer100km float64 }

func (l LabelFigures) complete() bool { return l.RangeKm != 0 && l.OutletKWhPer100km != 0 }

// rated returns the figures of the rating.
func (f *OwnerFigures) rated() LabelFigures { return LabelFigures{f.RangeKm, f.OutletKWhPer100km} }

// NewCar makes a car that reproduces the figures: its range or consumption on
// the rating by its traction factor, the ratio of the two by its AC
// efficiency, its peak power and 10-80 % time by its taper. The words say what
// was taken from where, assumptions included.
//
// The error is a *fault.Input that names the figure that is missing, out of
// range or at odds with the others.
func NewCar(f OwnerFigures) (car *Car, words []string, err error) {
	if f.Like == nil {
		panic("energy: NewCar without a car to start from")
	}
	if f.RangeKm == 0 && f.OutletKWhPer100km == 0 {
		return nil, nil, &fault.Input{Field: "rated range or consumption", Found: "neither", Expected: "one of them"}
	}
	f.Rating = cmp.Or(f.Rating, RatingUS)
	made := *f.Like
	car = &made
	car.Name, car.Note = f.Name, ""
	car.Adapters = nil
	car.MadeFrom = f.origin()
	car.Spread, car.OwnSpread = spreadOf(car.MadeFrom), false
	car.UsableKWh = f.UsableKWh
	say := func(format string, values ...any) { words = append(words, fmt.Sprintf(format, values...)) }
	if f.MassKg != 0 {
		car.MassKg = f.MassKg
	} else {
		say("mass %.0f kg: as %q", car.MassKg, f.Like.Name)
	}
	if f.CoastDown != nil {
		car.RoadLoad = RoadLoad{CoastDown: f.CoastDown}
	} else {
		say("tyres and shape (drag area %.2f m²): as %q", car.RoadLoad.CdAM2(), f.Like.Name)
	}
	if car.Taper, err = f.taper(say); err != nil {
		return nil, nil, err
	}
	if err := car.Validate(); err != nil {
		return nil, nil, err
	}
	if err := f.matchRating(car, say); err != nil {
		return nil, nil, err
	}
	say("efficiencies, auxiliaries, climate, pack voltage and extras: as %q", f.Like.Name)
	return car, words, car.Validate()
}

// origin is FromTables where anything is from a test that no owner reads on a
// label: set to it, a car needs less than its label says.
func (f *OwnerFigures) origin() Origin {
	if f.Rating == RatingHighway || f.CoastDown != nil {
		return FromTables
	}
	return FromLabel
}

func (f *OwnerFigures) taper(say func(string, ...any)) (taper.Curve, error) {
	switch {
	case f.PeakKW == 0 && f.Minutes10to80 != 0:
		return nil, &fault.Input{Field: "peak DC power", Found: "none", Expected: "the peak that belongs to the 10-80 % minutes"}
	case f.PeakKW == 0:
		say("charging power: as %q, scaled to the battery", f.Like.Name)
		return f.Like.Taper.Scale(f.UsableKWh / f.Like.UsableKWh), nil
	case f.Minutes10to80 == 0:
		say("charging time: the common shape of a charge at this peak power")
		return CommonTaper(f.UsableKWh, f.PeakKW)
	}
	return GenerateTaper(f.UsableKWh, f.PeakKW, f.Minutes10to80)
}

// matchRating sets the AC efficiency and the traction factor. Consumption is
// linear in the factor.
func (f *OwnerFigures) matchRating(car *Car, say func(string, ...any)) error {
	if err := f.matchCharging(car, say); err != nil {
		return err
	}
	target := f.OutletKWhPer100km * car.AC.Efficiency
	if f.RangeKm != 0 {
		target = f.UsableKWh / f.RangeKm * 100
	}
	car.TractionFactor = 1
	rated, err := car.Rated(f.Rating)
	if err != nil {
		return err
	}
	factor := 1 + (target-rated.BatteryKWhPer100km)/rated.driveKWhPer100km
	if !(factor >= leastTractionFactor && factor <= mostTractionFactor) || math.IsInf(factor, 0) {
		return &fault.Input{
			Field:    "rated range or consumption",
			Found:    fmt.Sprintf("%.4g kWh/100 km from the battery", target),
			Expected: fmt.Sprintf("a figure that a car like %q of %.0f kg can have: the model says %.4g", f.Like.Name, car.MassKg, rated.BatteryKWhPer100km),
		}
	}
	car.TractionFactor = factor
	say("traction factor %.3f: makes the model meet the figure rated on %s", factor, f.Rating)
	if f.Label.complete() {
		label, err := car.Rated(RatingUS)
		if err != nil {
			return err
		}
		say("the label has a range of %.0f km; the model, set to the highway test, has %.0f km", f.Label.RangeKm, label.RangeKm)
	}
	return nil
}

// matchCharging sets the AC efficiency from a range and a consumption of one
// rating or of the label.
func (f *OwnerFigures) matchCharging(car *Car, say func(string, ...any)) error {
	both := f.rated()
	if !both.complete() {
		both = f.Label
	}
	if !both.complete() {
		say("AC charging efficiency %.0f %%: as %q", 100*car.AC.Efficiency, f.Like.Name)
		return nil
	}
	car.AC.Efficiency = f.UsableKWh / both.RangeKm * 100 / both.OutletKWhPer100km
	if !(car.AC.Efficiency >= leastACEfficiency && car.AC.Efficiency <= 1) {
		return &fault.Input{
			Field:    "rated range and consumption",
			Found:    fmt.Sprintf("%.4g km, %.4g kWh/100 km and %.4g kWh: %.0f %% efficiency", both.RangeKm, both.OutletKWhPer100km, f.UsableKWh, 100*car.AC.Efficiency),
			Expected: "figures that belong together: 70 to 100 % of the consumption at the outlet reaches the battery",
		}
	}
	say("AC charging efficiency %.1f %%: from rated range, consumption and usable energy", 100*car.AC.Efficiency)
	return nil
}

const (
	leastACEfficiency   = 0.7
	leastTractionFactor = 0.4
	mostTractionFactor  = 2.5
)

// AssumeUsable sets UsableKWh, where it is unknown, to what a rated range at a
// rated consumption takes with the default charging efficiency, and says so.
// It returns "" where there is nothing to assume or nothing to assume it from.
func (f *OwnerFigures) AssumeUsable() string {
	both := f.rated()
	if !both.complete() {
		both = f.Label
	}
	if f.UsableKWh != 0 || !both.complete() {
		return ""
	}
	f.UsableKWh = tidy(both.RangeKm / 100 * both.OutletKWhPer100km * DefaultACEfficiency)
	return fmt.Sprintf("usable energy %.1f kWh: assumed, rated range times rated consumption times %.0f %% charging efficiency", f.UsableKWh, 100*DefaultACEfficiency)
}

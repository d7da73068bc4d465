package energy

import (
	"ampleway/energy/taper"
)

// Sheet is what one looks up about a car.
type Sheet struct {
	Car         *Car
	SpeedsMS    []float64
	TempsC      []float64
	RangeM      [][]float64 // by speed, then by temperature: RangeM
	Asked       []string    // what is not usual about the conditions of the ranges, in words
	Labels      []Label
	Charge      []ChargeRow
	Time10to80S float64
	MeanKW      float64 // from 10 to 80 %
}

// Label is the car on one rating.
type Label struct {
	Rating Rating
	Rated  Rated
}

// ChargeRow is one line of the DC charging table: a charger that gives all
// the car takes, a battery at 25 °C.
type ChargeRow struct {
	SoC     float64
	PowerKW float64
	TimeS   float64 // from 10 %; negative below
	EnergyM float64 // range that the energy since 10 % is worth at GainSpeedMS and 20 °C
}

// SheetOptions choose rows and columns.
type SheetOptions struct {
	SpeedsMS   []float64  // empty: 50, 70, 90, 110, 130 km/h, as far as the car goes
	TempsC     []float64  // empty: −20, −10, 0, 10, 20, 30, 40 °C
	Conditions Conditions // all but TempC
	Asked      []string   // what is not usual about them, in words
}

// GainSpeedMS is the speed at which a sheet says what charged energy is worth:
// 110 km/h.
const GainSpeedMS = 110 * metreSPerKMH

const (
	chargeFromSoC = 0.10
	chargeToSoC   = 0.80
)

// NewSheet computes the sheet of a car. The error is a *fault.Input for
// options out of range.
func NewSheet(car *Car, o SheetOptions) (*Sheet, error) {
	if err := car.Validate(); err != nil {
		return nil, err
	}
	s := &Sheet{Car: car, SpeedsMS: o.SpeedsMS, TempsC: o.TempsC, Asked: o.Asked}
	if len(s.SpeedsMS) == 0 {
		for _, kmh := range []float64{50, 70, 90, 110, 130} {
			if kmh*metreSPerKMH <= car.TopSpeedMS {
				s.SpeedsMS = append(s.SpeedsMS, kmh*metreSPerKMH)
			}
		}
	}
	if len(s.TempsC) == 0 {
		s.TempsC = []float64{-20, -10, 0, 10, 20, 30, 40}
	}
	if err := s.ranges(o.Conditions); err != nil {
		return nil, err
	}
	for _, rating := range Ratings() {
		rated, err := car.Rated(rating)
		if err != nil {
			return nil, err
		}
		s.Labels = append(s.Labels, Label{rating, rated})
	}
	return s, s.charge()
}

func (s *Sheet) ranges(conditions Conditions) error {
	for _, speedMS := range s.SpeedsMS {
		var row []float64
		for _, tempC := range s.TempsC {
			conditions.TempC = tempC
			m, err := RangeM(s.Car, conditions, speedMS)
			if err != nil {
				return err
			}
			row = append(row, m)
		}
		s.RangeM = append(s.RangeM, row)
	}
	return nil
}

func (s *Sheet) charge() error {
	f, err := taper.New(s.Car.Taper, s.Car.UsableKWh)
	if err != nil {
		return err
	}
	full, err := RangeM(s.Car, Mild(), GainSpeedMS)
	if err != nil {
		return err
	}
	s.Time10to80S = f.TimeS(chargeFromSoC, chargeToSoC)
	s.MeanKW = (chargeToSoC - chargeFromSoC) * s.Car.UsableKWh / s.Time10to80S * 3600
	for pct := 0; pct <= 100; pct += 5 {
		soc := float64(pct) / 100
		row := ChargeRow{SoC: soc, PowerKW: f.PowerKW(soc), EnergyM: (soc - chargeFromSoC) * full}
		if soc >= chargeFromSoC {
			row.TimeS = f.TimeS(chargeFromSoC, soc)
		} else {
			row.TimeS = -f.TimeS(soc, chargeFromSoC)
		}
		s.Charge = append(s.Charge, row)
	}
	return nil
}

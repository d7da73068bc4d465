package home

import (
	"fmt"
	"slices"

	"ampleway/data/fault"
	"ampleway/energy"
)

// FuelCar is a comparable car with an engine.
type FuelCar struct {
	LitresPer100Km float64 // ≥ 0
	PerLitre       float64 // price of a litre, ≥ 0
}

// Comparison is the same year in other ways.
type Comparison struct {
	Home     Result  // as the household is
	Level1   Result  // with a household outlet instead of its circuits
	FastOnly Result  // without charging at home
	FuelCost float64 // the same distance in the fuel car
}

// Compare simulates the household as it is, with every car on level1 (see
// energy.OnBoard.On) and with no charging at home, and prices the distance in
// a fuel car.
func (h *Household) Compare(level1 energy.ACCharge, fuel FuelCar) (Comparison, error) {
	if !(fuel.LitresPer100Km >= 0 && fuel.LitresPer100Km < 1e3) {
		return Comparison{}, &fault.Input{Field: "litres per 100 km", Found: fmt.Sprint(fuel.LitresPer100Km), Expected: "0 to 1000"}
	}
	if !(fuel.PerLitre >= 0 && fuel.PerLitre < 1e6) {
		return Comparison{}, &fault.Input{Field: "price of a litre", Found: fmt.Sprint(fuel.PerLitre), Expected: "0 or more"}
	}
	var c Comparison
	var err error
	if c.Home, err = h.Simulate(); err != nil {
		return Comparison{}, err
	}
	if c.Level1, err = h.with(level1).Simulate(); err != nil {
		return Comparison{}, err
	}
	if c.FastOnly, err = h.with(energy.ACCharge{}).Simulate(); err != nil {
		return Comparison{}, err
	}
	c.FuelCost = c.Home.Total().Km / 100 * fuel.LitresPer100Km * fuel.PerLitre
	return c, nil
}

func (h *Household) with(charge energy.ACCharge) *Household {
	other := *h
	other.Cars = slices.Clone(h.Cars)
	for i := range other.Cars {
		other.Cars[i].Charge = charge
	}
	return &other
}

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

// Circuits is another way to charge at home.
type Circuits struct {
	Charge []energy.ACCharge // for each car, see energy.OnBoard.On
	FeedKW float64           // as in Household
}

// Comparison is the same year in other ways.
type Comparison struct {
	Home     Result   // as the household is
	Others   []Result // on other circuits
	FastOnly Result   // without charging at home
	FuelCost float64  // the same distance in the fuel car
}

// HoursToFull is how long a car charges, at the full power of its own circuit,
// from what it comes home with from the trip that leaves most to fill up to
// its target, h. Where no car that charges at home makes a trip it is from the
// reserve instead, for the car that takes longest, and trip is false.
func (h *Household) HoursToFull() (hours float64, trip bool) {
	for i := range h.Trips {
		c := &h.Cars[h.Trips[i].Car]
		if c.chargesAtHome() {
			hours, trip = max(hours, (h.Trips[i].HomeKWh-(1-c.target())*c.UsableKWh)/c.Charge.BatteryKW), true
		}
	}
	if trip {
		return hours, true
	}
	for i := range h.Cars {
		if c := &h.Cars[i]; c.chargesAtHome() {
			hours = max(hours, (c.target()-c.reserve())*c.UsableKWh/c.Charge.BatteryKW)
		}
	}
	return hours, false
}

// Compare simulates the household as it is, on each of the other circuits and
// with no charging at home, and prices the distance in a fuel car.
func (h *Household) Compare(others []Circuits, fuel FuelCar) (Comparison, error) {
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
	for i := range others {
		r, err := h.On(&others[i]).Simulate()
		if err != nil {
			return Comparison{}, err
		}
		c.Others = append(c.Others, r)
	}
	if c.FastOnly, err = h.On(&Circuits{Charge: make([]energy.ACCharge, len(h.Cars))}).Simulate(); err != nil {
		return Comparison{}, err
	}
	c.FuelCost = c.Home.Total().Km / 100 * fuel.LitresPer100Km * fuel.PerLitre
	return c, nil
}

// On is the household on other circuits, one charge for each of its cars.
func (h *Household) On(c *Circuits) *Household {
	other := *h
	other.FeedKW = c.FeedKW
	other.Cars = slices.Clone(h.Cars)
	for i := range other.Cars {
		other.Cars[i].Charge = c.Charge[i]
	}
	return &other
}

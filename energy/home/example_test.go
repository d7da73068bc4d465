package home_test

import (
	"fmt"
	"time"

	"ampleway/energy"
	"ampleway/energy/home"
)

// An invented household: one car, a cheap night rate, one holiday.
func ExampleHousehold_Compare() {
	onBoard := energy.OnBoard{PowerKW: 11, Phases: 1, Efficiency: 0.9}
	level1, _ := onBoard.On(energy.Circuit{VoltageV: 120, BreakerA: 15})
	level2, _ := onBoard.On(energy.Circuit{VoltageV: 240, BreakerA: 40})
	h := home.Household{
		Year: 2025,
		Cars: []home.Car{{
			Name: "sedan", UsableKWh: 72, Charge: level2, ArriveMin: 18 * 60, DepartMin: 7 * 60,
			KmByWeekday: [7]float64{20, 60, 60, 60, 60, 60, 30},
			KWhPer100Km: [12]float64{22, 22, 20, 18, 17, 17, 17, 17, 17, 18, 20, 22},
		}},
		Tariff: home.Tariff{Currency: "EUR", OtherPerKWh: 0.30, Periods: []home.Period{{Rate: energy.Rate{FromMin: 23 * 60, ToMin: 7 * 60, PerKWh: 0.15}}}},
		Fast:   home.Fast{PerKWh: 0.60},
		Trips:  []home.Trip{{Date: time.Date(2025, time.August, 2, 0, 0, 0, 0, time.UTC), NightsAway: 7, Km: 900, HomeKWh: 60, FastKWh: 115, FastH: 1.8, FastCost: 73}},
	}
	c, err := h.Compare([]home.Circuits{{Charge: []energy.ACCharge{level1}}}, home.FuelCar{LitresPer100Km: 6.5, PerLitre: 1.75})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, way := range []struct {
		name string
		home.Month
	}{{"level 2", c.Home.Total()}, {"level 1", c.Others[0].Total()}, {"fast only", c.FastOnly.Total()}} {
		fmt.Printf("%-9s  %3.0f %% from home, %2.0f h at fast chargers, %3d nights beyond the cheap hours, EUR %.0f\n",
			way.name, 100*way.HomeShare(), way.FastH, way.DearNights, way.Cost())
	}
	fmt.Printf("fuel car   EUR %.0f for %.0f km\n", c.FuelCost, c.Home.Total().Km)
	// Output:
	// level 2     97 % from home,  2 h at fast chargers,   0 nights beyond the cheap hours, EUR 648
	// level 1     97 % from home,  2 h at fast chargers, 258 nights beyond the cheap hours, EUR 730
	// fast only    0 % from home, 70 h at fast chargers,   0 nights beyond the cheap hours, EUR 2249
	// fuel car   EUR 2136 for 18780 km
}

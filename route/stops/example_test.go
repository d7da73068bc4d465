package stops_test

import (
	"errors"
	"fmt"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// exampleTrip is an invented trip of 400 km at 0.2 kWh/km and 100 km/h with a
// battery of 60 kWh: chargers after 150 km (150 kW) and 250 km (50 kW).
func exampleTrip() *stops.Problem {
	own := taper.Curve{{SoC: 0, PowerKW: 120}, {SoC: 0.5, PowerKW: 120}, {SoC: 1, PowerKW: 20}}
	strong, err := taper.New(own.Cap(150), 60)
	if err != nil {
		panic(err)
	}
	weak, err := taper.New(own.Cap(50), 60)
	if err != nil {
		panic(err)
	}
	road := func(km float64) stops.Leg {
		return stops.Leg{TimeS: km * 36, NeedKWh: km * 0.2, CostKWh: km * 0.2}
	}
	return &stops.Problem{
		CapacityKWh: 60, DepartSoC: 0.9, ReserveSoC: 0.1,
		Road: [][]stops.Leg{{road(150), road(100), road(150)}},
		Chargers: []stops.Charger{
			{OverheadS: 180, Power: strong, ReserveSoC: 0.1},
			{OverheadS: 180, Power: weak, ReserveSoC: 0.1},
		},
	}
}

// By hand: 40 to 50 % at 120 kW takes 3 min; from there power falls by 200 kW
// for a full battery, so 93.3 % is reached after 60/200 h · ln(120/33.3) =
// 23.1 min more. Leaving at 85 %, where power has fallen to the 50 kW of the
// next charger, saves less than a second stop costs.
func ExampleSolve() {
	plan, err := stops.Solve(exampleTrip())
	if err != nil {
		panic(err)
	}
	for _, s := range plan.Stops {
		fmt.Printf("charger %d: arrive %.0f %%, leave %.0f %%, charge %.1f min\n", s.Charger, 100*s.ArriveSoC, 100*s.LeaveSoC, s.ChargeS/60)
	}
	fmt.Printf("arrive %.0f %% after %.1f min\n", 100*plan.ArriveSoC, plan.TimeS/60)
	// Output:
	// charger 0: arrive 40 %, leave 93 %, charge 26.1 min
	// arrive 10 % after 269.1 min
}

func ExampleInfeasible() {
	p := exampleTrip()
	p.ReserveSoC = 0.3
	p.Chargers[1].Use = stops.MustPass
	_, err := stops.Solve(p)
	var no *stops.Infeasible
	if errors.As(err, &no) {
		fmt.Println(no)
	}
	// Output:
	// stops: no plan reaches the destination: 8.00 kWh short from charger 0 to the destination
}

func ExampleSweep_LeaveRule() {
	s, err := new(stops.Planner).Sweep(exampleTrip())
	if err != nil {
		panic(err)
	}
	for _, r := range s.LeaveRule(0) {
		if r.LeaveSoC == 0 {
			fmt.Printf("from %.1f %%: leave at once\n", 100*r.FromSoC)
		} else {
			fmt.Printf("from %.1f %%: charge to %.1f %%\n", 100*r.FromSoC, 100*r.LeaveSoC)
		}
	}
	// Output:
	// from 0.0 %: charge to 93.3 %
	// from 93.3 %: leave at once
}

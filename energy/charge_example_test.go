package energy_test

import (
	"fmt"

	"ampleway/energy"
	"ampleway/energy/taper"
)

func ExampleGenerateTaper() {
	curve, err := energy.GenerateTaper(77, 127, 35)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range curve {
		fmt.Printf("%3.0f %%  %5.1f kW\n", 100*p.SoC, p.PowerKW)
	}
	f, _ := taper.New(curve, 77)
	fmt.Printf("10-80 %%: %.3f min\n", f.TimeS(0.1, 0.8)/60)

	_, err = energy.GenerateTaper(77, 127, 20)
	fmt.Println(err)
	// Output:
	//   0 %  127.0 kW
	//  10 %  127.0 kW
	//  50 %   99.5 kW
	//  80 %   54.1 kW
	// 100 %   22.9 kW
	// 10-80 %: 35.000 min
	// energy: the 10-80 % time is shorter than full peak power all the way would take: 20 min given, at least 25.46 min for 77 kWh at 127 kW
}

func ExampleCar_ChargeCurve() {
	curve, _ := energy.GenerateTaper(77, 127, 35)
	car := &energy.Car{UsableKWh: 77, Taper: curve}
	for _, tempC := range []float64{25, 0} {
		at50kW, err := car.ChargeCurve(energy.DCSupply{PowerKW: 50}, energy.Battery{}, tempC)
		if err != nil {
			fmt.Println(err)
			return
		}
		f, _ := taper.New(at50kW, car.UsableKWh)
		fmt.Printf("pack at %2.0f °C, 50 kW station, 10-80 %%: %.0f min\n", tempC, f.TimeS(0.1, 0.8)/60)
	}
	// Output:
	// pack at 25 °C, 50 kW station, 10-80 %: 65 min
	// pack at  0 °C, 50 kW station, 10-80 %: 77 min
}

func ExampleOnBoard_On() {
	car := energy.OnBoard{PowerKW: 11, Phases: 1, Efficiency: 0.9}
	for _, c := range []energy.Circuit{{VoltageV: 120, BreakerA: 15}, {VoltageV: 240, BreakerA: 40}, {VoltageV: 240, BreakerA: 60}} {
		charge, err := car.On(c)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("level %d, %2.0f A breaker: %2.0f A, %.2f kW at the outlet, %.2f kW into the battery, limited by the %s\n",
			c.Level(), c.BreakerA, charge.CurrentA, charge.OutletKW, charge.BatteryKW, charge.Limit)
	}
	// Output:
	// level 1, 15 A breaker: 12 A, 1.44 kW at the outlet, 1.26 kW into the battery, limited by the circuit
	// level 2, 40 A breaker: 32 A, 7.68 kW at the outlet, 6.91 kW into the battery, limited by the circuit
	// level 2, 60 A breaker: 46 A, 11.00 kW at the outlet, 9.90 kW into the battery, limited by the car
}

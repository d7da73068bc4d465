package taper_test

import (
	"fmt"

	"ampleway/energy/taper"
)

// A battery of 60 kWh that takes 120 kW up to half full, then less and less,
// at a station of 100 kW.
func Example() {
	curve := taper.Curve{{SoC: 0, PowerKW: 120}, {SoC: 0.5, PowerKW: 120}, {SoC: 1, PowerKW: 20}}
	f, err := taper.New(curve.Cap(100), 60)
	if err != nil {
		fmt.Println(err)
		return
	}
	seconds := f.TimeS(0.1, 0.8)
	fmt.Printf("10 %% to 80 %% in %.1f min\n", seconds/60)
	fmt.Printf("after half of that time: %.0f %%\n", 100*f.SoCAfter(0.1, seconds/2))
	// Output:
	// 10 % to 80 % in 27.2 min
	// after half of that time: 48 %
}

package energy

import (
	"fmt"

	"ampleway/data/fault"
)

// RangeM returns how far in m a full battery takes the car, down to empty, at
// a steady speed in m/s on a level road at sea level, northward. The car's and
// the driver's speed caps apply. A trip never uses all of it: a reserve stays.
//
// The error is a *fault.Input for a speed or conditions out of range, or a
// tail wind that drives the car by itself.
func RangeM(car *Car, cond Conditions, speedMS float64) (float64, error) {
	cond.EveryMovement = true
	d, err := newDrive(car, &cond)
	if err != nil {
		return 0, err
	}
	if !(speedMS > 0 && speedMS < 200) {
		return 0, &fault.Input{Field: "speed", Found: fmt.Sprint(speedMS), Expected: "0 to 200 m/s"}
	}
	speedMS = min(speedMS, d.topSpeedMS)
	metre := Step{LengthM: 1, SpeedMS: speedMS}
	tractionW := d.stepJ(&metre, speedMS, speedMS, 1/speedMS) * speedMS
	batteryJ := d.capacityKWh * joulePerKWh
	if !(tractionW+d.load.steadyW > 0) {
		return 0, &fault.Input{Field: "conditions", Found: "a steady drive that needs no energy", Expected: "one that empties the battery"}
	}
	low, high := 0.0, batteryJ/(tractionW+d.load.steadyW)
	for range 100 {
		mid := (low + high) / 2
		if tractionW*mid+d.load.energyJ(mid) < batteryJ {
			low = mid
		} else {
			high = mid
		}
	}
	return low * speedMS, nil
}

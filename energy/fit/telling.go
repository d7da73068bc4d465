package fit

import (
	"fmt"

	"gonum.org/v1/gonum/stat"
)

// What a log must hold for a fit of consumption.
const (
	leastKm        = 10.0
	leastDriveS    = 900.0
	leastSpeedSD   = 2.5 // m/s, of the mean speeds of the windows
	leastFollowing = 0.5 // correlation of measured with expected energy
)

// telling refuses logs that cannot tell consumption at all.
func (f *driveFit) telling() error {
	var km, seconds float64
	var speeds, measured, expected []float64
	as := asGiven(f.car)
	for _, d := range f.drives {
		km += d.distanceM / 1000
		seconds += d.timeS
		for i := range d.windows {
			w := &d.windows[i]
			speeds = append(speeds, w.speedMS())
			measured = append(measured, (w.measuredKWh-w.climateKWh)/w.timeS)
			expected = append(expected, d.predictKWh(w, &as)/w.timeS)
		}
	}
	switch follows := stat.Correlation(measured, expected, nil); {
	case km < leastKm || seconds < leastDriveS:
		return &CannotTell{Reason: fmt.Sprintf("%.1f km and %.0f min of driving are too short", km, seconds/60), Need: fmt.Sprintf("%.0f km and %.0f min", leastKm, leastDriveS/60)}
	case stat.StdDev(speeds, nil) < leastSpeedSD:
		return &CannotTell{Reason: fmt.Sprintf("speed hardly varies (by %.1f km/h), so traction and auxiliaries cannot be told apart", 3.6*stat.StdDev(speeds, nil)), Need: fmt.Sprintf("a spread of %.0f km/h, slow and fast roads", 3.6*leastSpeedSD)}
	case follows < -0.3:
		return &CannotTell{Reason: "the battery seems to charge while the car accelerates: current or power has the other sign", Need: "negative figures while discharging, or the option for the other sign"}
	case !(follows >= leastFollowing):
		return &CannotTell{Reason: fmt.Sprintf("battery power does not follow the driving (correlation %.2f)", follows), Need: "speed and power on one clock"}
	}
	return nil
}

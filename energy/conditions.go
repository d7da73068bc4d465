package energy

import (
	"cmp"
	"slices"
)

// Conditions are the weather, the load and the choices of one drive. The zero
// value is 0 °C, still air, a dry road, a car without load and climate on;
// start from Mild for a spring day.
type Conditions struct {
	TempC          float64 // air temperature along the road
	SeaLevelHPa    float64 // air pressure reduced to sea level; 0: 1013.25
	WindSpeedMS    float64 // wind at the car's height: RoadWindMS of a forecast
	WindFromDeg    float64 // direction the wind comes from, clockwise from north
	HeadWind       bool    // instead of WindFromDeg: the wind blows against the car wherever it goes
	SunWM2         float64 // sunshine on a level surface, 0 at night to 1,000
	Surface        Surface // state of the road; "": dry
	WinterTyres    bool
	PayloadKg      float64  // passengers (without the driver) and luggage
	Extras         []string // names of the car's Extras in use
	SpeedCapMS     float64  // the driver goes no faster; 0: no cap
	ClimateOff     bool     // no heating or cooling of the cabin
	Preconditioned bool     // cabin brought to temperature on the outlet before the start
	CabinReady     bool     // the drive goes on from an earlier one: the cabin is at temperature already
	StateOfHealth  float64  // usable energy left of a new battery, 0..1; 0: 1
	UserFactor     float64  // multiplies traction energy; 0: 1
	RegenShare     float64  // share of the car's regeneration limit that a cold battery takes, such as Battery.Derate; 0: 1
	EveryMovement  bool     // the steps show every braking and acceleration: no stop-and-go allowance
}

// Mild returns still, dry air at 20 °C with nothing else set.
func Mild() Conditions { return Conditions{TempC: 20} }

// WithExtras returns a copy with further extras in use.
func (c Conditions) WithExtras(names ...string) Conditions {
	c.Extras = append(slices.Clone(c.Extras), names...)
	return c
}

func (c *Conditions) seaLevelHPa() float64 {
	return cmp.Or(c.SeaLevelHPa, standardPressureHPa)
}

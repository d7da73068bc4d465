package energy

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ampleway/data/fault"
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
	RainMMPerH     float64 // rain, 0 to mostRain; it wets a bare road
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

func (c *Conditions) validate(car *Car) error {
	for _, name := range c.Extras {
		if car.extra(name) == nil {
			return &fault.Input{File: car.Name, Field: "extras", Found: name, Expected: "an extra that the car file has: " + car.extraNames()}
		}
	}
	if _, known := surfaceRolling[c.Road()]; !known {
		return &fault.Input{Field: "surface", Found: string(c.Surface), Expected: "dry, wet, standing-water, snow or slush"}
	}
	for _, r := range []struct {
		field            string
		value, low, high float64
		words            string
	}{
		{"temp_c", c.TempC, -60, 60, "−60 to 60 °C"},
		{"sea_level_hpa", c.seaLevelHPa(), 850, 1100, "850 to 1,100 hPa"},
		{"wind_speed_m_per_s", c.WindSpeedMS, 0, 60, "0 to 60 m/s"},
		{"wind_from_deg", c.WindFromDeg, -360, 360, "−360 to 360 degrees"},
		{"sun_w_per_m2", c.SunWM2, 0, 1400, "0 to 1,400 W/m²"},
		{"rain_mm_per_h", c.RainMMPerH, 0, mostRain, "0 to 40 mm/h"},
		{"payload_kg", c.PayloadKg, 0, 20000, "0 to 20,000 kg"},
		{"speed_cap_m_per_s", c.SpeedCapMS, 0, 100, "0 to 100 m/s"},
		{"state_of_health", cmp.Or(c.StateOfHealth, 1), 0.2, 1.1, "0.2 to 1.1"},
		{"user_factor", cmp.Or(c.UserFactor, 1), 0.2, 5, "0.2 to 5"},
		{"regen_share", c.RegenShare, 0, 1, "0 to 1"},
	} {
		if !(r.value >= r.low && r.value <= r.high) {
			return &fault.Input{Field: r.field, Found: fmt.Sprint(r.value), Expected: r.words}
		}
	}
	return nil
}

// Surface is the state of the road.
type Surface string

// Road states. The factors on rolling resistance are common practice without
// a source: they vary with water and snow depth more than with anything else.
const (
	Dry           Surface = "dry"
	Wet           Surface = "wet"            // rain, a film of water
	StandingWater Surface = "standing-water" // heavy rain, water in the tracks
	Snow          Surface = "snow"           // packed snow
	Slush         Surface = "slush"          // slush or fresh snow
)

var surfaceRolling = map[Surface]float64{Dry: 1, Wet: 1.10, StandingWater: 1.25, Snow: 1.25, Slush: 1.50}

// The depth of water on a road rises with the intensity of rain to the power of
// rainDepth: Gallaway, Schiller and Rose, The Effects of Rainfall Intensity,
// Pavement Cross Slope, Surface Texture, and Drainage Length on Pavement Water
// Depths, Texas Transportation Institute report 138-5, 1971 (the exponent from
// memory). Rolling resistance is taken to rise in proportion to the depth, and
// as much as under StandingWater in rain of mostRain: common practice. Wet is
// then the film of rain of 8.5 mm/h.
const (
	rainDepth = 0.59
	mostRain  = 40.0 // mm/h
)

// rainRolling is the factor on rolling resistance by rain on a bare road.
func (c *Conditions) rainRolling() float64 {
	return 1 + (surfaceRolling[StandingWater]-1)*math.Pow(c.RainMMPerH/mostRain, rainDepth)
}

// Road is the state of the road that the drive meets: rain wets a dry one.
func (c *Conditions) Road() Surface {
	road := cmp.Or(c.Surface, Dry)
	if road == Dry && c.RainMMPerH > 0 {
		return Wet
	}
	return road
}

// winterTyreRolling is the rolling resistance of winter tyres over that of
// the summer tyres they replace: about half a class of the EU tyre label
// (Regulation 1222/2009 Annex I), common practice.
const winterTyreRolling = 1.08

// rollingPerK is the rise of rolling resistance for each kelvin below 20 °C:
// K₀ = 8.6e-3 of the coast-down correction in UN GTR 15 Annex 4 (from
// memory); ISO 28580 corrects by 8e-3 around 25 °C. Outside −25..40 °C it is
// held at the end value.
const (
	rollingPerK      = 8.6e-3
	rollingReference = 20.0
	rollingColdest   = -25.0
	rollingHottest   = 40.0
)

// rollingFactor returns rolling resistance over that on summer tyres on a dry
// road at 20 °C.
func (c *Conditions) rollingFactor() float64 {
	tempC := min(max(c.TempC, rollingColdest), rollingHottest)
	f := (1 + rollingPerK*(rollingReference-tempC)) * max(surfaceRolling[cmp.Or(c.Surface, Dry)], c.rainRolling())
	if c.WinterTyres {
		f *= winterTyreRolling
	}
	return f
}

package energy

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

var surfaceRolling = map[Surface]float64{"": 1, Dry: 1, Wet: 1.10, StandingWater: 1.25, Snow: 1.25, Slush: 1.50}

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
	f := (1 + rollingPerK*(rollingReference-tempC)) * surfaceRolling[c.Surface]
	if c.WinterTyres {
		f *= winterTyreRolling
	}
	return f
}

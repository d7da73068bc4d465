package energy

import "math"

// RoadLoad is the force that holds a car back on a level road, in one of two
// forms. With CoastDown set the coast-down form is used, otherwise the
// physical form.
//
// Physical form: F = m g Crr + ½ ρ CdA v² (any vehicle dynamics text, for
// instance SAE J1263). Coast-down form: F = A + B v + C v², as fitted to a
// car rolling out on a level road (40 CFR 1066.305, UN GTR 15 Annex 4).
type RoadLoad struct {
	RollingCoefficient float64 // Crr at 20 °C on dry asphalt, 0.004..0.03
	DragCoefficient    float64 // Cd, used with FrontalAreaM2
	FrontalAreaM2      float64
	DragAreaM2         float64 // Cd times area; used when DragCoefficient is 0
	CoastDown          *CoastDown
}

// CoastDown holds A, B and C and what they were measured with. C is not pure
// air drag: only AeroShare of it is scaled with air density and wind.
type CoastDown struct {
	AN         float64 // N
	BNPerMS    float64 // N per m/s
	CNPerMS2   float64 // N per (m/s)²
	TestMassKg float64 // mass the coefficients belong to; the constant part A scales with mass
	AeroShare  float64 // share of C that is air drag, 0..1
}

// Coast-down coefficients belong to dry air at 20 °C and 98.21 kPa, the
// reference conditions of SAE J1263 (from memory).
const (
	coastDownPressureHPa = 982.1
	coastDownDensityKgM3 = 100 * coastDownPressureHPa / (gasConstant * (20 + kelvin))
)

const (
	newtonPerLbf  = 4.4482216152605 // NIST SP 811
	metreSPerMPH  = 0.44704         // exact
	kilogramPerLb = 0.45359237      // exact
	metrePerMile  = 1609.344        // exact
	metreSPerKMH  = 1 / 3.6
)

// CoastDownUS converts coefficients as the US test car list has them: pounds
// force and miles per hour, with the equivalent test weight in pounds. The
// air share of C is set to 1.
func CoastDownUS(aLbf, bLbfPerMPH, cLbfPerMPH2, testWeightLb float64) *CoastDown {
	return &CoastDown{
		AN:         aLbf * newtonPerLbf,
		BNPerMS:    bLbfPerMPH * newtonPerLbf / metreSPerMPH,
		CNPerMS2:   cLbfPerMPH2 * newtonPerLbf / (metreSPerMPH * metreSPerMPH),
		TestMassKg: testWeightLb * kilogramPerLb,
		AeroShare:  1,
	}
}

// terms is a road load made ready for one mass and one set of conditions:
// F = rollingN + linear v + square v² + drag ρ |u| uₓ, with u the air's
// velocity relative to the car.
type terms struct {
	rollingN float64 // on the level; times the cosine of the slope
	linear   float64 // N per m/s
	square   float64 // N per (m/s)², the part of C that is not air
	dragM2   float64 // ½ CdA
}

func (r *RoadLoad) terms(massKg, rollingFactor, extraDragM2 float64) terms {
	if c := r.CoastDown; c != nil {
		return terms{
			rollingN: c.AN * rollingFactor * massKg / c.TestMassKg,
			linear:   c.BNPerMS,
			square:   c.CNPerMS2 * (1 - c.AeroShare),
			dragM2:   c.CNPerMS2*c.AeroShare/coastDownDensityKgM3 + extraDragM2/2,
		}
	}
	return terms{
		rollingN: massKg * gravityMS2 * r.RollingCoefficient * rollingFactor,
		dragM2:   (r.CdAM2() + extraDragM2) / 2,
	}
}

// CdAM2 returns the drag area in m² of either form.
func (r *RoadLoad) CdAM2() float64 {
	switch c := r.CoastDown; {
	case c != nil:
		return 2 * c.CNPerMS2 * c.AeroShare / coastDownDensityKgM3
	case r.DragCoefficient != 0:
		return r.DragCoefficient * r.FrontalAreaM2
	}
	return r.DragAreaM2
}

// forceN is the road load in N on a slope, without grade and inertia.
// headMS is the wind against the car, crossMS the wind across it. Drag acts
// along the relative air velocity; its part along the road is counted.
func (t *terms) forceN(speedMS, headMS, crossMS, densityKgM3, cosSlope float64) float64 {
	along := speedMS + headMS
	relative := math.Abs(along)
	if crossMS != 0 {
		relative = math.Sqrt(along*along + crossMS*crossMS)
	}
	return t.rollingN*cosSlope + speedMS*(t.linear+t.square*speedMS) + t.dragM2*densityKgM3*relative*along
}

package fit

import (
	"math"
	"strconv"

	"ampleway/energy"
)

// The quantities a fit can move, each as one number.
const (
	pFactor  = iota // on traction energy, 1 = as the car says
	pAux            // auxiliaries, kW
	pRolling        // on the rolling part of road load
	pDrag           // on the drag area
	pMass           // on mass
	pRegen          // regenerative efficiency, 0..1
	pCold           // kW of regeneration the battery takes for each kelvin above freezing, on top of coldFloorKW
	parameters
)

type theta [parameters]float64

// bounds are the least and the most of every parameter.
type bounds [parameters][2]float64

// limits are what a car can be; a fit that ends on one has not found a car.
var limits = bounds{
	pFactor: {0.4, 2.5}, pAux: {0, 3}, pRolling: {0.3, 3}, pDrag: {0.3, 2.5}, pMass: {0.6, 1.8}, pRegen: {0.3, 1}, pCold: {0.2, 60},
}

// asGiven are the parameters that leave the car as it is.
func asGiven(car *energy.Car) theta {
	return theta{pFactor: 1, pAux: car.AuxiliaryW / 1000, pRolling: 1, pDrag: 1, pMass: 1, pRegen: car.RegenEfficiency, pCold: limits[pCold][1]}
}

// A cold battery takes little from braking: at and below 0 °C coldFloorKW,
// above it pCold kW more for each kelvin. The form is common practice; the
// slope is fitted where the log has cold batteries.
const coldFloorKW = 10.0

// work is the wheel energy of one piece in J, by cause, for the car as given.
type work struct {
	rolling, drag, mass float64
	timeS               float64
	regenJ              float64 // most that the car's regeneration limit lets back
	regenShare          float64 // fades out towards standstill
}

// Regeneration fades out as in package energy, which a test compares.
const (
	regenNoneMS = 5 * metreSPerKMH
	regenFullMS = 15 * metreSPerKMH
)

// road is a car's road load without grade at one temperature, found by asking
// energy.Drive for three steady speeds: rest is a + b v + c v² without air.
type road struct {
	a, b, c float64
	dragM2  float64 // ½ CdA
	tempC   float64
	massKg  float64
	inertia float64 // kg
}

func newRoad(car *energy.Car, tempC float64) (road, error) {
	r := road{dragM2: car.RoadLoad.CdAM2() / 2, tempC: tempC, massKg: car.MassKg, inertia: car.MassKg * (1 + car.RotatingShare)}
	air := energy.AirDensityKgM3(tempC, energy.PressureHPa(0, seaLevelHPa))
	var rest [3]float64
	for i, v := range []float64{1, 10, 20} {
		run, err := energy.Drive(car, conditions(tempC), []energy.Moment{{TimeS: 0, SpeedMS: v}, {TimeS: 1, SpeedMS: v}}, car.UsableKWh/2)
		if err != nil {
			return r, err
		}
		rest[i] = run.WheelKWh*joulePerKWh/v - r.dragM2*air*v*v
	}
	r.c = ((rest[2]-rest[1])/10 - (rest[1]-rest[0])/9) / 19
	r.b = (rest[1]-rest[0])/9 - 11*r.c
	r.a = rest[0] - r.b - r.c
	return r, nil
}

const (
	joulePerKWh = 3.6e6
	gravityMS2  = 9.80665
	seaLevelHPa = 1013.25
)

// conditions are those of a logged drive: everything that moves is in the log.
func conditions(tempC float64) energy.Conditions {
	return energy.Conditions{TempC: tempC, EveryMovement: true, ClimateOff: true}
}

func (r *road) work(p *piece, car *energy.Car) work {
	length := p.speedMS * p.timeS
	if length == 0 {
		return work{}
	}
	sin := min(max(p.riseM/length, -1), 1)
	air := energy.AirDensityKgM3(r.tempC, energy.PressureHPa(p.elevM, seaLevelHPa))
	v := p.speedMS
	w := work{
		rolling: (r.a*math.Sqrt(1-sin*sin) + v*(r.b+v*r.c)) * length,
		drag:    r.dragM2 * air * v * v * length,
		mass:    r.massKg*gravityMS2*sin*length + r.inertia*p.gainMS*v,
		timeS:   p.timeS,
		regenJ:  car.RegenLimitKW * 1000 * p.timeS,
	}
	w.regenShare = min(max((v-regenNoneMS)/(regenFullMS-regenNoneMS), 0), 1)
	return w
}

// tractionJ is what a piece takes from the battery, or gives back.
func (w *work) tractionJ(th *theta, driveEfficiency, coldJ float64) float64 {
	wheel := th[pRolling]*w.rolling + th[pDrag]*w.drag + th[pMass]*w.mass
	if wheel >= 0 {
		return wheel * th[pFactor] / driveEfficiency
	}
	return -min(-wheel*th[pRegen]*w.regenShare, w.regenJ, coldJ)
}

// addGradient adds the derivatives of tractionJ by the parameters. coldPerJ is
// that of the cold limit in J by pCold.
func (w *work) addGradient(out *theta, th *theta, driveEfficiency, coldJ, coldPerJ float64) {
	wheel := th[pRolling]*w.rolling + th[pDrag]*w.drag + th[pMass]*w.mass
	perWheel := th[pFactor] / driveEfficiency
	if wheel >= 0 {
		out[pFactor] += wheel / driveEfficiency
	} else {
		perWheel = th[pRegen] * w.regenShare
		if back := -wheel * perWheel; back > min(w.regenJ, coldJ) {
			if coldJ < w.regenJ {
				out[pCold] -= coldPerJ
			}
			return
		}
		out[pRegen] += wheel * w.regenShare
	}
	out[pRolling] += w.rolling * perWheel
	out[pDrag] += w.drag * perWheel
	out[pMass] += w.mass * perWheel
}

// coldLimitKW is the regeneration limit that the battery's temperature sets.
func coldLimitKW(slope, packC float64) float64 {
	if math.IsNaN(packC) || slope >= limits[pCold][1] {
		return math.Inf(1)
	}
	return coldFloorKW + slope*max(packC, 0)
}

// apply writes fitted parameters into a copy of the car.
func apply(car *energy.Car, th *theta) *energy.Car {
	c := *car
	c.TractionFactor = th[pFactor] * orOne(car.TractionFactor)
	c.AuxiliaryW = 1000 * th[pAux]
	c.RegenEfficiency = th[pRegen]
	c.MassKg = car.MassKg * th[pMass]
	if cd := car.RoadLoad.CoastDown; cd != nil {
		scaled := *cd
		air := cd.CNPerMS2 * cd.AeroShare * th[pDrag]
		scaled.CNPerMS2 = air + cd.CNPerMS2*(1-cd.AeroShare)*th[pRolling]
		if scaled.CNPerMS2 != 0 {
			scaled.AeroShare = air / scaled.CNPerMS2
		}
		scaled.AN *= th[pRolling]
		scaled.BNPerMS *= th[pRolling]
		scaled.TestMassKg *= th[pMass]
		c.RoadLoad.CoastDown = &scaled
		return &c
	}
	c.RoadLoad = energy.RoadLoad{
		RollingCoefficient: car.RoadLoad.RollingCoefficient * th[pRolling] / th[pMass],
		DragAreaM2:         car.RoadLoad.CdAM2() * th[pDrag],
	}
	return &c
}

// tidied rounds what a fit has found to what it can mean, for a car file.
func tidied(car *energy.Car) *energy.Car {
	c := *car
	c.AuxiliaryW = max(c.AuxiliaryW, 0)
	for _, x := range []*float64{
		&c.TractionFactor, &c.AuxiliaryW, &c.RegenEfficiency, &c.MassKg, &c.RoadLoad.RollingCoefficient, &c.RoadLoad.DragAreaM2,
	} {
		*x = round(*x)
	}
	return &c
}

// round keeps four significant digits.
func round(x float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	if err != nil {
		return x
	}
	return out
}

func orOne(x float64) float64 {
	if x == 0 {
		return 1
	}
	return x
}

package energy

import (
	"ampleway/energy/taper"
)

// Car is what is known of one car. ReadCar reads it from a file and fills
// what the file leaves out with stated defaults; a Car made in code must be
// complete, and Validate says whether it is.
type Car struct {
	Name     string
	Note     string // where the figures are from
	MadeFrom Origin

	UsableKWh       float64 // energy between 0 and 1 SoC of a new battery, > 0
	MassKg          float64 // ready to drive with the driver, without other load, > 0
	RotatingShare   float64 // inertia of wheels and motor as a share of MassKg, 0..0.2
	RoadLoad        RoadLoad
	TractionFactor  float64 // multiplies traction energy; what a label or a log says this car needs over the model; 0: 1
	DriveEfficiency float64 // battery to wheel, 0..1
	RegenEfficiency float64 // wheel to battery, 0..1
	RegenLimitKW    float64 // most power into the battery from braking, ≥ 0
	AuxiliaryW      float64 // electronics, lights, pumps: everything but traction and climate, ≥ 0
	Climate         Climate
	TopSpeedMS      float64 // > 0

	Taper      taper.Curve // DC power at the battery against SoC
	AC         OnBoard
	Pack       []PackPoint // pack voltage against SoC, rising SoC; empty: unknown
	Connectors []string    // inlets of the car, as the trade names them ("CCS2", "J1772", "J3400" ...)
	Adapters   []Adapter
	Extras     []Extra
	Spread     Spread // as the file has it; PlanSpread is what a plan allows for
	OwnSpread  bool   // Spread is the owner's, who answers for it
}

// OnBoard is the car's own AC charger.
type OnBoard struct {
	PowerKW    float64 // most power drawn from the outlet, ≥ 0
	Phases     int     // 1, 2 or 3
	CurrentA   float64 // most current on each phase; 0: only PowerKW limits
	Efficiency float64 // battery energy over outlet energy, 0..1
}

// PackPoint is the open-circuit voltage of the whole pack at one SoC.
type PackPoint struct{ SoC, VoltageV float64 }

// Adapter lets a station's connector stand for one of the car's inlets.
type Adapter struct {
	Station string  // connector of the station
	Inlet   string  // one of the car's Connectors
	LimitKW float64 // most power through the adapter; 0: no limit of its own
	LimitA  float64 // most current through the adapter; 0: no limit of its own
}

// Extra is something the car can carry or tow, chosen by name in Conditions.
type Extra struct {
	Name       string
	MassKg     float64 // added mass, ≥ 0
	DragAreaM2 float64 // added to the car's drag area CdA, ≥ 0
	TopSpeedMS float64 // speed limit while it is used; 0: none
}

// Spread is how far consumption strays from the estimate, as standard
// deviations relative to it.
type Spread struct {
	Trip float64 // one factor for the whole trip: driver, tyres, weather misjudged
	Leg  float64 // one factor for each leg: traffic, gusts
}

// PackVoltageV returns the pack voltage at a SoC from 0 to 1, linear between
// the points of c.Pack and constant beyond them; 0 when no point is known.
func (c *Car) PackVoltageV(soc float64) float64 {
	points := c.Pack
	if len(points) == 0 {
		return 0
	}
	if soc <= points[0].SoC {
		return points[0].VoltageV
	}
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; soc < b.SoC {
			return a.VoltageV + (b.VoltageV-a.VoltageV)*(soc-a.SoC)/(b.SoC-a.SoC)
		}
	}
	return points[len(points)-1].VoltageV
}

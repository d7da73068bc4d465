package energy_test

import (
	"testing"

	"ampleway/energy"
)

// ISO 2533 standard atmosphere: density in kg/m³ at elevations in m.
func TestAirDensityIsThatOfTheStandardAtmosphere(t *testing.T) {
	for elevationM, want := range map[float64]float64{
		0: 1.2250, 500: 1.1673, 1000: 1.1116, 1500: 1.0581, 2000: 1.0065,
		2500: 0.9569, 3000: 0.9091, 3500: 0.8632, 4000: 0.8191,
	} {
		tempC := 15 - 0.0065*elevationM // of the same atmosphere
		got := energy.AirDensityKgM3(tempC, energy.PressureHPa(elevationM, 1013.25))
		near(t, "density", got, want, 0.00006) // the table has 4 digits after the point
	}
	// Dry air at one pressure, −7 °C against +20 °C: the published +10.2 % is
	// +10.15 % by the gas law.
	near(t, "cold over mild", energy.AirDensityKgM3(-7, 1000)/energy.AirDensityKgM3(20, 1000), 1.102, 0.001)
}

// steadyWhPerM is the battery energy of a metre at one speed on a level road.
func steadyWhPerM(t testing.TB, car *energy.Car, conditions energy.Conditions, speedMS float64) float64 {
	t.Helper()
	conditions.EveryMovement = true
	p, err := energy.NewProfile(car, conditions, []energy.Step{
		{LengthM: 1000, SpeedMS: speedMS}, {LengthM: 100000, SpeedMS: speedMS},
	})
	if err != nil {
		t.Fatal(err)
	}
	return p.Leg(1000, 101000).CostKWh / 100
}

// Derived from the US EPA coefficients in the published values: road load of
// the 214 hp hatch in Wh/mi at the wheel, and for the same kind of car a
// 10 mph head wind at 70 mph about +20 %, the same tail wind about −18 %.
func TestCoastDownForceAndWindAtSteadySpeed(t *testing.T) {
	car := measuredCars[1].onDynamometer()
	car.DriveEfficiency, car.AuxiliaryW = 1, 0
	const mph = 0.44704
	for speedMPH, want := range map[float64]float64{55: 208.5, 65: 262.1, 70: 292.0, 75: 323.8} {
		perMile := steadyWhPerM(t, car, dynamometer(), speedMPH*mph) * 1609.344
		near(t, "Wh/mi", perMile, want, 0.1)
	}
	var head, tail []float64
	for _, m := range measuredCars {
		car := m.onDynamometer()
		car.AuxiliaryW = 0
		calm := steadyWhPerM(t, car, dynamometer(), 70*mph)
		against, with := dynamometer(), dynamometer()
		against.WindSpeedMS, with.WindSpeedMS = 10*mph, 10*mph
		with.WindFromDeg = 180
		head = append(head, steadyWhPerM(t, car, against, 70*mph)/calm-1)
		tail = append(tail, steadyWhPerM(t, car, with, 70*mph)/calm-1)
	}
	t.Logf("10 mph at 70 mph: head wind %+.1f %%, tail wind %+.1f %% (mean of %d cars)", 100*mean(head), 100*mean(tail), len(head))
	near(t, "head wind", mean(head), 0.20, 0.02)
	near(t, "tail wind", mean(tail), -0.18, 0.02)
	for i := range head {
		if head[i] <= -tail[i] {
			t.Errorf("%s: head wind %+.3f, tail wind %+.3f: want the head wind to cost more than the tail wind gives", measuredCars[i].name, head[i], tail[i])
		}
	}
}

// A cross wind costs, and costs the same from either side.
func TestCrossWind(t *testing.T) {
	cross := func(fromDeg float64) float64 {
		c := energy.Mild()
		c.WindSpeedMS, c.WindFromDeg = 8, fromDeg
		return steadyWhPerM(t, testCar(), c, 30)
	}
	near(t, "left over right", cross(90)/cross(270), 1, 1e-12)
	if calm := steadyWhPerM(t, testCar(), energy.Mild(), 30); cross(90) <= calm {
		t.Errorf("cross wind %.5f Wh/m, calm %.5f", cross(90), calm)
	}
}

// Rain costs more the harder it falls; at 8.5 mm/h it leaves the film of a wet
// road, at 40 mm/h standing water, and on snow or slush it adds nothing. The
// climate factor of the HDM-4 model on rolling resistance, 1 + 0.002 for each
// percent driven in the wet, 1.20 for all of it (from memory), lies between.
func TestRain(t *testing.T) {
	car := builtIn(t, "mid-size-sedan")
	takes := func(c energy.Conditions) float64 {
		c.TempC, c.ClimateOff = 20, true
		return steadyWhPerM(t, car, c, 25)
	}
	dry := takes(energy.Conditions{})
	over := func(c energy.Conditions) float64 { return takes(c)/dry - 1 }
	film, water := over(energy.Conditions{Surface: energy.Wet}), over(energy.Conditions{Surface: energy.StandingWater})
	near(t, "rain of a wet road", over(energy.Conditions{RainMMPerH: 8.5}), film, 0.01*film)
	near(t, "rain that stands", over(energy.Conditions{RainMMPerH: 40}), water, 1e-9)
	if hdm4 := film * 0.20 / 0.10; !(hdm4 > over(energy.Conditions{RainMMPerH: 8.5}) && hdm4 < water) {
		t.Errorf("HDM-4 has %+.3f, rain of 8.5 and 40 mm/h %+.3f and %+.3f", hdm4, over(energy.Conditions{RainMMPerH: 8.5}), water)
	}
	before := 0.0
	for _, mm := range []float64{0.1, 1, 5, 20, 40} {
		now := over(energy.Conditions{RainMMPerH: mm})
		if now <= before {
			t.Errorf("rain of %g mm/h: %+.4f after %+.4f", mm, now, before)
		}
		before = now
	}
	for _, surface := range []energy.Surface{energy.Snow, energy.Slush} {
		near(t, string(surface), takes(energy.Conditions{Surface: surface, RainMMPerH: 40}), takes(energy.Conditions{Surface: surface}), 1e-12)
	}
	for _, mm := range []float64{-1, 41} {
		if _, err := energy.NewProfile(car, energy.Conditions{RainMMPerH: mm}, []energy.Step{{LengthM: 1000, SpeedMS: 20}}); err == nil {
			t.Errorf("rain of %g mm/h was taken", mm)
		}
	}
}

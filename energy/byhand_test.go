package energy_test

import (
	"math"
	"testing"

	"ampleway/data/cars"
	"ampleway/energy"
)

// steadySecond is the drive of one second at a steady speed on a slope, the
// sine of which is given.
func steadySecond(t testing.TB, car *energy.Car, c energy.Conditions, speedMS, sine, bearingDeg float64) energy.Run {
	t.Helper()
	run, err := energy.Drive(car, c, []energy.Moment{
		{SpeedMS: speedMS, BearingDeg: bearingDeg},
		{TimeS: 1, SpeedMS: speedMS, BearingDeg: bearingDeg, ElevationM: sine * speedMS},
	}, 30)
	if err != nil {
		t.Fatal(err)
	}
	return run
}

// forceN is the net force at the wheels in N.
func forceN(run energy.Run) float64 { return (run.WheelKWh - run.BrakeKWh) * 3.6e6 / run.DistanceM }

// slide is a car with nothing but rolling resistance.
func slide() *energy.Car {
	car := testCar()
	car.RoadLoad = energy.RoadLoad{RollingCoefficient: 0.010}
	return car
}

// Forces on a slope, in wind and in thin air, from a textbook: weight along
// the road m g sin, on the tyres m g cos, and ½ ρ CdA of the air's speed
// against the car, whose part along the road counts.
func TestForcesByHand(t *testing.T) {
	const (
		weightN = 1800 * 9.80665
		density = 101325 / (287.05287 * 293.15)
		drag    = 0.5 * density * 0.28 * 2.4
	)
	wind := func(speedMS, fromDeg float64) energy.Conditions {
		return energy.Conditions{TempC: 20, WindSpeedMS: speedMS, WindFromDeg: fromDeg}
	}
	calm := energy.Mild()
	for _, c := range []struct {
		name                      string
		conditions                energy.Conditions
		speedMS, sine, bearingDeg float64
		want                      float64
	}{
		{"level", calm, 20, 0, 0, weightN*0.010 + drag*400},
		{"up 30 %", calm, 1, 0.3, 0, weightN*(0.3+0.010*math.Sqrt(1-0.09)) + drag},
		{"down 30 %", calm, 1, -0.3, 0, weightN*(-0.3+0.010*math.Sqrt(1-0.09)) + drag},
		{"straight up", calm, 1, 1.5, 0, weightN + drag}, // no road is steeper: a fault of the heights
		{"straight down", calm, 1, -1.5, 0, -weightN + drag},
		{"head wind", wind(10, 0), 20, 0, 0, weightN*0.010 + drag*900},
		{"tail wind", wind(10, 180), 20, 0, 0, weightN*0.010 + drag*100},
		{"blown along", wind(30, 180), 20, 0, 0, weightN*0.010 - drag*100},
		{"eastward against an east wind", wind(10, 90), 20, 0, 90, weightN*0.010 + drag*900},
		{"cross wind", wind(15, 90), 20, 0, 0, weightN*0.010 + drag*25*20},
		{"from ahead on one side", wind(10, 60), 20, 0, 0, weightN*0.010 + drag*math.Hypot(25, 10*math.Sqrt(0.75))*25},
	} {
		got := forceN(steadySecond(t, testCar(), c.conditions, c.speedMS, c.sine, c.bearingDeg))
		near(t, c.name+", N", got, c.want, 2e-4*math.Abs(c.want))
	}
}

// Payload, an extra and the rotating parts: what weighs more rolls harder, and
// only what turns is slower to start without being heavier.
func TestInertiaByHand(t *testing.T) {
	car := slide()
	car.RotatingShare = 0.05
	car.Extras = []energy.Extra{{Name: "trailer", MassKg: 700}}
	c := energy.Mild().WithExtras("trailer")
	c.PayloadKg = 300
	run, err := energy.Drive(car, c, []energy.Moment{{SpeedMS: 10}, {TimeS: 2, SpeedMS: 14}}, 30)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "N", forceN(run), 2800*9.80665*0.010+(2800+0.05*1800)*2, 1e-9)
}

// Rolling resistance rises by 0.86 % for each kelvin below 20 °C (UN GTR 15
// Annex 4, K₀ = 8.6e-3), and is held beyond −25 and 40 °C.
func TestRollingByTemperature(t *testing.T) {
	at := func(c energy.Conditions) float64 {
		c.ClimateOff = true
		return forceN(steadySecond(t, slide(), c, 10, 0, 0)) / (1800 * 9.80665 * 0.010)
	}
	for tempC, want := range map[float64]float64{20: 1, 0: 1.172, -25: 1.387, -40: 1.387, 40: 0.828, 50: 0.828} {
		near(t, "rolling over that at 20 °C", at(energy.Conditions{TempC: tempC}), want, 1e-9)
	}
	last := 0.0
	for _, s := range []energy.Surface{energy.Dry, energy.Wet, energy.StandingWater, energy.Slush} {
		rolling := at(energy.Conditions{TempC: 20, Surface: s})
		if rolling <= last {
			t.Errorf("%s: %v of dry, no more than on the road before it", s, rolling)
		}
		last = rolling
		winter := at(energy.Conditions{TempC: 20, Surface: s, WinterTyres: true})
		// From the middle of class B to its end, 7.15 to 7.7 kg/t of the EU tyre
		// label (Regulation 1222/2009 Annex I), is 7.7 %.
		if ratio := winter / rolling; ratio < 1.06 || ratio > 1.10 {
			t.Errorf("%s: winter tyres roll %v times as hard", s, ratio)
		}
	}
}

// Coast-down coefficients are the force itself in the reference air (SAE
// J1263: 20 °C, 98.21 kPa), whatever part of C is air; in other air and in the
// wind that part alone changes.
func TestCoastDownInItsReferenceAir(t *testing.T) {
	reference := energy.Conditions{TempC: 20, SeaLevelHPa: 982.1}
	for _, share := range []float64{0, 0.4, 0.9, 1} {
		car := testCar()
		car.RoadLoad = energy.RoadLoad{CoastDown: &energy.CoastDown{AN: 150, BNPerMS: 2, CNPerMS2: 0.4, TestMassKg: 1800, AeroShare: share}}
		near(t, "N at 30 m/s", forceN(steadySecond(t, car, reference, 30, 0, 0)), 150+2*30+0.4*900, 1e-6)
		thick := reference
		thick.SeaLevelHPa *= 1.1
		near(t, "N in 10 % more air", forceN(steadySecond(t, car, thick, 30, 0, 0)), 150+2*30+0.4*900*(1+0.1*share), 1e-6)
		windy := reference
		windy.WindSpeedMS = 10
		near(t, "N in a head wind", forceN(steadySecond(t, car, windy, 30, 0, 0)), 150+2*30+0.4*(900*(1-share)+1600*share), 1e-6)
		const density = 98210 / (287.05287 * 293.15)
		near(t, "½ ρ CdA", 0.5*density*car.RoadLoad.CdAM2(), 0.4*share, 1e-12)
		// An extra adds its own area, in this form as in the other.
		car.Extras = []energy.Extra{{Name: "box", DragAreaM2: 0.3}}
		near(t, "N with a box", forceN(steadySecond(t, car, reference.WithExtras("box"), 30, 0, 0)), 150+2*30+0.4*900+0.5*density*0.3*900, 1e-6)
	}
	near(t, "CdA from its factors", testCar().RoadLoad.CdAM2(), 0.672, 1e-12)
	near(t, "CdA as given", (&energy.RoadLoad{DragAreaM2: 0.7}).CdAM2(), 0.7, 0)
}

// Braking gives back its share, fading from 15 to 5 km/h, below which the
// friction brakes stop the car; never more power than the limit, and of that
// the share that a cold battery takes.
func TestRegeneration(t *testing.T) {
	share := func(kmh float64) float64 {
		run := steadySecond(t, testCar(), energy.Mild(), kmh/3.6, -0.2, 0)
		return run.RegenKWh / (run.BrakeKWh * energy.DefaultRegenEfficiency)
	}
	for kmh, want := range map[float64]float64{3: 0, 5: 0, 7.5: 0.25, 10: 0.5, 12.5: 0.75, 15: 1, 30: 1} {
		near(t, "share given back", share(kmh), want, 1e-9)
	}
	cold := energy.Mild()
	cold.RegenShare = 0.25
	near(t, "kWh of a second at 60 kW", steadySecond(t, testCar(), energy.Mild(), 40, -0.2, 0).RegenKWh, 60.0/3600, 1e-12)
	near(t, "kWh of a second at 15 kW", steadySecond(t, testCar(), cold, 40, -0.2, 0).RegenKWh, 15.0/3600, 1e-12)
}

// A cabin at 0 °C is 21 K from comfort: at 20 Wh/K (10 with a heat pump) 420 Wh
// bring it there, 63 % of them in the first ten minutes and all within two
// hours. Nothing of it is spent on a cabin that is warm already.
func TestTheColdCabinTakesItsHeatOnce(t *testing.T) {
	climate := func(car *energy.Car, c energy.Conditions, timeS float64) float64 {
		run, err := energy.Drive(car, c, []energy.Moment{{}, {TimeS: timeS}}, 30)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "auxiliaries, kWh", run.AuxiliaryKWh, 0.25*timeS/3600, 1e-9)
		return run.ClimateKWh
	}
	pump, own := testCar(), testCar()
	pump.Climate.HeatPump = true
	own.Climate.StartWhPerK = 35
	for _, c := range []struct {
		name    string
		car     *energy.Car
		c       energy.Conditions
		wholeWh float64
	}{
		{"resistive", testCar(), energy.Conditions{}, 420},
		{"heat pump", pump, energy.Conditions{}, 210},
		{"own figure", own, energy.Conditions{}, 735},
		{"hot", testCar(), energy.Conditions{TempC: 36}, 300},
		{"cold, but sunny", testCar(), energy.Conditions{SunWM2: 440}, 360}, // 3 K warmer: 330 W of sun over 110 W/K
		{"preconditioned", testCar(), energy.Conditions{Preconditioned: true}, 0},
		{"driven before", testCar(), energy.Conditions{CabinReady: true}, 0},
	} {
		ready := c.c
		ready.CabinReady = true
		for timeS, share := range map[float64]float64{600: 1 - 1/math.E, 1200: 1 - math.Exp(-2), 7199: 1, 7201: 1, 36000: 1} {
			got := climate(c.car, c.c, timeS) - climate(c.car, ready, timeS)
			near(t, c.name+", kWh", got, c.wholeWh/1000*share, 1e-5)
		}
	}
	off := energy.Conditions{ClimateOff: true}
	near(t, "off, kWh", climate(testCar(), off, 3600), 0, 1e-12)
}

// Cabin and pack curves are straight between their points and level beyond;
// the pack's counts with the cabin's climate off as well.
func TestClimateCurves(t *testing.T) {
	car := testCar()
	car.AuxiliaryW = 60
	car.Climate.Curve = []energy.ClimatePoint{{TempC: -10, PowerKW: 3}, {TempC: 10, PowerKW: 1}, {TempC: 30, PowerKW: 2}}
	car.Climate.PackCurve = []energy.ClimatePoint{{TempC: 20, PowerKW: 0}, {TempC: 40, PowerKW: 0.8}}
	for tempC, want := range map[float64]struct{ cabin, pack float64 }{
		-30: {3, 0}, -10: {3, 0}, 0: {2, 0}, 10: {1, 0}, 20: {1.5, 0}, 25: {1.75, 0.2}, 30: {2, 0.4}, 45: {2, 0.8},
	} {
		on, err := energy.StandingKW(car, energy.Conditions{TempC: tempC})
		if err != nil {
			t.Fatal(err)
		}
		off, err := energy.StandingKW(car, energy.Conditions{TempC: tempC, ClimateOff: true})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "kW", on, want.cabin+want.pack+0.06, 1e-9)
		near(t, "kW with the cabin's off", off, want.pack+0.06, 1e-9)
	}
	// 1,000 W/m² on 1.5 m² of glass that lets half through, over 110 W/K.
	near(t, "kW in the sun", car.Climate.PowerKW(0, 1000), car.Climate.PowerKW(750.0/110, 0), 1e-12)
	// A battery without a curve of its own is not cooled on a mild day.
	car.AuxiliaryW, car.Climate = 0, energy.Climate{}
	if mild, err := energy.StandingKW(car, energy.Conditions{TempC: 27, ClimateOff: true}); err != nil || mild != 0 {
		t.Errorf("%v kW for a battery at 27 °C, %v", mild, err)
	}
}

// The US label is 55 % UDDS and 45 % HWFET, each kilometre of them over 0.7
// (40 CFR 600.210-12); at the outlet the charger's losses come on top.
func TestUSLabelByHand(t *testing.T) {
	car := testCar()
	perKm := func(name string) float64 {
		run, err := energy.Drive(car, energy.Conditions{TempC: 20, SeaLevelHPa: 982.1, ClimateOff: true}, cycle(t, name), 30)
		if err != nil {
			t.Fatal(err)
		}
		return run.BatteryKWh / run.DistanceM * 1000
	}
	rated, err := car.Rated(energy.RatingUS)
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * (0.55*perKm("udds") + 0.45*perKm("hwfet")) / 0.7
	near(t, "kWh/100 km", rated.BatteryKWhPer100km, want, 1e-9)
	near(t, "kWh/100 km at the outlet", rated.OutletKWhPer100km, want/0.88, 1e-9)
	near(t, "km", rated.RangeKm, 60/want*100, 1e-9)
	highway, err := car.Rated(energy.RatingHighway)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kWh/100 km on the highway test", highway.BatteryKWhPer100km, 100*perKm("hwfet"), 1e-9)
}

// Pack voltage is straight between its points and level beyond.
func TestPackVoltage(t *testing.T) {
	car := testCar()
	near(t, "V of an unknown pack", car.PackVoltageV(0.5), 0, 0)
	car.Pack = []energy.PackPoint{{SoC: 0.1, VoltageV: 300}, {SoC: 0.5, VoltageV: 360}, {SoC: 0.9, VoltageV: 400}}
	for soc, want := range map[float64]float64{0: 300, 0.1: 300, 0.2: 315, 0.5: 360, 0.7: 380, 0.9: 400, 1: 400} {
		near(t, "V", car.PackVoltageV(soc), want, 1e-9)
	}
}

// The class that stands in for a car is the one nearest in mass.
func TestNearestClass(t *testing.T) {
	var all []*energy.Car
	for _, name := range []string{"small-hatch", "mid-size-sedan", "crossover", "large-suv"} {
		all = append(all, builtIn(t, name))
	}
	ask := []float64{0, 60000}
	for i, car := range all {
		ask = append(ask, car.MassKg)
		if i > 0 {
			middle := (car.MassKg + all[i-1].MassKg) / 2
			ask = append(ask, middle-1, middle+1)
		}
	}
	for _, massKg := range ask {
		got, err := energy.NearestClass(massKg)
		if err != nil {
			t.Fatal(err)
		}
		for _, car := range all {
			if math.Abs(car.MassKg-massKg) < math.Abs(got.MassKg-massKg) {
				t.Errorf("%v kg: %s, but %s is nearer", massKg, got.Name, car.Name)
			}
		}
	}
	if len(cars.Names()) <= len(all) {
		t.Errorf("only %d built-in cars: a van stands among the passenger cars", len(cars.Names()))
	}
}

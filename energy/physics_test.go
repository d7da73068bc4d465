package energy_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy"
)

// Handbook road load, written out apart from the code under test: on a level
// road the energy at the wheels of a drive that starts and ends at rest is
// rolling m g Crr s plus air ½ ρ CdA ∫ v³ dt; kinetic energy cancels.
func TestWheelEnergyClosesOnRollingAndAir(t *testing.T) {
	car := testCar()
	moments := cycle(t, "hwfet")
	conditions := energy.Conditions{TempC: 20, ClimateOff: true}
	run, err := energy.Drive(car, conditions, moments, 50)
	if err != nil {
		t.Fatal(err)
	}
	const density = 101325 / (287.05287 * 293.15)
	var rolling, air float64
	for i := 1; i < len(moments); i++ {
		v := (moments[i].SpeedMS + moments[i-1].SpeedMS) / 2
		rolling += 1800 * 9.80665 * 0.010 * v
		air += 0.5 * density * 0.28 * 2.4 * v * v * v
	}
	near(t, "net wheel energy over rolling and air", (run.WheelKWh-run.BrakeKWh)/((rolling+air)/3.6e6), 1, 2e-5)
}

func TestDriveClosesItsBalance(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		car := testCar()
		car.UsableKWh = rapid.Float64Range(0.3, 30).Draw(r, "usableKWh")
		car.TractionFactor = rapid.Float64Range(0.8, 1.3).Draw(r, "factor")
		c := anyConditions().Draw(r, "conditions")
		moments := []energy.Moment{{SpeedMS: 15, ElevationM: 800}}
		trendM := rapid.SampledFrom([]float64{-4, 0, 2}).Draw(r, "trendM")
		for range rapid.IntRange(1, 200).Draw(r, "moments") {
			last := moments[len(moments)-1]
			moments = append(moments, energy.Moment{
				TimeS:      last.TimeS + rapid.Float64Range(0.2, 20).Draw(r, "s"),
				SpeedMS:    max(0, last.SpeedMS+rapid.Float64Range(-6, 6).Draw(r, "Δv")),
				ElevationM: last.ElevationM + trendM + rapid.Float64Range(-3, 3).Draw(r, "Δh"),
			})
		}
		depart := car.UsableKWh * c.StateOfHealth * rapid.SampledFrom([]float64{0.2, 0.5, 0.9, 0.99, 1}).Draw(r, "departSoC")
		run, err := energy.Drive(car, c, moments, depart)
		if err != nil {
			r.Fatal(err)
		}
		close := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
				r.Fatalf("%s: %v against %v in %+v", what, got, want, run)
			}
		}
		close("battery by use", run.BatteryKWh, run.DriveKWh-run.RegenKWh+run.AuxiliaryKWh+run.ClimateKWh)
		close("battery by its fall", depart-run.ArriveKWh, run.BatteryKWh)
		close("drive over wheel", run.DriveKWh, run.WheelKWh*car.TractionFactor*c.UserFactor/car.DriveEfficiency)
		if most := run.BrakeKWh * car.RegenEfficiency; run.RegenKWh+run.RegenLostKWh > most+1e-12 {
			r.Fatalf("%v kWh came back of at most %v", run.RegenKWh+run.RegenLostKWh, most)
		}
		if run.ArriveKWh > car.UsableKWh*c.StateOfHealth+1e-9 || run.LowestKWh > run.ArriveKWh || run.LowestKWh > depart {
			r.Fatalf("battery out of bounds: %+v", run)
		}
	})
}

// With nothing lost in the drive train, a hill gives back what it took.
func TestLosslessHillGivesBackWhatItTook(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		car := testCar()
		car.DriveEfficiency, car.RegenEfficiency, car.RegenLimitKW, car.AuxiliaryW = 1, 1, 1e6, 0
		c := energy.Conditions{TempC: 20, ClimateOff: true, EveryMovement: true}
		speedMS := rapid.Float64Range(8, 40).Draw(r, "speedMS")
		lengthM := rapid.Float64Range(500, 5000).Draw(r, "lengthM")
		riseM := lengthM * rapid.Float64Range(0, 0.12).Draw(r, "slope")
		hill := []energy.Step{
			{LengthM: 1000, SpeedMS: speedMS},
			{LengthM: lengthM, SpeedMS: speedMS, RiseM: riseM},
			{LengthM: lengthM, SpeedMS: speedMS, RiseM: -riseM},
		}
		flat := []energy.Step{hill[0], {LengthM: 2 * lengthM, SpeedMS: speedMS}}
		up := mustProfile(r, car, c, hill)
		level := mustProfile(r, car, c, flat)
		// The weight on the tyres falls with the cosine of the slope.
		lessRolling := car.MassKg * 9.80665 * 0.010 * 2 * lengthM * (1 - math.Sqrt(1-(riseM/lengthM)*(riseM/lengthM))) / 3.6e6
		got, want := up.Leg(1000, up.LengthM()).CostKWh, level.Leg(1000, level.LengthM()).CostKWh-lessRolling
		if math.Abs(got-want) > 1e-9 {
			r.Fatalf("over the hill %v kWh, level %v", got, want)
		}
	})
}

// In calm air a loop of one speed, so gentle that the car never brakes, takes
// the same either way round; so does its time.
func TestGentleLoopCostsTheSameEitherWay(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		const speedMS = 25
		n := rapid.IntRange(3, 40).Draw(r, "pieces")
		loop := []energy.Step{{LengthM: 1000, SpeedMS: speedMS, ElevationM: 500}} // reach the speed first
		elevationM := 500.0
		for i := range n {
			lengthM := rapid.Float64Range(500, 3000).Draw(r, "lengthM")
			riseM := lengthM * rapid.Float64Range(-0.01, 0.01).Draw(r, "slope")
			if i == n-1 {
				riseM = 500 - elevationM
				lengthM = max(lengthM, 150*math.Abs(riseM))
			}
			loop = append(loop, energy.Step{LengthM: lengthM, SpeedMS: speedMS, RiseM: riseM, ElevationM: elevationM + riseM/2, BearingDeg: float64(i)})
			elevationM += riseM
		}
		back := []energy.Step{loop[0]}
		for i := len(loop) - 1; i > 0; i-- {
			s := loop[i]
			s.RiseM, s.BearingDeg = -s.RiseM, s.BearingDeg+180
			back = append(back, s)
		}
		c := energy.Conditions{TempC: 20, ClimateOff: true}
		there, reverse := mustProfile(r, testCar(), c, loop), mustProfile(r, testCar(), c, back)
		a, b := there.Leg(1000, there.LengthM()), reverse.Leg(1000, reverse.LengthM())
		if math.Abs(a.CostKWh-b.CostKWh) > 1e-9 || math.Abs(a.TimeS-b.TimeS) > 1e-6 {
			r.Fatalf("one way %+v, the other %+v", a, b)
		}
	})
}

// Out and back in a wind takes more than in calm air, from any direction: air
// drag grows faster than the speed through the air.
func TestWindNeverPaysOutAndBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		speedMS := rapid.Float64Range(15, 40).Draw(r, "speedMS")
		steps := []energy.Step{
			{LengthM: 1000, SpeedMS: speedMS},
			{LengthM: 20000, SpeedMS: speedMS, BearingDeg: 0},
			{LengthM: 20000, SpeedMS: speedMS, BearingDeg: 180},
		}
		windy := energy.Mild()
		windy.WindSpeedMS = rapid.Float64Range(0.5, 14).Draw(r, "windMS")
		windy.WindFromDeg = rapid.Float64Range(0, 360).Draw(r, "windFromDeg")
		calm := mustProfile(r, testCar(), energy.Mild(), steps).Leg(1000, 41000).CostKWh
		if got := mustProfile(r, testCar(), windy, steps).Leg(1000, 41000).CostKWh; got <= calm {
			r.Fatalf("in the wind %v kWh, calm %v", got, calm)
		}
	})
}

// What makes a drive harder makes it cost more.
func TestHarderCostsMore(t *testing.T) {
	climb := []energy.Step{{LengthM: 3000, SpeedMS: 25}, {LengthM: 20000, SpeedMS: 25, RiseM: 600, ElevationM: 300}, {LengthM: 20000, SpeedMS: 12, RiseM: -100, ElevationM: 550}}
	for name, change := range map[string]func(r *rapid.T) (easier, harder energy.Conditions){
		"colder": func(r *rapid.T) (energy.Conditions, energy.Conditions) {
			warm := rapid.Float64Range(-24, 18).Draw(r, "tempC")
			return energy.Conditions{TempC: warm}, energy.Conditions{TempC: warm - rapid.Float64Range(0.1, 20).Draw(r, "colder by")}
		},
		"hotter": func(r *rapid.T) (energy.Conditions, energy.Conditions) {
			hot := rapid.Float64Range(28, 38).Draw(r, "tempC")
			sun := rapid.Float64Range(50, 900).Draw(r, "sunWM2")
			return energy.Conditions{TempC: hot}, energy.Conditions{TempC: hot, SunWM2: sun}
		},
		"heavier": func(r *rapid.T) (energy.Conditions, energy.Conditions) {
			light := rapid.Float64Range(0, 500).Draw(r, "kg")
			return energy.Conditions{PayloadKg: light}, energy.Conditions{PayloadKg: light + rapid.Float64Range(1, 500).Draw(r, "more kg")}
		},
		"wetter": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{}, energy.Conditions{Surface: energy.Wet}
		},
		"rain": func(r *rapid.T) (energy.Conditions, energy.Conditions) {
			light := rapid.Float64Range(0, 38).Draw(r, "mm/h")
			return energy.Conditions{RainMMPerH: light}, energy.Conditions{RainMMPerH: light + rapid.Float64Range(0.1, 2).Draw(r, "more mm/h")}
		},
		"snow": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{Surface: energy.Wet}, energy.Conditions{Surface: energy.Slush}
		},
		"winter tyres": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{}, energy.Conditions{WinterTyres: true}
		},
		"low pressure is easier": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{SeaLevelHPa: 960}, energy.Conditions{SeaLevelHPa: 1040}
		},
		"cold cabin": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{Preconditioned: true}, energy.Conditions{}
		},
		"climate": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{ClimateOff: true}, energy.Conditions{Preconditioned: true}
		},
		"user": func(r *rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{UserFactor: 0.95}, energy.Conditions{UserFactor: 1.05}
		},
		"roof box": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{}, energy.Conditions{Extras: []string{"roof box"}}
		},
		"slower is easier": func(*rapid.T) (energy.Conditions, energy.Conditions) {
			return energy.Conditions{SpeedCapMS: 22}, energy.Conditions{}
		},
	} {
		t.Run(name, rapid.MakeCheck(func(r *rapid.T) {
			easier, harder := change(r)
			car := testCar()
			car.Extras = []energy.Extra{{Name: "roof box", MassKg: 50, DragAreaM2: 0.2}}
			a, b := mustProfile(r, car, easier, climb), mustProfile(r, car, harder, climb)
			easy, hard := a.Leg(0, a.LengthM()), b.Leg(0, b.LengthM())
			if easy.CostKWh >= hard.CostKWh || easy.NeedKWh > hard.NeedKWh || easy.CapKWh < hard.CapKWh {
				r.Fatalf("easier %+v, harder %+v", easy, hard)
			}
		}))
	}
}

// Coast-down coefficients belong to the mass they were measured at: their
// constant part grows with the load.
func TestLoadRaisesRollingOfACoastDownCar(t *testing.T) {
	car := measuredCars[0].onDynamometer()
	car.AuxiliaryW, car.DriveEfficiency = 0, 1
	loaded := dynamometer()
	loaded.PayloadKg = 400
	// A is 25.890 lbf at 3,875 lb; 400 kg more raise it by 400/1757.67.
	want := 25.890 * 4.4482216152605 * 400 / (3875 * 0.45359237) / 3600
	near(t, "Wh/m", steadyWhPerM(t, car, loaded, 20)-steadyWhPerM(t, car, dynamometer(), 20), want, 1e-9)
}

func TestTrailerSlowsTheCar(t *testing.T) {
	car := testCar()
	car.Extras = []energy.Extra{{Name: "trailer", MassKg: 800, DragAreaM2: 1, TopSpeedMS: 25}}
	p := mustProfile(t, car, energy.Mild().WithExtras("trailer"), []energy.Step{{LengthM: 50000, SpeedMS: 36}})
	near(t, "s", p.TimeS(50000), 2000, 1e-9)
}

// Sunshine heats: it costs when it is hot and helps when it is cold.
func TestSunHeatsTheCabin(t *testing.T) {
	var c energy.Climate
	if hot, sunny := c.PowerKW(32, 0), c.PowerKW(32, 800); sunny <= hot {
		t.Errorf("at 32 °C %v kW in the shade, %v in the sun", hot, sunny)
	}
	if cold, sunny := c.PowerKW(-5, 0), c.PowerKW(-5, 800); sunny >= cold {
		t.Errorf("at −5 °C %v kW in the shade, %v in the sun", cold, sunny)
	}
}

// A heat pump draws less than a resistive heater in the cold, and the same
// when it cools.
func TestHeatPumpDrawsLessInTheCold(t *testing.T) {
	resistive, pump := energy.Climate{}, energy.Climate{HeatPump: true}
	for _, tempC := range []float64{-15, -7, 0, 10} {
		if r, p := resistive.PowerKW(tempC, 0), pump.PowerKW(tempC, 0); p >= r {
			t.Errorf("%v °C: resistive %v kW, heat pump %v kW", tempC, r, p)
		}
	}
	near(t, "kW at 35 °C", pump.PowerKW(35, 0), resistive.PowerKW(35, 0), 0)
}

func TestConditionsOutOfRangeAreRefused(t *testing.T) {
	for name, c := range map[string]energy.Conditions{
		"boiling":        {TempC: 90},
		"not a number":   {TempC: math.NaN()},
		"vacuum":         {SeaLevelHPa: 10},
		"anti-wind":      {WindSpeedMS: -3},
		"unknown road":   {Surface: "lava"},
		"unknown extra":  {Extras: []string{"sail"}},
		"anti-payload":   {PayloadKg: -100},
		"worn out":       {StateOfHealth: 0.01},
		"factor percent": {UserFactor: 105},
	} {
		if _, err := energy.NewProfile(testCar(), c, []energy.Step{{LengthM: 1, SpeedMS: 1}}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

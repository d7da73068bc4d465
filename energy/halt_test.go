package energy_test

import (
	"testing"

	"ampleway/energy"
)

// ½ m v² at 30 m/s of 1,800 kg with 3 % for what rotates is 0.232 kWh; drawn
// at 89 % and given back at 82 % it costs 0.0703 kWh (by hand).
func TestHaltCostsItsKineticEnergy(t *testing.T) {
	got, err := energy.HaltKWh(testCar(), energy.Mild(), 30)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kWh", got, 0.5*1800*1.03*900/3.6e6*(1/0.89-0.82), 1e-12)
	near(t, "kWh by hand", got, 0.0703, 0.0001)
}

// Logarithmic profile over open country: 0.60 of the wind at 10 m (ln 33.3 /
// ln 333).
func TestWindAtTheRoad(t *testing.T) {
	near(t, "share", energy.RoadWindMS(10)/10, 0.604, 0.001)
}

// A battery that takes little back makes descents worth less.
func TestColdBatteryTakesLessFromBraking(t *testing.T) {
	descent := []energy.Step{{LengthM: 10000, SpeedMS: 20, RiseM: -900, ElevationM: 1500}}
	warm, cold := energy.Conditions{}, energy.Conditions{RegenShare: 0.2}
	a, b := mustProfile(t, testCar(), warm, descent), mustProfile(t, testCar(), cold, descent)
	if back, less := -a.EnergyKWh(10000), -b.EnergyKWh(10000); !(less < back) || back <= 0 {
		t.Errorf("warm battery %v kWh back, cold %v", back, less)
	}
}

// Standing for an hour is what a drive cycle of an hour at rest takes.
func TestStandingDrawsWhatAnHourAtRestTakes(t *testing.T) {
	c := energy.Conditions{TempC: -7, CabinReady: true}
	kW, err := energy.StandingKW(testCar(), c)
	if err != nil {
		t.Fatal(err)
	}
	run, err := energy.Drive(testCar(), c, []energy.Moment{{}, {TimeS: 3600}}, 30)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kWh", run.BatteryKWh, kW, 1e-9)
}

package energy_test

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"testing"

	"ampleway/data/cycles"
	"ampleway/energy"
	"ampleway/energy/taper"
	"ampleway/testdata"
)

// cycle returns a drive cycle. The US federal ones are carried (40 CFR 86 App.
// I), the worldwide one is open data.
func cycle(t testing.TB, name string) []energy.Moment {
	t.Helper()
	var speeds []float64
	switch name {
	case "hwfet":
		speeds = cycles.HWFET()
	case "udds":
		speeds = cycles.UDDS()
	case "us06":
		speeds = cycles.US06()
	default:
		speeds = openCycle(t, name)
	}
	return energy.AtOneHertz(speeds)
}

func openCycle(t testing.TB, name string) []float64 {
	t.Helper()
	file, err := os.Open(testdata.OpenData(t, "cycles", name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	for _, row := range rows[1:] {
		out = append(out, parse(t, row[1]))
	}
	return out
}

// The carried cycles are those of the open data, to the last digit.
func TestCarriedCyclesAreTheOpenOnes(t *testing.T) {
	for _, name := range []string{"hwfet", "udds", "us06"} {
		open := energy.AtOneHertz(openCycle(t, name))
		if !slices.Equal(cycle(t, name), open) {
			t.Errorf("%s differs from the open data", name)
		}
	}
}

func parse(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The table of cycles in the published values: durations, lengths, highest
// and mean speeds integrated from the 1 Hz traces of 40 CFR 86 App. I and UN
// GTR 15.
func TestCyclesHaveTheirPublishedFigures(t *testing.T) {
	for _, c := range []struct {
		name                             string
		timeS, distanceM, topKMH, meanKM float64
	}{
		{"hwfet", 765, 16506.8, 96.40, 77.68},
		{"udds", 1369, 11990.4, 91.25, 31.53},
		{"us06", 600, 12887.6, 129.23, 77.33},
		{"wltc_3b", 1800, 23266.3, 131.30, 46.53},
	} {
		t.Run(c.name, func(t *testing.T) {
			moments := cycle(t, c.name)
			run, err := energy.Drive(testCar(), energy.Mild(), moments, 50)
			if err != nil {
				t.Fatal(err)
			}
			var top float64
			for _, m := range moments {
				top = max(top, m.SpeedMS*3.6)
			}
			near(t, "s", run.TimeS, c.timeS, 0)
			near(t, "m", run.DistanceM, c.distanceM, 0.05)
			near(t, "top km/h", top, c.topKMH, 0.005)
			near(t, "mean km/h", run.DistanceM/run.TimeS*3.6, c.meanKM, 0.005)
		})
	}
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(got >= want-tolerance && got <= want+tolerance) {
		t.Errorf("%s: got %.6g, want %.6g ± %.3g", what, got, want, tolerance)
	}
}

// testCar is an invented car with round figures.
func testCar() *energy.Car {
	return &energy.Car{
		Name:            "test car",
		UsableKWh:       60,
		MassKg:          1800,
		RotatingShare:   energy.DefaultRotatingShare,
		RoadLoad:        energy.RoadLoad{RollingCoefficient: 0.010, DragCoefficient: 0.28, FrontalAreaM2: 2.4},
		DriveEfficiency: energy.DefaultDriveEfficiency,
		RegenEfficiency: energy.DefaultRegenEfficiency,
		RegenLimitKW:    energy.DefaultRegenLimitKW,
		AuxiliaryW:      energy.DefaultAuxiliaryW,
		TopSpeedMS:      50,
		Taper:           []taper.Point{{SoC: 0, PowerKW: 120}, {SoC: 0.5, PowerKW: 120}, {SoC: 1, PowerKW: 10}},
		AC:              energy.OnBoard{PowerKW: 11, Phases: 3, Efficiency: energy.DefaultACEfficiency},
		Connectors:      []string{"CCS2"},
	}
}

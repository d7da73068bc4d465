package energy_test

import (
	"fmt"
	"os"
	"strings"

	"ampleway/data/cars"
	"ampleway/energy"
)

// A car of the built-in classes, over a pass: what must be in the battery to
// get over, and what is in it on the far side.
func ExampleNewProfile() {
	file, text, _ := cars.File("crossover")
	car, err := energy.ReadCar(strings.NewReader(string(text)), file)
	if err != nil {
		fmt.Println(err)
		return
	}
	pass := []energy.Step{
		{LengthM: 60000, SpeedMS: 30, ElevationM: 400},
		{LengthM: 15000, SpeedMS: 18, RiseM: 1000, ElevationM: 900},
		{LengthM: 15000, SpeedMS: 18, RiseM: -1000, ElevationM: 900},
	}
	p, err := energy.NewProfile(car, energy.Conditions{TempC: 5, PayloadKg: 200}, pass)
	if err != nil {
		fmt.Println(err)
		return
	}
	over := p.Leg(0, p.LengthM())
	fmt.Printf("%.0f km in %.0f min: need %.1f kWh, cost %.1f kWh\n", over.DistanceM/1000, over.TimeS/60, over.NeedKWh, over.CostKWh)
	arrive, lasts := over.ArriveKWh(30)
	fmt.Printf("leaving with 30 kWh: %.1f kWh on arrival, lasts: %v\n", arrive, lasts)
	// Output:
	// 90 km in 61 min: need 21.9 kWh, cost 18.4 kWh
	// leaving with 30 kWh: 11.6 kWh on arrival, lasts: true
}

// The two halves of a leg, put together again.
func ExampleLeg_Then() {
	up := energy.Leg{NeedKWh: 9, CostKWh: 9, CapKWh: 51}
	down := energy.Leg{CostKWh: -4, CapKWh: 60}
	both := up.Then(down)
	fmt.Printf("need %.0f, cost %.0f, at most %.0f kWh on arrival\n", both.NeedKWh, both.CostKWh, both.CapKWh)
	// Output: need 9, cost 5, at most 55 kWh on arrival
}

// Errors of a car file show the line.
func ExampleReadCar() {
	_, err := energy.ReadCar(strings.NewReader("name: our car\nusable_kwh: 64\nseats: 5\n"), "ours.yaml")
	fmt.Println(err)
	// Output:
	// ours.yaml, line 3, seats: expected a known key of a car file in YAML or JSON:
	//    1 | name: our car
	//    2 | usable_kwh: 64
	// >  3 | seats: 5
	//        ^
}

// A car from what is on its label and in its owner's head.
func ExampleNewCar() {
	like, err := energy.NearestClass(1800)
	if err != nil {
		fmt.Println(err)
		return
	}
	car, words, err := energy.NewCar(energy.OwnerFigures{
		Name: "our car", Like: like, UsableKWh: 64, MassKg: 1800,
		Rating: energy.RatingWLTP, RangeKm: 430, PeakKW: 110, Minutes10to80: 32,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.Join(words, "\n"))
	rated, err := car.Rated(energy.RatingWLTP)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("range on the rating: %.0f km\n", rated.RangeKm)
	// Output:
	// tyres and shape (drag area 0.53 m²): as "mid-size sedan"
	// AC charging efficiency 88 %: as "mid-size sedan"
	// traction factor 1.177: makes the model meet the figure rated on wltp
	// efficiencies, auxiliaries, climate, pack voltage and extras: as "mid-size sedan"
	// range on the rating: 430 km
}

// A drive cycle, split by what the energy went into.
func ExampleDrive() {
	car := testCar()
	moments := energy.AtOneHertz([]float64{0, 2, 4, 6, 8, 10, 12, 12, 12, 10, 7, 4, 2, 0})
	run, err := energy.Drive(car, energy.Mild(), moments, 30)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f m, %.1f Wh: %.1f for traction, %.1f back, %.1f auxiliaries, %.1f climate\n",
		run.DistanceM, 1000*run.BatteryKWh, 1000*run.DriveKWh, 1000*run.RegenKWh, 1000*run.AuxiliaryKWh, 1000*run.ClimateKWh)
	// Output:
	// 89 m, 20.4 Wh: 45.7 for traction, 27.2 back, 0.9 auxiliaries, 1.0 climate
}

func ExampleWriteCarYAML() {
	like, err := energy.NearestClass(1500)
	if err != nil {
		fmt.Println(err)
		return
	}
	like.Name, like.Note = "neighbour's hatch", ""
	like.Pack, like.Extras = nil, nil
	if err := energy.WriteCarYAML(os.Stdout, like); err != nil {
		fmt.Println(err)
	}
	// Output:
	// name: "neighbour's hatch"
	// made_from: class
	// usable_kwh: 42.0
	// mass_kg: 1500.0
	// rotating_share_pct: 3.0
	// road_load:
	//   rolling_coefficient: 0.0095
	//   drag_coefficient: 0.3
	//   frontal_area_m2: 2.2
	// traction_factor: 1.0
	// drive_efficiency_pct: 89.0
	// regen_efficiency_pct: 82.0
	// regen_limit_kw: 50.0
	// auxiliary_w: 250.0
	// climate:
	//   heater: resistive
	// top_speed_kmh: 150.0
	// dc_taper:
	//   - {soc_pct: 0, power_kw: 72}
	//   - {soc_pct: 10, power_kw: 80}
	//   - {soc_pct: 40, power_kw: 75}
	//   - {soc_pct: 60, power_kw: 55}
	//   - {soc_pct: 80, power_kw: 30}
	//   - {soc_pct: 90, power_kw: 16}
	//   - {soc_pct: 100, power_kw: 4}
	// ac:
	//   power_kw: 7.4
	//   phases: 1
	//   current_a: 32.0
	//   efficiency_pct: 88.0
	// connectors: ["CCS2", "Type 2"]
}

package trip

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/stations"
	"ampleway/testdata"
)

// howMany is the number of random corridors: many with AMPLEWAY_SLOW.
func howMany(few, many int) int {
	if testdata.Slow() {
		return many
	}
	return few
}

func builtInCars(t testing.TB) []*energy.Car {
	t.Helper()
	var out []*energy.Car
	for _, name := range []string{"crossover", "large-suv", "mid-size-sedan", "small-hatch", "van"} {
		file, text, ok := cars.File(name)
		if !ok {
			t.Fatalf("no car %q", name)
		}
		c, err := energy.ReadCar(bytes.NewReader(text), file)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, c)
	}
	return out
}

// knownCars are the built-in cars with a spread of their own, 8 and 4 %: what
// a car that is known strays from day to day.
func knownCars(t testing.TB) []*energy.Car {
	t.Helper()
	out := builtInCars(t)
	for _, c := range out {
		c.Spread, c.OwnSpread = energy.Spread{Trip: 0.08, Leg: 0.04}, true
	}
	return out
}

// randomTrip is a road of 250 to 900 km over hills with a station of one of
// four powers every 8 to 60 km, a car, a day and a goal.
func randomTrip(t testing.TB, fleet []*energy.Car, seed uint64) (*Drive, Goal) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 7))
	between := func(low, high float64) float64 { return low + (high-low)*rng.Float64() }
	lengthKM := between(250, 900)
	spacingKM := between(8, 60)
	var points []route.Point
	var sites stations.Sites
	const pieceKM, kmPerDegree = 2.0, 111.2
	height, climb, speed, station := between(0, 500), 0.0, 30.0, between(0, spacingKM)
	for atKM := 0.0; atKM <= lengthKM; atKM += pieceKM {
		if rng.IntN(8) == 0 {
			climb, speed = between(-25, 25), between(20, 36)
		}
		height = math.Max(0, height+climb*pieceKM)
		lon := 10 + atKM/kmPerDegree
		points = append(points, route.Point{Lon: lon, Lat: 0.1 * math.Sin(atKM/40), ElevationM: height, SpeedMS: speed})
		for ; station <= atKM; station += between(0.3, 1.7) * spacingKM {
			sites = append(sites, randomSite(rng, len(sites), lon, points[len(points)-1].Lat))
		}
	}
	r, err := route.New("random", points)
	if err != nil {
		t.Fatal(err)
	}
	corridor := NewCorridor(r, stations.NewIndex(sites), CorridorOptions{})
	cond := energy.Conditions{TempC: between(-10, 30), WindSpeedMS: between(0, 10), WindFromDeg: between(0, 360), PayloadKg: between(0, 300)}
	drive, err := NewDrive(corridor, fleet[rng.IntN(len(fleet))], cond, DriveOptions{})
	if err != nil {
		t.Fatal(err)
	}
	reserve := between(0.05, 0.15)
	return drive, Goal{DepartSoC: between(0.7, 1), ReserveSoC: reserve, ArriveReserveSoC: reserve + between(0, 0.1)}
}

func randomSite(rng *rand.Rand, i int, lon, lat float64) stations.Site {
	power := []float64{50, 100, 150, 300}[rng.IntN(4)]
	stall := stations.Stall{Connectors: []stations.Connector{{Type: "CCS2", DC: true, PowerKW: power}}}
	return stations.Site{
		ID: fmt.Sprint(i), Name: fmt.Sprint("station ", i), Lon: lon, Lat: lat + 0.01*rng.Float64(),
		Stalls: []stations.Stall{stall, stall}, Access: stations.AccessPublic,
	}
}

package data_test

import (
	"bytes"
	"testing"

	"ampleway/data"
	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/read"
	"ampleway/stations"
	"ampleway/stations/hours"
	"ampleway/stations/open"
)

func readRoute(t *testing.T, name string) *route.Route {
	t.Helper()
	content, err := data.Corridor(name)
	if err != nil {
		t.Fatal(err)
	}
	r, err := read.Read(bytes.NewReader(content), name, read.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func readStations(t *testing.T) stations.Sites {
	t.Helper()
	sites, report, err := open.Read(bytes.NewReader(data.Stations()), "stations.geojson", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range append(report.Rejected, report.Suspects...) {
		t.Errorf("stations.geojson: %v", p)
	}
	return sites
}

func TestReadersTakeTheDemoWithoutComplaint(t *testing.T) {
	for _, name := range data.Corridors() {
		c, _ := readCorridor(t, name)
		r := readRoute(t, name)
		if r.Len() != len(c.Geometry.Coordinates) || !r.HasElevation() || len(r.Notes) != 0 {
			t.Errorf("%s: %d points of %d, elevations %v, notes %q", name, r.Len(), len(c.Geometry.Coordinates), r.HasElevation(), r.Notes)
		}
		for i := range c.Properties.SpeedKmh {
			if r.Point(i).SpeedMS == 0 {
				t.Fatalf("%s: the speed of piece %d was not read", name, i)
			}
		}
	}
	sites := readStations(t)
	if want := len(readSites(t)); len(sites) != want {
		t.Errorf("%d sites read of %d", len(sites), want)
	}
	for _, s := range sites {
		if _, err := hours.Parse(s.Hours); err != nil {
			t.Errorf("%s: hours %q: error %v", s.Name, s.Hours, err)
		}
	}
}

// drive is the demo trip as a profile of a car, with the chargers the car can
// use in the order they are passed.
type drive struct {
	profile   *energy.Profile
	lengthM   float64
	chargersM []float64
}

func newDrive(t *testing.T, corridor, carName string, cond energy.Conditions) drive {
	t.Helper()
	file, text, ok := cars.File(carName)
	if !ok {
		t.Fatalf("no car %s", carName)
	}
	car, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	r := readRoute(t, corridor)
	var steps []energy.Step
	for _, s := range r.Steps(route.StepOptions{}) {
		steps = append(steps, energy.Step(s))
	}
	profile, err := energy.NewProfile(car, cond, steps)
	if err != nil {
		t.Fatal(err)
	}
	fits := stations.Filter{DCOnly: true}
	for _, c := range car.Connectors {
		fits.Accepts = append(fits.Accepts, stations.ConnectorType(c))
	}
	out := drive{profile: profile, lengthM: r.LengthM()}
	sites := readStations(t)
	for _, hit := range stations.NewIndex(sites).Corridor(r.Line(), r.Chainages(), 5000) {
		if _, verdict := fits.Judge(&sites[hit.Site]); verdict == stations.Taken {
			out.chargersM = append(out.chargersM, hit.ChainageM)
		}
	}
	return out
}

// stopsOf counts the stops of a driver who leaves each charger with the
// same SoC and goes on to the last one within reach; -1 where none is. Side
// roads are left out.
func (d drive) stopsOf(departSoC, leaveSoC, reserveSoC float64) int {
	capacityKWh := d.profile.CapacityKWh()
	soc, atM := departSoC, 0.0
	for stops := 0; ; stops++ {
		reaches := func(toM float64) bool {
			leg := d.profile.Leg(atM, toM)
			arriveKWh, lasts := leg.ArriveKWh(soc * capacityKWh)
			return lasts && arriveKWh >= reserveSoC*capacityKWh
		}
		if reaches(d.lengthM) {
			return stops
		}
		nextM := atM
		for _, m := range d.chargersM {
			if m > nextM && reaches(m) {
				nextM = m
			}
		}
		if nextM == atM {
			return -1
		}
		soc, atM = leaveSoC, nextM
	}
}

func tripConditions(t *testing.T) energy.Conditions {
	v := readTrip(t)
	return energy.Conditions{TempC: v.TempC, WindSpeedMS: v.WindKmh / 3.6, WindFromDeg: v.WindFromDeg, Surface: energy.Surface(v.Surface), PayloadKg: v.PayloadKg}
}

func TestTheDemoTripNeedsFastStopsAndHasThem(t *testing.T) {
	v := readTrip(t)
	d := newDrive(t, v.Corridor, v.Car, tripConditions(t))
	if stops := d.stopsOf(v.DepartSoCPct/100, 0.8, v.ReservePct/100); stops < 1 || stops > 3 {
		t.Errorf("%d stops when leaving each with 80 %%, want 1 to 3", stops)
	}
	d.chargersM = nil
	if stops := d.stopsOf(1, 1, 0); stops != -1 {
		t.Error("the trip can be driven on one full battery")
	}
}

func TestCarsFromSmallToLargeCanDriveTheDemoTrip(t *testing.T) {
	for _, car := range []string{"small-hatch", "mid-size-sedan", "crossover", "large-suv", "van", "light-truck-with-trailer"} {
		d := newDrive(t, "pass", car, tripConditions(t))
		if stops := d.stopsOf(0.9, 0.9, 0.1); stops < 1 {
			t.Errorf("%s: %d stops", car, stops)
		}
	}
}

func TestTheThinStretchStopsASmallCarInWinter(t *testing.T) {
	winter := energy.Conditions{TempC: -5, WinterTyres: true, PayloadKg: 160}
	if stops := newDrive(t, "north", "small-hatch", winter).stopsOf(0.9, 0.8, 0.1); stops != -1 {
		t.Errorf("a small car that leaves each stop with 80 %% crosses the Long Barrens in winter with %d stops", stops)
	}
	if stops := newDrive(t, "north", "mid-size-sedan", winter).stopsOf(0.9, 0.8, 0.1); stops < 1 {
		t.Errorf("a mid-size car does not cross the Long Barrens in winter: %d stops", stops)
	}
}

package trip

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"ampleway/energy"
	"ampleway/testdata"
)

func parseTemps(t *testing.T, text string) HourlyTemp {
	t.Helper()
	h, err := ParseHourlyTemp(text)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestHourlyTemp(t *testing.T) {
	day := func(clock string) time.Time {
		at, err := time.Parse("15:04:05", clock)
		if err != nil {
			t.Fatal(err)
		}
		return at.AddDate(2027, 0, 14)
	}
	points := parseTemps(t, "06:00=-4, 14:00=4,22:00=-8")
	hours := parseTemps(t, strings.Repeat("1,2,", 12)[:47])
	for _, c := range []struct {
		of   HourlyTemp
		at   string
		want float64
	}{
		{points, "06:00:00", -4}, {points, "10:00:00", 0}, {points, "14:00:00", 4}, {points, "18:00:00", -2}, {points, "22:00:00", -8},
		{points, "02:00:00", -6}, {points, "00:00:00", -7}, {points, "12:00:30", 2 + 1.0/120},
		{hours, "00:30:00", 1.5}, {hours, "23:00:00", 2}, {hours, "23:45:00", 1.25}, {parseTemps(t, "12:00=7"), "03:00:00", 7},
	} {
		if got := c.of.At(day(c.at)); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("at %s: %.6f °C, want %.6f", c.at, got, c.want)
		}
	}
	if low, high := points.between(day("10:00:00"), day("23:00:00")); low != -8 || high != 4 {
		t.Errorf("from 10 to 23 o'clock: %g to %g °C", low, high)
	}
	for _, bad := range []string{"", "1,2,3", "6=1", "25:00=1", "06:00=x", "06:00=99", "06:00=1,06:00=2", "06:00=NaN"} {
		if _, err := ParseHourlyTemp(bad); err == nil {
			t.Errorf("%q is accepted", bad)
		}
	}
}

func atDay(hour int) time.Time { return time.Date(2027, 1, 15, hour, 0, 0, 0, time.UTC) }

// The same temperature at every hour gives the plain plan, figure for figure.
func TestConstantHoursAreThePlainPlan(t *testing.T) {
	testdata.Sequential(t)
	fleet := builtInCars(t)
	compared := 0
	for seed := uint64(1); seed <= uint64(howMany(12, 200)); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		goal.Depart = atDay(int(seed % 24))
		goal.Confidence = []float64{0, 0.9}[seed%2]
		plain, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		goal.TempByHour = HourlyTemp{{0, drive.Conditions.TempC}, {600, drive.Conditions.TempC}}
		hourly, err := drive.Plan(nil, goal)
		if err != nil {
			t.Fatal(err)
		}
		compared++
		if !reflect.DeepEqual(plain.Exact, hourly.Exact) || plain.DrivenKWh != hourly.DrivenKWh {
			t.Errorf("corridor %d: %+v and %+v", seed, plain.Exact, hourly.Exact)
		}
	}
	if compared < 4 {
		t.Errorf("only %d corridors", compared)
	}
}

// A colder evening never takes less than the afternoon all along.
func TestColderEveningTakesMore(t *testing.T) {
	fleet := builtInCars(t)
	compared, more := 0, 0
	for seed := uint64(1); seed <= uint64(howMany(10, 200)); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		goal.Depart = atDay(15)
		goal.TempByHour = HourlyTemp{{0, 8}, {900, 8}}
		mild, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		goal.TempByHour = HourlyTemp{{900, 8}, {960, 8}, {1200, -8}}
		cold, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		compared++
		length := drive.Profile.LengthM()
		a, b := mild.Drive.Profile.EnergyKWh(length), cold.Drive.Profile.EnergyKWh(length)
		if b < a-1e-9 {
			t.Errorf("corridor %d: %.3f kWh with a cold evening, %.3f without", seed, b, a)
		}
		if b > a*1.01 {
			more++
		}
	}
	t.Logf("%d trips, %d of them take 1 %% more or above", compared, more)
	if more < compared/2 {
		t.Error("the evening hardly counts")
	}
}

// clockDrive drives a plan's stops and departures in steps of 100 m, each at
// the temperature of the minute in which it is driven, taken from profiles a
// quarter of a degree apart. It returns how far the lowest state of charge is
// above the reserves.
func clockDrive(t *testing.T, p *Plan, temps HourlyTemp) (spareSoC float64) {
	t.Helper()
	d, g := p.Drive, &p.Goal
	made := map[float64]*energy.Profile{}
	profile := func(tempC float64) *energy.Profile {
		if made[tempC] == nil {
			cond := d.Conditions
			cond.TempC = tempC
			made[tempC], _ = energy.NewProfile(d.Car, cond, d.road())
		}
		return made[tempC]
	}
	used := func(fromM, toM float64, at time.Time) float64 {
		exact := temps.At(at)
		low := math.Floor(4*exact) / 4
		share := 4 * (exact - low)
		piece := func(p *energy.Profile) float64 { return p.EnergyKWh(toM) - p.EnergyKWh(fromM) }
		return piece(profile(low))*(1-share) + piece(profile(low+0.25))*share
	}
	capacity := d.Profile.CapacityKWh()
	kWh, atM, clockS, spare := g.DepartSoC*capacity, 0.0, 0.0, math.Inf(1)
	drive := func(toM float64) {
		for atM < toM {
			endM := math.Min(atM+100, toM)
			kWh = math.Min(kWh-used(atM, endM, g.Depart.Add(seconds(clockS))), capacity)
			clockS += d.Profile.TimeS(endM) - d.Profile.TimeS(atM)
			spare = math.Min(spare, kWh/capacity-g.floorSoC())
			atM = endM
		}
	}
	for i := range p.Stops {
		c := p.Stops[i].Charger
		drive(c.ChainageM)
		kWh -= c.In.CostKWh
		spare = math.Min(spare, kWh/capacity-g.ReserveSoC)
		clockS = p.Stops[i].LeaveS + c.Out.TimeS
		kWh = math.Max(kWh, p.Stops[i].LeaveSoC*capacity) - c.Out.CostKWh
	}
	drive(d.Profile.LengthM())
	return math.Min(spare, kWh/capacity-g.ArriveReserveSoC)
}

// Driven once more in steps of 100 m at the temperature of every minute, a plan
// by the hour keeps its reserves.
func TestReserveHoldsAtTheHoursTemperature(t *testing.T) {
	fleet := builtInCars(t)
	driven, broken, least := 0, 0, math.Inf(1)
	for seed := uint64(1); driven < howMany(6, 150); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		rng := rand.New(rand.NewPCG(seed, 13))
		goal.Depart = atDay(rng.IntN(24))
		var temps HourlyTemp
		for m := 0.0; m < minutesADay; m += float64(120 + 60*rng.IntN(4)) {
			temps = append(temps, TempPoint{m, -15 + 40*rng.Float64()})
		}
		goal.TempByHour = temps
		p, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		driven++
		spare := clockDrive(t, p, temps)
		least = math.Min(least, spare)
		if spare < -1e-4 {
			t.Errorf("corridor %d: %.4f below a reserve when driven by the clock", seed, -spare)
		}
		// The same stops and departures by the temperature at departure alone.
		goal.TempByHour = nil
		still, err := NewDrive(drive.Corridor, drive.Car, drive.still(temps.At(goal.Depart)), drive.Options)
		if err != nil {
			t.Fatal(err)
		}
		if q, err := still.Plan(nil, goal); err == nil && clockDrive(t, q, temps) < -1e-4 {
			broken++
		}
	}
	t.Logf("%d trips, %.4f above a reserve at the least; %d plans for the temperature at departure break one", driven, least, broken)
	if broken == 0 {
		t.Error("no plan for one temperature breaks a reserve: nothing is shown")
	}
}

// A wanted arrival at hourly temperatures is kept, and not by hours.
func TestArriveByAtHourlyTemperatures(t *testing.T) {
	fleet := builtInCars(t)
	kept := 0
	for seed := uint64(1); kept < howMany(3, 60); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		goal.ArriveBy = atDay(22)
		goal.TempByHour = HourlyTemp{{360, -6}, {840, 6}, {1320, -10}}
		p, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		kept++
		if early := goal.ArriveBy.Sub(p.Goal.Depart).Seconds() - p.TimeS; early < 0 || early > 900 {
			t.Errorf("corridor %d: there %.0f s before the wanted time", seed, early)
		}
	}
}

package trip

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"ampleway/data/fault"
	"ampleway/route/stops"
	"ampleway/testdata"
)

// latestByScan plans at every minute of the day before a wanted arrival and
// returns the latest that is there in time.
func latestByScan(t *testing.T, d *Drive, g Goal, from time.Time) (time.Time, bool) {
	t.Helper()
	g.terse = true
	for at := from; !at.Before(g.ArriveBy.Add(-arriveWithin)); at = at.Add(-time.Minute) {
		g.Depart = at
		p, err := d.Plan(nil, g)
		if errors.Is(err, stops.ErrNoPlan) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if !at.Add(seconds(p.TimeS)).After(g.ArriveBy) {
			return at, true
		}
	}
	return time.Time{}, false
}

// withHours gives stations of a random trip opening hours, and hourly prices.
func withHours(d *Drive, rng *rand.Rand) {
	open := []string{"", "08:00-12:00,13:00-18:00", "06:00-10:00", "10:00-16:00", "14:00-22:00", "Sa off; 07:00-20:00", "11:30-15:00"}
	for i := range d.Chargers {
		d.Chargers[i].Site.Hours = open[rng.IntN(len(open))]
	}
}

// The departure found is the latest: a plan at every minute of the day before
// finds no later one, and a minute later the trip is late or impossible.
func TestLatestDepartureAgainstEveryMinute(t *testing.T) {
	testdata.Sequential(t)
	fleet := builtInCars(t)
	tried, bound, impossible := 0, 0, 0
	for seed := uint64(1); tried < howMany(1, 240); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		if len(drive.Chargers) > howMany(8, 14) {
			continue
		}
		rng := rand.New(rand.NewPCG(seed, 11))
		withHours(drive, rng)
		goal.ArriveBy = time.Date(2027, 1, 15, 9+rng.IntN(15), rng.IntN(60), 0, 0, time.UTC)
		switch rng.IntN(3) {
		case 1:
			goal.Confidence = 0.9
		case 2:
			goal.Objective.Goal = stops.FewestStops
		}
		got, err := drive.Plan(nil, goal)
		if errors.Is(err, stops.ErrNoPlan) {
			continue
		}
		if err != nil && !testdata.Slow() {
			continue // a whole day of plans
		}
		tried++
		// Nothing is quicker than driving without a stop.
		nonstop := goal.ArriveBy.Add(-seconds(drive.Profile.TimeS(drive.Profile.LengthM()))).Truncate(time.Minute)
		want, possible := latestByScan(t, drive, goal, nonstop)
		var wrong *fault.Input
		if errors.As(err, &wrong) && !possible {
			impossible++
			continue
		}
		if err != nil || !possible {
			t.Fatalf("corridor %d: error %v, but a plan at every minute finds %v, %s", seed, err, possible, want)
		}
		if !got.Goal.Depart.Equal(want) {
			t.Errorf("corridor %d: leaves at %s, the latest of all minutes is %s", seed, got.Goal.Depart, want)
		}
		free := goal
		free.ArriveBy = time.Time{}
		plain, err := drive.Plan(nil, free)
		if err != nil {
			t.Fatal(err)
		}
		if got.Goal.Depart.Before(goal.ArriveBy.Add(-seconds(plain.TimeS)).Truncate(time.Minute)) {
			bound++
		}
	}
	t.Logf("%d trips; on %d the hours cost time, on %d no departure does it", tried, bound, impossible)
	if testdata.Slow() && bound < tried/10 {
		t.Error("the clock hardly ever counts: nothing is shown")
	}
}

// A minute after the departure found, the trip is late or impossible.
func TestAMinuteLaterIsLate(t *testing.T) {
	fleet := builtInCars(t)
	checked := 0
	for seed := uint64(1); checked < howMany(5, 400); seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		rng := rand.New(rand.NewPCG(seed, 12))
		withHours(drive, rng)
		goal.ArriveBy = time.Date(2027, 1, 15, 9+rng.IntN(15), rng.IntN(60), 0, 0, time.UTC)
		goal.Confidence = []float64{0, 0, 0.95}[rng.IntN(3)]
		p, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		checked++
		if arrive, _ := p.At(p.TimeS); arrive.After(goal.ArriveBy) {
			t.Errorf("corridor %d: arrives at %s, wanted by %s", seed, arrive, goal.ArriveBy)
		}
		later := goal
		later.Depart = p.Goal.Depart.Add(time.Minute)
		q, err := drive.Plan(nil, later)
		if err == nil && !later.Depart.Add(seconds(q.TimeS)).After(goal.ArriveBy) {
			t.Errorf("corridor %d: leaving a minute later arrives at %s too", seed, later.Depart.Add(seconds(q.TimeS)))
		}
	}
}

// Without anything that follows the clock the departure is the arrival less
// the duration, down to the minute.
func TestArriveByWithoutClock(t *testing.T) {
	fleet := builtInCars(t)
	checked := 0
	for seed := uint64(1); seed <= 20; seed++ {
		drive, goal := randomTrip(t, fleet, seed)
		plain, err := drive.Plan(nil, goal)
		if err != nil {
			continue
		}
		checked++
		goal.ArriveBy = time.Date(2027, 1, 15, 18, 0, 0, 0, time.UTC)
		p, err := drive.Plan(nil, goal)
		if err != nil {
			t.Fatal(err)
		}
		if want := goal.ArriveBy.Add(-seconds(plain.TimeS)).Truncate(time.Minute); !p.Goal.Depart.Equal(want) || p.TimeS != plain.TimeS {
			t.Errorf("corridor %d: leaves at %s, want %s; takes %.1f s, want %.1f", seed, p.Goal.Depart, want, p.TimeS, plain.TimeS)
		}
	}
	if checked < 5 {
		t.Errorf("only %d corridors", checked)
	}
}

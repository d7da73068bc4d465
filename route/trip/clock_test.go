package trip_test

import (
	"testing"
	"time"

	"ampleway/route/trip"
	"ampleway/stations/hours"
)

// Whenever the car sets out, no plan stops where it is closed during the stop.
func TestNoStopWhereItIsClosed(t *testing.T) {
	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct = 0, 70
	drive, goal := prepare(t, "upland", ask)
	checked, limited := 0, 0
	zone := time.FixedZone("UTC-10", -10*3600)
	for hour := range 24 {
		goal.Depart = time.Date(2026, 11, 7, hour, 0, 0, 0, zone)
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			t.Fatalf("leaving at %02d:00: %v", hour, err)
		}
		for _, s := range plan.Stops {
			checked++
			site := s.Charger.Site
			if site.Hours == "" || site.Hours == "24/7" {
				continue
			}
			limited++
			schedule, err := hours.Parse(site.Hours)
			if err != nil {
				t.Fatal(err)
			}
			for _, after := range []float64{s.ArriveS + s.WaitS, s.LeaveS - 1} {
				at, _ := plan.At(after)
				if state := schedule.At(at); state != hours.Open {
					t.Errorf("leaving at %02d:00: %s is %v at %s", hour, trip.SiteName(site), state, at.Format("15:04"))
				}
			}
		}
	}
	t.Logf("%d stops, %d of them with opening hours", checked, limited)
	if checked == 0 {
		t.Error("no stop was checked")
	}
}

// A site that is closed whenever the car could be there is as good as none; a
// site whose hours cannot be read is not taken for open.
func TestClosedOrUnreadableIsNotUsed(t *testing.T) {
	ask := byEstimate()
	ask.TempC, ask.LeaveWithPct = 0, 70
	drive, goal := prepare(t, "upland", ask)
	goal.Depart = time.Date(2026, 11, 7, 8, 0, 0, 0, time.UTC)
	plan, err := drive.Plan(nil, goal)
	if err != nil || len(plan.Stops) == 0 {
		t.Fatalf("%v, %d stops", err, len(plan.Stops))
	}
	for _, text := range []string{"off", "when the moon is full"} {
		site := plan.Stops[0].Charger.Site
		before := site.Hours
		site.Hours = text
		again, err := drive.Plan(nil, goal)
		site.Hours = before
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		for _, s := range again.Stops {
			if s.Charger.Site == site {
				t.Errorf("%q: the plan stops at %s", text, trip.SiteName(site))
			}
		}
		if again.TimeS < plan.TimeS {
			t.Errorf("%q: fewer chargers make the trip shorter", text)
		}
	}
}

// Where time and cost count, the hour of the tariff counts.
func TestTariffByTheHour(t *testing.T) {
	ask := byEstimate()
	ask.Best, ask.HourWorth, ask.UnknownPricePerKWh = "balance", 15, new(0.6)
	drive, goal := prepare(t, "pass", ask)
	priced := map[int64]bool{}
	for _, hour := range []int{2, 8, 14, 20} {
		goal.Depart = time.Date(2026, 10, 17, hour, 0, 0, 0, time.FixedZone("", -10*3600))
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Cost.Amounts()) != 1 {
			t.Fatalf("costs %v", plan.Cost)
		}
		priced[plan.Cost.Amounts()[0].Micros] = true
	}
	if len(priced) < 2 {
		t.Error("no hour changes the cost of a trip past sites with an hourly tariff")
	}
}

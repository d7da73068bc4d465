package trip_test

import (
	"testing"

	"ampleway/route/trip"
)

func TestAssureDemo(t *testing.T) {
	ask := trip.NewRequest()
	ask.TempC, ask.WindKMH, ask.WindFromDeg, ask.PayloadKg, ask.DestReservePct = 8, 25, 150, 160, 15
	for _, c := range []float64{0, 0.8, 0.95, 0.99} {
		for _, fb := range []bool{false, true} {
			drive, goal := prepare(t, "pass", ask)
			goal.Confidence, goal.Fallback = c, fb
			plan, err := drive.Plan(nil, goal)
			if err != nil {
				t.Log(c, fb, err)
				continue
			}
			if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
				t.Fatal(err)
			}
			t.Logf("confidence %g fallback %v excess %.3f time %.1f min, headroom %.3f, risk %+v", c, fb, plan.Goal.Excess, plan.TimeS/60, plan.Headroom, *plan.Risk)
			for i := range plan.Stops {
				t.Logf("%s %.3f→%.3f rule %+v", trip.SiteName(plan.Stops[i].Charger.Site), plan.Stops[i].ArriveSoC, plan.Stops[i].LeaveSoC, plan.Rules[i])
				t.Logf("   fallback %+v", plan.Fallbacks[i])
			}
		}
	}
}

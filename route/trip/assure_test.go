package trip_test

import (
	"testing"

	"ampleway/route/trip"
)

func TestAssureDemo(t *testing.T) {
	for _, c := range []float64{0, 0.95} {
		drive, goal := prepare(t, "pass", demoAsk())
		goal.Confidence = c
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			t.Log(c, err)
			continue
		}
		if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
			t.Fatal(err)
		}
		for _, s := range plan.Stresses {
			t.Logf("%-30s %.3f %.3f %v %v", s.Text(trip.Metric), s.ArriveSoC, s.LeastSoC, s.BreaksLeg, s.Plan != nil)
		}
		for i := range plan.Choices {
			t.Log(plan.Choices[i].Text(trip.Metric))
		}
	}
}

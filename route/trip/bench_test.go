package trip_test

import (
	"testing"

	"ampleway/route/question"
	"ampleway/route/trip"
)

func demoAsk() question.Question {
	ask := byEstimate()
	ask.TempC, ask.WindKMH, ask.WindFromDeg, ask.PayloadKg, ask.ArriveWithPct = 8, 25, new(150.0), 160, 15
	ask.Depart = "2026-10-17T08:00:00-10:00"
	return ask
}

func BenchmarkNewDrive(b *testing.B) {
	drive, _ := prepare(b, "pass", demoAsk())
	for b.Loop() {
		if _, err := trip.NewDrive(drive.Corridor, drive.Car, drive.Conditions, drive.Options); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlan(b *testing.B) {
	drive, goal := prepare(b, "pass", demoAsk())
	for b.Loop() {
		if _, err := drive.Plan(nil, goal); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAssure(b *testing.B) {
	drive, goal := prepare(b, "pass", demoAsk())
	for b.Loop() {
		plan, err := drive.Plan(nil, goal)
		if err != nil {
			b.Fatal(err)
		}
		if err := plan.Assure(nil, trip.AssureOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A thousand simulated trips, besides the few microseconds of the rest.
func BenchmarkSimulate(b *testing.B) {
	drive, goal := prepare(b, "pass", demoAsk())
	plan, err := drive.Plan(nil, goal)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := plan.Simulate(nil, trip.AssureOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

package trip_test

import (
	"errors"
	"strings"
	"testing"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// Where no plan exists, each remedy by itself makes one exist, and a little
// less of it does not.
func TestRemediesAreTrueAndTight(t *testing.T) {
	ask := byEstimate()
	ask.TempC, ask.Surface, ask.WindKMH, ask.LeaveWithPct, ask.ReservePct, ask.ArriveWithPct = -15, "snow", 0, 90, 20, 20
	drive, goal := prepareCar(t, "north", "small-hatch", ask)
	_, err := drive.Plan(nil, goal)
	var why *trip.NoPlan
	if !errors.As(err, &why) {
		t.Fatalf("error %v, want a *NoPlan", err)
	}
	t.Log(why.Text(question.Metric), why.RemedyText(question.Metric))
	if why.MissingKWh <= 0 || why.FromM >= why.ToM {
		t.Errorf("missing %.2f kWh from %.0f m to %.0f m", why.MissingKWh, why.FromM, why.ToM)
	}
	kinds := map[string]bool{}
	for _, r := range why.Remedies {
		works, less := goal, goal
		change, weaker := ask, ask
		switch {
		case r.DepartSoC > 0:
			kinds["departure"] = true
			works.DepartSoC, less.DepartSoC = r.DepartSoC+1e-5, r.DepartSoC-1e-4
		case r.Reserve:
			kinds["reserve"] = true
			works.ReserveSoC, works.ArriveReserveSoC = r.ReserveSoC-1e-5, r.ReserveSoC-1e-5
			less.ReserveSoC, less.ArriveReserveSoC = r.ReserveSoC+1e-4, r.ReserveSoC+1e-4
		case r.SpeedCapMS > 0:
			kinds["speed"] = true
			change.SpeedCapKMH, weaker.SpeedCapKMH = new(3.6*r.SpeedCapMS), new(3.6*r.SpeedCapMS+5)
		default:
			kinds["station"] = true
			continue
		}
		if d, _ := prepareCar(t, "north", "small-hatch", change); !plans(d, works) {
			t.Errorf("%q does not make the trip possible", r.Text(question.Metric))
		}
		if d, _ := prepareCar(t, "north", "small-hatch", weaker); plans(d, less) {
			t.Errorf("less than %q already makes the trip possible", r.Text(question.Metric))
		}
	}
	if len(kinds) == 0 {
		t.Error("no remedy was found for a trip that has some")
	}
	if !strings.Contains(why.Text(question.US), " mi") {
		t.Error("the US text has no miles")
	}
}

func plans(d *trip.Drive, g trip.Goal) bool {
	_, err := d.Plan(nil, g)
	return err == nil
}

package answer_test

import (
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/route/trip"
)

// A stop that charges nothing when all goes as estimated says when to charge
// there, and no form tells of a charge, a price or a power.
func TestAStopForAHarderDay(t *testing.T) {
	plan, o := demo(t, nil)
	changed := *plan
	changed.Stops = append([]trip.Stop{}, plan.Stops...)
	s := &changed.Stops[1]
	s.ArriveSoC = 0.327
	s.LeaveSoC, s.ChargeS, s.BatteryKWh, s.DwellS = s.ArriveSoC, 0, 0, s.DetourS+s.OverheadS+s.WaitS
	changed.Rules = append([][]trip.LeaveRow{}, plan.Rules...)
	changed.Rules[1] = []trip.LeaveRow{{ToPct: 31, LeavePct: 31}, {FromPct: 31, ToPct: 101}}
	const says = "Charge here only if the battery shows less than 31 %; as estimated there is enough to drive on."
	for _, form := range []string{"text", "html", "gpx"} {
		text := strings.Join(strings.Fields(string(write(t, form, answer.Alone(&changed), o))), " ")
		if n := strings.Count(text, says); n == 0 {
			t.Errorf("%s does not say so", form)
		}
		if strings.Contains(text, " charge about 0 min") || strings.Contains(text, " 0 min of charging") {
			t.Errorf("%s tells of a charge", form)
		}
	}
	if arrive, leave := answer.ArrivingStop(&changed, 1), answer.LeavingStop(&changed, 1); arrive != "33 %" || leave != "33 %" {
		t.Errorf("arrive with %s, leave with %s", arrive, leave)
	}
	s.DwellS += 45 * 60 // a meal
	if text := string(write(t, "text", answer.Alone(&changed), o)); strings.Contains(strings.Join(strings.Fields(text), " "), says) {
		t.Error("a rest is no stop to drive past")
	}
}

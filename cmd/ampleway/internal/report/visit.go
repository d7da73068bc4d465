package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/route/earth"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// What every form of a visit says about the whole of it.

func drivesOf(v *trip.JourneyPlan) []*trip.Drive {
	out := make([]*trip.Drive, len(v.Plans))
	for i, p := range v.Plans {
		out[i] = p.Drive
	}
	return out
}

// endsAtStart reports whether a journey ends where it began.
func endsAtStart(drives []*trip.Drive) bool {
	const sameM = 500.0
	first, last := drives[0].Corridor.Route, drives[len(drives)-1].Corridor.Route
	a, b := first.Point(0), last.Point(last.Len()-1)
	return earth.DistanceM(a.Lon, a.Lat, b.Lon, b.Lat) < sameM
}

// visitArrival is the number that matters: what is left at the end of it all.
func visitArrival(v *trip.JourneyPlan) string {
	left := Arriving(lastDrive(v).ArriveSoC)
	if endsAtStart(drivesOf(v)) {
		return "Home again with " + left
	}
	return "At the end with " + left
}

func lastDrive(v *trip.JourneyPlan) *trip.Plan { return v.Plans[len(v.Plans)-1] }

// journeyName is where drives lead.
func journeyName(drives []*trip.Drive) string {
	name := drives[0].Corridor.Route.Name
	switch {
	case len(drives) == 1:
		return name
	case !endsAtStart(drives):
		return name + " and on"
	case len(drives) == 2:
		return name + ", there and back"
	}
	return name + " and on, and back"
}

// visitHeadline is the first sentence about a visit.
func visitHeadline(v *trip.JourneyPlan) string {
	lowest, stops := math.Inf(1), 0
	for _, p := range v.Plans {
		lowest = math.Min(lowest, p.ArriveSoC)
		stops += len(p.Stops)
	}
	return fmt.Sprintf("%s after %s: %s, %s in all; no drive ends with less than %s.",
		visitArrival(v), span(visitS(v)), count(len(v.Plans), "drive"), count(stops, "charging stop"), Arriving(lowest))
}

// visitS is the time from the first departure to the last arrival.
func visitS(v *trip.JourneyPlan) float64 {
	sum := 0.0
	for _, p := range v.Plans {
		sum += p.TimeS
	}
	for _, s := range v.Stays {
		sum += s.TimeS
	}
	return sum
}

// visitCost is that of all drives.
func visitCost(v *trip.JourneyPlan) (sum money.Sum) {
	for _, p := range v.Plans {
		sum.AddSum(p.Cost)
	}
	return sum
}

// visitRest says what the whole visit is planned for.
func visitRest(v *trip.JourneyPlan) string {
	if v.Plans[0].Goal.Confidence == 0 {
		return "The whole visit is planned by the estimate alone: on a day that takes more, follow the car's gauge and charge longer, or plan with a higher reserve."
	}
	held := "held at one confidence"
	if !v.Plans[0].Drive.Car.Calibrated() {
		held = "planned with one margin"
	}
	return "The whole visit is " + held + ": every leg of every drive. Weather and traffic are taken to be others on each drive; in a stay the car takes what its plug gives."
}

// visitAssumptions are those of the drives, each said once: what does not hold
// for all of them says for which.
func visitAssumptions(v *trip.JourneyPlan, u question.Units) []string {
	all := make([][]string, len(v.Plans))
	for i, p := range v.Plans {
		all[i] = p.Assumptions(u)
	}
	var out []string
	for i, list := range all {
		for _, text := range list {
			switch {
			case text == energy.ElectricianDecides || slices.Contains(out, text):
			case !slices.ContainsFunc(all, func(other []string) bool { return !slices.Contains(other, text) }):
				out = append(out, text)
			default:
				out = append(out, fmt.Sprintf("Drive %d: %s", i+1, text))
			}
		}
	}
	return append(out, visitRest(v))
}

// visitCautions belong under every visit that a person reads.
func visitCautions(v *trip.JourneyPlan) []string {
	circuit := v.Plans[0].Goal.Night != nil
	for i := range v.Stays {
		circuit = circuit || v.Stays[i].Plug.AC
	}
	if !circuit {
		return trip.Cautions
	}
	return append(trip.Cautions[:len(trip.Cautions):len(trip.Cautions)], energy.ElectricianDecides)
}

// charges reports whether anything comes of a stay's plug.
func charges(s *trip.StayPlan) bool { return s.BatteryKWh >= 0.05 }

// stayText says what a stay does to the battery.
func stayText(s *trip.StayPlan) string {
	if !charges(s) {
		return fmt.Sprintf("With %s: nothing is charged, so %s stays.", s.Plug.Text(), Arriving(s.ArriveSoC))
	}
	return fmt.Sprintf("With %s: from %s to %s, %.1f kWh into the battery.", s.Plug.Text(), Arriving(s.ArriveSoC), Arriving(s.LeaveSoC), s.BatteryKWh)
}

func visitRiskText(v *trip.JourneyPlan) string {
	whole := *lastDrive(v)
	whole.Risk = v.Risk
	return RiskText(&whole)
}

func driveTitle(v *trip.JourneyPlan, i int) string {
	return fmt.Sprintf("Drive %d: %s", i+1, strings.TrimSpace(v.Plans[i].Drive.Corridor.Route.Name))
}

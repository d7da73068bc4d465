package energy

import "math"

// Leg is the drive between two places, as a battery of CapacityKWh sees it.
// Leaving with x kWh ≥ NeedKWh the car arrives with min(x − CostKWh, CapKWh).
type Leg struct {
	DistanceM float64
	TimeS     float64
	// NeedKWh is the least energy at departure that keeps the battery at or
	// above zero all along, ≥ 0. Above the capacity the leg cannot be driven.
	// It is +Inf when nothing above the start costs that much, yet no
	// departure can do it: a descent fills the battery and the climb behind
	// it takes more than a whole one.
	NeedKWh float64
	// CostKWh is departure minus arrival when the battery never fills up.
	// Negative on a long descent.
	CostKWh float64
	// CapKWh is the most that can be in the battery on arrival, because
	// regeneration into a full battery is lost. At most the capacity.
	CapKWh float64
}

// Then returns the leg that drives l and goes on with next: the composition
// law of (need, cost, cap). Where next needs more than l can bring, the sum
// cannot be driven and its need is +Inf. The law is associative (two needs
// above the capacity count as equal); a leg of no length with CapKWh equal to
// the capacity is its neutral element.
func (l Leg) Then(next Leg) Leg {
	sum := Leg{
		DistanceM: l.DistanceM + next.DistanceM,
		TimeS:     l.TimeS + next.TimeS,
		NeedKWh:   max(l.NeedKWh, next.NeedKWh+l.CostKWh),
		CostKWh:   l.CostKWh + next.CostKWh,
		CapKWh:    min(l.CapKWh-next.CostKWh, next.CapKWh),
	}
	if next.NeedKWh > l.CapKWh {
		sum.NeedKWh = math.Inf(1)
	}
	return sum
}

// ArriveKWh returns what is in the battery on arrival after leaving with
// departKWh, and whether the battery lasts.
func (l Leg) ArriveKWh(departKWh float64) (kWh float64, lasts bool) {
	return min(departKWh-l.CostKWh, l.CapKWh), departKWh >= l.NeedKWh
}

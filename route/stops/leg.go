package stops

import "math"

// Leg is a drive from one place to another, reduced to what a plan needs.
//
// A car that departs with x kWh gets there if x ≥ NeedKWh, and arrives with
// min(x − CostKWh, CapKWh). On level road NeedKWh = CostKWh. On a climb that
// ends in a descent NeedKWh > CostKWh; on a net descent CostKWh < 0; where
// regeneration meets a full battery CapKWh limits what is there on arrival.
// The zero Leg is no drive at all.
type Leg struct {
	TimeS   float64 // driving time, s, 0 to 1e9
	NeedKWh float64 // least energy at departure that keeps the battery at or above zero all along, kWh, ≥ 0
	CostKWh float64 // departure minus arrival where nothing saturates, kWh, may be negative
	CapKWh  float64 // most that can be in the battery on arrival, kWh; 0 means no limit but the battery's
}

// Then returns the drive l followed by the drive m. It is associative, and
// the zero Leg changes nothing. A leg that cannot be driven, because l cannot
// deliver what m needs, has NeedKWh = +Inf.
func (l Leg) Then(m Leg) Leg {
	lCap, mCap := l.limit(), m.limit()
	out := Leg{
		TimeS:   l.TimeS + m.TimeS,
		NeedKWh: math.Max(l.NeedKWh, l.CostKWh+m.NeedKWh),
		CostKWh: l.CostKWh + m.CostKWh,
		CapKWh:  math.Min(lCap-m.CostKWh, mCap),
	}
	if lCap < m.NeedKWh {
		out.NeedKWh = math.Inf(1)
	}
	switch {
	case math.IsInf(out.CapKWh, 1):
		out.CapKWh = 0
	case out.CapKWh <= 0:
		out.CapKWh = math.SmallestNonzeroFloat64
	}
	return out
}

// ArriveKWh returns what is in the battery on arrival, kWh, and whether the
// leg can be driven at all on departKWh.
func (l Leg) ArriveKWh(departKWh float64) (float64, bool) {
	return math.Min(departKWh-l.CostKWh, l.limit()), departKWh >= l.NeedKWh
}

func (l Leg) limit() float64 {
	if l.CapKWh == 0 {
		return math.Inf(1)
	}
	return l.CapKWh
}

package home

import (
	"slices"
	"time"
)

// Month is one month of the result, all cars together.
type Month struct {
	Km             float64
	DrivenKWh      float64 // from the batteries
	HomeOutletKWh  float64 // drawn from the home circuits
	HomeBatteryKWh float64 // of that into the batteries
	DearKWh        float64 // of HomeOutletKWh bought above the lowest price of its night
	FastKWh        float64 // into the batteries at fast chargers
	FastMeteredKWh float64 // as metered there
	FastH          float64 // hours at fast chargers
	FastVisits     int     // on ordinary days; the stops of trips are not counted
	HomeCost       float64
	FastCost       float64
	ChargeNights   int // nights on which a car charged, counted for each car
	DearNights     int // of those, nights that needed more than the cheapest hours
	ShortNights    int // nights that ended below the car's target
}

// Result is a simulated year.
type Result struct {
	Months       [12]Month
	StartKWh     float64 // in the batteries on 1 January
	EndKWh       float64 // in the batteries at the end
	ImbalanceKWh float64 // StartKWh + charged − driven − EndKWh: rounding only
}

// Total adds up the months.
func (r *Result) Total() Month {
	var t Month
	for _, m := range r.Months {
		t.Km += m.Km
		t.DrivenKWh += m.DrivenKWh
		t.HomeOutletKWh += m.HomeOutletKWh
		t.HomeBatteryKWh += m.HomeBatteryKWh
		t.DearKWh += m.DearKWh
		t.FastKWh += m.FastKWh
		t.FastMeteredKWh += m.FastMeteredKWh
		t.FastH += m.FastH
		t.FastVisits += m.FastVisits
		t.HomeCost += m.HomeCost
		t.FastCost += m.FastCost
		t.ChargeNights += m.ChargeNights
		t.DearNights += m.DearNights
		t.ShortNights += m.ShortNights
	}
	return t
}

// HomeShare is the share of the charged energy that came from home; NaN when
// nothing was charged.
func (m Month) HomeShare() float64 { return m.HomeBatteryKWh / (m.HomeBatteryKWh + m.FastKWh) }

// Cost is the money for all charging.
func (m Month) Cost() float64 { return m.HomeCost + m.FastCost }

// Simulate walks through the year. The error is a *fault.Input.
func (h *Household) Simulate() (Result, error) {
	if err := h.Validate(); err != nil {
		return Result{}, err
	}
	s := h.start()
	first := time.Date(h.Year, time.January, 1, 0, 0, 0, 0, time.UTC)
	var r Result
	for i := range s.kWh {
		r.StartKWh += s.kWh[i]
	}
	for day := 0; ; day++ {
		date := first.AddDate(0, 0, day)
		if date.Year() != h.Year {
			break
		}
		m := &r.Months[date.Month()-1]
		for i := range h.Cars {
			s.drive(i, day, date, m)
		}
		s.chargeAtHome(day, date, m)
	}
	total := r.Total()
	for i := range s.kWh {
		r.EndKWh += s.kWh[i]
	}
	r.ImbalanceKWh = r.StartKWh + total.HomeBatteryKWh + total.FastKWh - total.DrivenKWh - r.EndKWh
	return r, nil
}

// state is where the simulation stands.
type state struct {
	h       *Household
	kWh     []float64     // in each battery
	trips   []map[int]int // for each car: day of year to trip
	backOn  []int         // for each car: the day in whose evening it is home again
	leaving []int         // the cars in order of departure in the morning
}

func (h *Household) start() *state {
	s := &state{h: h, kWh: make([]float64, len(h.Cars)), trips: make([]map[int]int, len(h.Cars)), backOn: make([]int, len(h.Cars))}
	for i := range h.Cars {
		s.leaving = append(s.leaving, i)
		s.backOn[i] = -1
		c := &h.Cars[i]
		s.kWh[i] = c.UsableKWh * or(c.StartSoC, c.target())
		s.trips[i] = map[int]int{}
		for _, k := range h.tripsOf(i) {
			s.trips[i][dayOfYear(h.Trips[k].Date)] = k
		}
	}
	slices.SortStableFunc(s.leaving, func(a, b int) int { return h.Cars[a].DepartMin - h.Cars[b].DepartMin })
	return s
}

// drive draws a day, or a whole trip on the day it starts.
func (s *state) drive(i, day int, date time.Time, m *Month) {
	c := &s.h.Cars[i]
	if k, ok := s.trips[i][day]; ok {
		t := &s.h.Trips[k]
		s.backOn[i] = day + t.NightsAway
		m.Km += t.Km
		m.FastKWh += t.FastKWh
		m.FastMeteredKWh += t.FastKWh / s.h.Fast.efficiency()
		m.FastH += t.FastH
		m.FastCost += t.FastCost
		m.DrivenKWh += t.FastKWh // what is put back on the way is driven on the way
		s.draw(i, t.HomeKWh, m)
		return
	}
	if day <= s.backOn[i] {
		return
	}
	km := c.KmByWeekday[date.Weekday()]
	m.Km += km
	s.draw(i, km*c.KWhPer100Km[date.Month()-1]/100, m)
}

// draw takes energy from a battery and visits a fast charger each time the
// reserve would be broken.
func (s *state) draw(i int, needKWh float64, m *Month) {
	c, fast := &s.h.Cars[i], &s.h.Fast
	m.DrivenKWh += needKWh
	floor, full := c.reserve()*c.UsableKWh, fast.toSoC()*c.UsableKWh
	for needKWh > 0 {
		ride := min(needKWh, max(0, s.kWh[i]-floor))
		s.kWh[i] -= ride
		needKWh -= ride
		if needKWh <= 0 {
			return
		}
		charged := full - s.kWh[i]
		s.kWh[i] = full
		m.FastKWh += charged
		m.FastMeteredKWh += charged / fast.efficiency()
		m.FastCost += charged / fast.efficiency() * fast.PerKWh
		m.FastH += charged/or(fast.MeanKW, 60) + or(fast.VisitH, 0.15)
		m.FastVisits++
	}
}

// chargeAtHome spends the night of date: first what each car needs for the
// next day, then up to the targets, the car that leaves first before others.
func (s *state) chargeAtHome(day int, date time.Time, m *Month) {
	slots := s.h.night(date)
	bought := make([]purchase, len(s.h.Cars))
	for _, i := range s.leaving {
		if s.isHome(i, day) {
			c := &s.h.Cars[i]
			needed := min(s.wantKWh(i, day), s.nextDayKWh(i, day, date)+c.reserve()*c.UsableKWh)
			c.buy(slots, &bought[i], max(0, needed-s.kWh[i])/c.Charge.Efficiency)
		}
	}
	for _, i := range s.leaving {
		if s.isHome(i, day) {
			c, want := &s.h.Cars[i], s.wantKWh(i, day)
			inBattery := s.kWh[i] + bought[i].outletKWh*c.Charge.Efficiency
			c.buy(slots, &bought[i], max(0, want-inBattery)/c.Charge.Efficiency)
			s.book(i, &bought[i], want, m)
		}
	}
}

// isHome says whether a car that can charge at home is there in the evening.
func (s *state) isHome(i, day int) bool {
	return s.h.Cars[i].chargesAtHome() && day >= s.backOn[i]
}

// wantKWh is what should be in the battery in the morning: full before a trip,
// the target otherwise.
func (s *state) wantKWh(i, day int) float64 {
	c := &s.h.Cars[i]
	if _, ok := s.trips[i][day+1]; ok {
		return c.UsableKWh
	}
	return c.target() * c.UsableKWh
}

func (s *state) nextDayKWh(i, day int, date time.Time) float64 {
	if k, ok := s.trips[i][day+1]; ok {
		return s.h.Trips[k].HomeKWh
	}
	next := date.AddDate(0, 0, 1)
	c := &s.h.Cars[i]
	return c.KmByWeekday[next.Weekday()] * c.KWhPer100Km[next.Month()-1] / 100
}

func (s *state) book(i int, p *purchase, wantKWh float64, m *Month) {
	const countedKWh = 1e-6
	c := &s.h.Cars[i]
	battery := p.outletKWh * c.Charge.Efficiency
	s.kWh[i] += battery
	m.HomeOutletKWh += p.outletKWh
	m.HomeBatteryKWh += battery
	m.HomeCost += p.cost
	m.DearKWh += p.dearKWh
	if p.outletKWh > countedKWh {
		m.ChargeNights++
	}
	if p.dearKWh > countedKWh {
		m.DearNights++
	}
	if s.kWh[i] < wantKWh-countedKWh {
		m.ShortNights++
	}
}

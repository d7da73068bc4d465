package home

import (
	"cmp"
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
	HostKWh        float64 // into the batteries where trips lead to
	FastH          float64 // hours at fast chargers
	FastVisits     int     // on ordinary days; the stops of trips are not counted
	Unpriced       int     // visits and stops at fast chargers whose price is not known
	HomeCost       float64
	FastCost       float64 // without what is unpriced
	ChargeNights   int     // nights of the household on which any car charged
	DearNights     int     // of those, nights on which any car needed more than its cheapest hours
	ShortNights    int     // nights that left any car at home below its target
}

// Result is a simulated year.
type Result struct {
	Months       [12]Month
	NightsToFull int     // most nights at home from the return of a trip until the car is at its target; 0: no car returns
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
		t.HostKWh += m.HostKWh
		t.FastH += m.FastH
		t.FastVisits += m.FastVisits
		t.Unpriced += m.Unpriced
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
func (m Month) HomeShare() float64 {
	return m.HomeBatteryKWh / (m.HomeBatteryKWh + m.FastKWh + m.HostKWh)
}

// Cost is the money for all charging whose price is known.
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
	r.NightsToFull = s.nightsToFull
	r.ImbalanceKWh = r.StartKWh + total.HomeBatteryKWh + total.FastKWh + total.HostKWh - total.DrivenKWh - r.EndKWh
	return r, nil
}

// state is where the simulation stands.
type state struct {
	h            *Household
	kWh          []float64     // in each battery
	trips        []map[int]int // for each car: day of year to trip
	backOn       []int         // for each car: the day in whose evening it is home again
	filling      []bool        // for each car: it has not been at its target since its last trip
	nightsToFull int           // as in Result, so far
	leaving      []int         // the cars in order of departure in the morning
}

func (h *Household) start() *state {
	s := &state{h: h, kWh: make([]float64, len(h.Cars)), trips: make([]map[int]int, len(h.Cars)), backOn: make([]int, len(h.Cars)), filling: make([]bool, len(h.Cars))}
	for i := range h.Cars {
		s.leaving = append(s.leaving, i)
		s.backOn[i] = -1
		c := &h.Cars[i]
		s.kWh[i] = c.UsableKWh * cmp.Or(c.StartSoC, c.target())
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
		s.backOn[i], s.filling[i] = day+t.NightsAway, true
		m.Km += t.Km
		m.FastKWh += t.FastKWh
		m.FastMeteredKWh += t.FastKWh / s.h.Fast.efficiency()
		m.FastH += t.FastH
		m.FastCost += t.FastCost
		m.Unpriced += t.Unpriced
		m.HostKWh += t.HostKWh
		m.DrivenKWh += t.FastKWh + t.HostKWh // what is put back on the way is driven on the way
		s.draw(i, t.HomeKWh, true, m)
		return
	}
	if day <= s.backOn[i] {
		return
	}
	km := c.KmByWeekday[date.Weekday()]
	m.Km += km
	s.draw(i, km*c.KWhPer100Km[date.Month()-1]/100, false, m)
}

// draw takes energy from a battery and visits a fast charger each time the
// reserve would be broken; see Fast.Drive.
func (s *state) draw(i int, needKWh float64, justEnough bool, m *Month) {
	c, fast := &s.h.Cars[i], &s.h.Fast
	m.DrivenKWh += needKWh
	var charged []float64
	s.kWh[i], charged = fast.Drive(c, s.kWh[i], needKWh, justEnough)
	for _, kWh := range charged {
		visit := fast.Visit(c, kWh)
		m.FastKWh += kWh
		m.FastMeteredKWh += visit.MeteredKWh
		m.FastCost += visit.Cost
		m.FastH += visit.TimeH
		m.FastVisits++
		if fast.Unpriced {
			m.Unpriced++
		}
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
	var all night
	for _, i := range s.leaving {
		if s.isHome(i, day) {
			c, want := &s.h.Cars[i], s.wantKWh(i, day)
			inBattery := s.kWh[i] + bought[i].outletKWh*c.Charge.Efficiency
			c.buy(slots, &bought[i], max(0, want-inBattery)/c.Charge.Efficiency)
			all = all.with(s.book(i, &bought[i], want, m))
			s.countFilling(i, day, want)
		}
	}
	all.count(m)
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

// countedKWh is the least that counts: less is rounding.
const countedKWh = 1e-6

// book puts what car i bought into its battery and into the month.
func (s *state) book(i int, p *purchase, wantKWh float64, m *Month) night {
	battery := p.outletKWh * s.h.Cars[i].Charge.Efficiency
	s.kWh[i] += battery
	m.HomeOutletKWh += p.outletKWh
	m.HomeBatteryKWh += battery
	m.HomeCost += p.cost
	m.DearKWh += p.dearKWh
	return night{charged: p.outletKWh > countedKWh, dear: p.dearKWh > countedKWh, short: s.short(i, wantKWh)}
}

func (s *state) short(i int, wantKWh float64) bool { return s.kWh[i] < wantKWh-countedKWh }

// countFilling counts the nights since a trip brought car i home, until it is
// at its target.
func (s *state) countFilling(i, day int, wantKWh float64) {
	if s.filling[i] {
		s.nightsToFull = max(s.nightsToFull, day-s.backOn[i]+1)
		s.filling[i] = s.short(i, wantKWh)
	}
}

// night is what one night was for a car, or for the household: true for it
// where it is for any of its cars.
type night struct{ charged, dear, short bool }

func (n night) with(o night) night {
	return night{n.charged || o.charged, n.dear || o.dear, n.short || o.short}
}

func (n night) count(m *Month) {
	for _, c := range []struct {
		happened bool
		nights   *int
	}{{n.charged, &m.ChargeNights}, {n.dear, &m.DearNights}, {n.short, &m.ShortNights}} {
		if c.happened {
			*c.nights++
		}
	}
}

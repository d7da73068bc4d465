package home

import (
	"cmp"
	"slices"
	"time"

	"ampleway/energy"
)

const (
	noon          = 12 * 60
	minutesPerDay = 24 * 60
)

// rates returns the prices that hold on one date, in the tariff's order.
func (t *Tariff) rates(date time.Time) []energy.Rate {
	var out []energy.Rate
	for _, p := range t.Periods {
		if len(p.Months) > 0 && !slices.Contains(p.Months, date.Month()) {
			continue
		}
		if len(p.Weekdays) > 0 && !slices.Contains(p.Weekdays, date.Weekday()) {
			continue
		}
		out = append(out, p.Rate)
	}
	return out
}

// slot is a stretch of one night at one price.
type slot struct {
	fromMin, toMin int // minutes after noon
	perKWh         float64
	feedKWh        float64 // what the feed has left
}

func (s *slot) hours() float64 { return float64(s.toMin-s.fromMin) / 60 }

// night cuts the 24 hours from noon of date where the price changes and where
// a car comes or goes.
func (h *Household) night(date time.Time) []slot {
	evening := energy.Slots(noon, minutesPerDay-noon, h.Tariff.rates(date), h.Tariff.OtherPerKWh)
	morning := energy.Slots(0, noon, h.Tariff.rates(date.AddDate(0, 0, 1)), h.Tariff.OtherPerKWh)
	var cuts []int
	for i := range h.Cars {
		from, to := h.Cars[i].stay()
		cuts = append(cuts, from, to)
	}
	slices.Sort(cuts)
	var out []slot
	add := func(part []energy.Slot, offset int) {
		for _, s := range part {
			from, to := s.FromMin+offset, s.ToMin+offset
			for _, cut := range cuts {
				if cut > from && cut < to {
					out = append(out, slot{fromMin: from, toMin: cut, perKWh: s.PerKWh})
					from = cut
				}
			}
			out = append(out, slot{fromMin: from, toMin: to, perKWh: s.PerKWh})
		}
	}
	add(evening, 0)
	add(morning, minutesPerDay-noon)
	for i := range out {
		out[i].feedKWh = h.feedKW() * out[i].hours()
	}
	return out
}

func (h *Household) feedKW() float64 {
	if h.FeedKW > 0 {
		return h.FeedKW
	}
	var sum float64
	for i := range h.Cars {
		sum += h.Cars[i].Charge.OutletKW
	}
	return sum
}

// stay returns when the car is at home, in minutes after noon.
func (c *Car) stay() (fromMin, toMin int) { return c.ArriveMin - noon, c.DepartMin + noon }

// purchase is what one car buys in one night.
type purchase struct {
	outletKWh float64
	cost      float64
	dearKWh   float64 // the part above the lowest price of the stay
	own       []float64
}

// buy fills the cheapest slots of the car's stay, the earlier of equal ones,
// with up to needKWh at the outlet on top of what p holds, and takes it from
// the feed.
func (c *Car) buy(slots []slot, p *purchase, needKWh float64) {
	from, to := c.stay()
	if p.own == nil {
		p.own = make([]float64, len(slots))
	}
	var order []int
	for i := range slots {
		if slots[i].fromMin >= from && slots[i].toMin <= to {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(slots[a].perKWh, slots[b].perKWh) })
	least := slots[order[0]].perKWh
	for _, i := range order {
		s := &slots[i]
		kWh := max(0, min(needKWh, s.feedKWh, c.Charge.OutletKW*s.hours()-p.own[i]))
		s.feedKWh -= kWh
		p.own[i] += kWh
		p.outletKWh += kWh
		p.cost += kWh * s.perKWh
		if s.perKWh > least {
			p.dearKWh += kWh
		}
		needKWh -= kWh
	}
}

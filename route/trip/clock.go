package trip

import (
	"slices"
	"time"

	"ampleway/route/stops"
	"ampleway/stations"
	"ampleway/stations/hours"
)

// horizon is how long after departure the clock is followed.
const horizon = 48 * time.Hour

// counts reports whether money is part of the goal.
func (g Goal) countsMoney() bool {
	return g.Objective.Goal == stops.LeastMoney || g.Objective.Goal == stops.TimeAndMoney
}

// periods are the parts of the day at a charger as the planner wants them:
// closed or open by its opening hours and, where time and money count, its
// rates by the hour. Where money alone counts, rates are those of the hour at
// which the car passes: a plan that waits half a day for the cheap hours is no
// use to anyone. It is nil where nothing changes, or without a departure time.
// What is not known to be open counts as closed.
func (d *Drive) periods(c *Charger, g Goal) []stops.Period {
	if g.Depart.IsZero() || g.untimed {
		return nil
	}
	local := inZone(g.Depart, c.Site)
	end := local.Add(horizon)
	cuts := []time.Time{local}
	schedule := openingHours(c.Site)
	if schedule != nil {
		for _, interval := range schedule.Intervals(local, end) {
			cuts = append(cuts, interval.From)
		}
	}
	byHour := g.Objective.Goal == stops.TimeAndMoney && c.Site.Price != nil && len(c.Site.Price.Periods) > 0
	if byHour {
		cuts = append(cuts, rateChanges(c.Site.Price, local, end)...)
	}
	slices.SortFunc(cuts, time.Time.Compare)
	cuts = slices.CompactFunc(cuts, time.Time.Equal)
	out := make([]stops.Period, 0, len(cuts))
	for _, from := range cuts {
		p := stops.Period{
			FromS:  from.Sub(local).Seconds(),
			Closed: schedule != nil && schedule.At(from) != hours.Open,
			Price:  d.plannerPriceAt(c, g, from),
		}
		if n := len(out); n > 0 && out[n-1].Closed == p.Closed && out[n-1].Price == p.Price {
			continue
		}
		out = append(out, p)
	}
	if len(out) == 1 && !out[0].Closed {
		return nil
	}
	return out
}

// openingHours is nil for a site that is always open or says nothing.
func openingHours(s *stations.Site) *hours.Schedule {
	if s.Hours == "" || s.Hours == "24/7" {
		return nil
	}
	schedule, err := hours.Parse(s.Hours)
	if err != nil {
		return &hours.Schedule{} // unknown at every time
	}
	return schedule
}

// rateChanges lists the times of day at which a period of a price may begin or
// end.
func rateChanges(p *stations.Price, from, to time.Time) []time.Time {
	var out []time.Time
	for day := from.AddDate(0, 0, -1); day.Before(to); day = day.AddDate(0, 0, 1) {
		for _, period := range p.Periods {
			for _, c := range []stations.Clock{0, period.From, period.To} {
				at := time.Date(day.Year(), day.Month(), day.Day(), int(c)/60, int(c)%60, 0, 0, from.Location())
				if at.After(from) && at.Before(to) {
					out = append(out, at)
				}
			}
		}
	}
	return out
}

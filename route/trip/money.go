package trip

import (
	"slices"
	"time"

	"ampleway/data/money"
	"ampleway/energy"
	"ampleway/stations"
)

// cost is what a stop is billed: the session at the clock of the plan, split
// where the power crosses a band of the price. It is nil where no price is
// known. Without a departure time the session starts on a Monday noon.
func (p *Plan) cost(s *Stop) *money.Amount {
	price := s.Charger.Site.Price
	if price == nil {
		return nil
	}
	start := p.Drive.passes(s.Charger, p.Goal)
	if at, ok := p.At(s.ArriveS + s.OverheadS); ok {
		start = at
	}
	amount := price.Cost(stations.Session{Start: inZone(start, s.Charger.Site), Draws: draws(s)})
	return &amount
}

func inZone(t time.Time, site *stations.Site) time.Time {
	if zone := stations.Zone(site.Zone); zone != nil {
		return t.In(zone)
	}
	return t
}

// draws cuts a stop's charge into pieces between which the power crosses any
// of the price's bands; within a piece the mean power decides.
func draws(s *Stop) []stations.Draw {
	cuts := []float64{s.ArriveSoC, s.LeaveSoC}
	for _, band := range bands(s.Charger.Site.Price) {
		for _, piece := range s.Charger.Charge.Pieces() {
			soc, ok := crossing(piece.FromSoC, piece.ToSoC, piece.FromKW, piece.ToKW, band)
			if ok && soc > s.ArriveSoC && soc < s.LeaveSoC {
				cuts = append(cuts, soc)
			}
			if piece.FromSoC > s.ArriveSoC && piece.FromSoC < s.LeaveSoC {
				cuts = append(cuts, piece.FromSoC)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []stations.Draw
	for i := 1; i < len(cuts); i++ {
		out = append(out, stations.Draw{
			Minutes:   s.Charger.Charge.TimeS(cuts[i-1], cuts[i]) / 60,
			EnergyKWh: energy.GridKWh((cuts[i] - cuts[i-1]) * s.Charger.Charge.CapacityKWh()),
		})
	}
	return out
}

func bands(p *stations.Price) []float64 {
	var kw []float64
	for _, b := range p.Bands {
		kw = append(kw, b.AboveKW)
	}
	for _, period := range p.Periods {
		for _, b := range period.Bands {
			kw = append(kw, b.AboveKW)
		}
	}
	return kw
}

// crossing is where a straight line reaches a level, if it does.
func crossing(x0, x1, y0, y1, level float64) (float64, bool) {
	if (y0-level)*(y1-level) >= 0 {
		return 0, false
	}
	return x0 + (x1-x0)*(level-y0)/(y1-y0), true
}

// addCosts sums what the stops cost.
func (p *Plan) addCosts() {
	for i := range p.Stops {
		if c := p.Stops[i].Cost; c != nil {
			p.Cost.Add(*c)
		} else {
			p.Cost.AddUnknown()
		}
	}
}

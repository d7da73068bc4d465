package trip

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/data/wording"
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

// Priced is a goal made ready for a drive's money: a fuel car without a
// currency takes that of the stations and, where money counts, the plan does
// not stop where neither the data nor the goal give a price. Plan does so by
// itself; whoever takes a Problem without it must. The error is a *fault.Input
// for prices in currencies without a rate, and for a station without a known
// price that must be stopped at.
func (d *Drive) Priced(g Goal) (Goal, error) { return g.pricedOn(d) }

func (g Goal) pricedOn(drives ...*Drive) (Goal, error) {
	sites := map[string]int{}
	for _, d := range drives {
		for i := range d.Chargers {
			site := d.Chargers[i].Site
			switch {
			case site.Price != nil:
				sites[site.Price.Currency]++
			case g.countsMoney() && g.UnknownPricePerKWh == nil && slices.Contains(g.Must, site.ID):
				return g, &fault.Input{Field: "must", Found: SiteName(site) + ", whose price is not known", Expected: "a price to count it at, where cost counts: --unknown-price (in a request: unknown_price_per_kwh)"}
			}
		}
	}
	currencies := slices.Sorted(maps.Keys(sites))
	g, err := g.fuelled(currencies)
	if err != nil || !g.countsMoney() {
		return g, err
	}
	g.pricedOnly = g.UnknownPricePerKWh == nil
	return g, g.comparable(currencies, sites)
}

// comparable refuses prices in currencies that no rate brings into one.
func (g Goal) comparable(currencies []string, sites map[string]int) error {
	into := g.Rates.Into()
	if into == "" && len(currencies) > 1 {
		into = slices.MaxFunc(currencies, func(a, b string) int { return cmp.Compare(sites[a], sites[b]) })
	}
	for _, code := range currencies {
		if _, ok := g.Rates.Of(code, into); into != "" && !ok {
			return money.NoRate("prices of the stations", currencies, into)
		}
	}
	return nil
}

// worth is what a unit of a currency is worth in the one that counts, and 1
// where no rate says so, which Priced refuses where it matters.
func (g Goal) worth(currency string) float64 {
	worth, ok := g.Rates.Of(currency, g.Rates.Into())
	if !ok {
		return 1
	}
	return worth
}

// unpriced is how many chargers have no known price.
func (d *Drive) unpriced() int {
	n := 0
	for i := range d.Chargers {
		if d.Chargers[i].Site.Price == nil {
			n++
		}
	}
	return n
}

// CostText is what the stops cost, with what had to be left out of it, for the
// end of a sentence.
func (p *Plan) CostText() string {
	text := p.Cost.About("stop")
	if total, ok := p.Cost.One(p.Goal.Rates); ok && len(p.Cost.Amounts()) > 1 {
		text += fmt.Sprintf(" (%s in all, at your rates)", total)
	}
	if n := p.Drive.unpriced(); p.Goal.pricedOnly && n > 0 {
		text += fmt.Sprintf(" (%s without a known price left out)", wording.Count(n, "station"))
	}
	return text
}

// moneyWarning says that stations were left out for want of a price.
func (p *Plan) moneyWarning() string {
	n := p.Drive.unpriced()
	if !p.Goal.pricedOnly || n == 0 {
		return ""
	}
	return fmt.Sprintf("This plan is by cost and stops only where the price is known: %s of %d along this road %s none and %s left out. Another of them may be cheaper; --unknown-price (in a request: unknown_price_per_kwh) counts them at a price of yours.",
		wording.Count(n, "station"), len(p.Drive.Chargers), pick(n == 1, "has", "have"), pick(n == 1, "is", "are"))
}

// moneyAssumptions says in what money the plan was found, where money counts.
func (p *Plan) moneyAssumptions() []string {
	g := p.Goal
	if !g.countsMoney() {
		return nil
	}
	var out []string
	if rates := g.Rates.Text(); rates != "" {
		out = append(out, "Rates: "+rates+", as you stated.")
	}
	if g.UnknownPricePerKWh != nil && p.Drive.unpriced() > 0 {
		out = append(out, fmt.Sprintf("Prices: a kWh where none is known counts as %g in the stations' currency when plans are compared, as you stated; what is shown as the cost leaves it out.", *g.UnknownPricePerKWh))
	}
	return out
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

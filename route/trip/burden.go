package trip

import (
	"fmt"

	"ampleway/data/wording"
	"ampleway/route/stops"
)

// What a stop with few bays, or whose power is only assumed, counts more than
// one with four bays or more whose power is known: the expected wait for a bay,
// or for a charger slower than assumed. Common practice, held against a country's
// fast chargers: about a quarter of them occupied by day, for 25 minutes more on
// average, so that whoever comes to a single bay waits 6 minutes on average.
var fewBaysS = [...]float64{1: 360, 2: 120, 3: 60}

const assumedPowerS = 300.0

// burdenS is what a stop at a charger counts besides its time, s.
func (g Goal) burdenS(c *Charger) float64 {
	if g.StopWorthS == 0 {
		return 0
	}
	burdenS := g.StopWorthS
	if bays := max(c.Bays, 1); bays < len(fewBaysS) {
		burdenS += fewBaysS[bays]
	}
	if c.Offer.Assumed {
		burdenS += assumedPowerS
	}
	return burdenS
}

// burdenText says what a stop counts for in the choice of a plan.
func (g Goal) burdenText() string {
	if g.StopWorthS == 0 {
		return ""
	}
	what := fmt.Sprintf("Choice of stops: one stop fewer may take %s longer. A stop with one bay counts %.0f minutes more, with two bays %.0f, with three %.0f, and one of assumed power %.0f: what waiting there may cost, common practice. None of this is in the times shown.",
		wording.Count(int(g.StopWorthS/60+0.5), "minute"), fewBaysS[1]/60, fewBaysS[2]/60, fewBaysS[3]/60, assumedPowerS/60)
	if g.Objective.Goal == stops.LeastMoney && g.Objective.MoneyPerHour == 0 {
		what += " As money alone counts, and no worth of an hour is given, all this only decides between plans that cost the same."
	}
	return what
}

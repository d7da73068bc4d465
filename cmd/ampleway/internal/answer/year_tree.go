package answer

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/data/money"
	"ampleway/energy/home"
	"ampleway/route/question"
	"ampleway/route/year"
)

// Year is a household's year.
type Year struct{ *year.Result }

// JSON is a *YearDocument.
func (y Year) JSON(o Options) any { return NewYearDocument(y.Result, o.Note) }

// Tree says a year: the share that comes from home first, then what it costs,
// the other ways to do it, the journeys and the months.
func (y Year) Tree(o Options) *Answer {
	r := y.Result
	total := r.Home.Total()
	share, rest := yearHeadline(r)
	name := r.Inputs.Name
	a := &Answer{
		Title: "A year with an electric car: " + name, Number: share, Rest: rest,
		About:       given(fmt.Sprintf("%s, %d, %s. %s", capital(name), r.Inputs.Year, o.Units.Distance(1000*total.Km), yearSummary(r, total)), nightsText(r), o.Note),
		Assumptions: yearAssumptions(r, o.Units), Cautions: YearCautions, Credits: r.Credits(),
	}
	a.Parts = append(a.Parts,
		Part{Only: OnPaper, Figure: &Figure{
			Draw:    func(Medium) []template.HTML { return []template.HTML{monthsChart(r)} },
			Caption: "Energy put into the battery each month. Ordinary driving is charged at home overnight; fast chargers come in when there is a journey.",
		}},
		Part{Title: "The same year in other ways", Table: yearWays(r, o.Units)},
	)
	if len(r.Circuits) > 0 {
		a.Parts = append(a.Parts, Part{Title: "What the circuit at home changes", Table: circuitTable(r), Parts: []Part{{Quiet: []string{comparedNote(r)}}}})
	}
	if circuits := circuitTexts(r, o.Units); len(circuits) > 0 {
		a.Parts = append(a.Parts, Part{Title: "At home", List: circuits, Parts: []Part{{Quiet: []string{continuousText}, Only: OnPaper}}})
	}
	if journeys := journeyTexts(r, o.Units); len(journeys) > 0 {
		a.Parts = append(a.Parts, Part{Title: "Journeys, there and back", List: journeys})
	}
	months := Part{Title: "Month by month", Table: monthTable(r, o.Units)}
	if total.Unpriced > 0 {
		months.Parts = []Part{{Quiet: []string{"? stands for fast stops whose price is not known."}}}
	}
	a.Parts = append(a.Parts, months)
	return a
}

const continuousText = "A breaker may carry 80 % of its rating for hours on end, so a car draws no more than that. “Level 1” is a household outlet of about 120 volts, “level 2” a circuit of 208 to 240 volts of its own."

func monthTable(r *year.Result, u question.Units) *Table {
	t := &Table{Head: []string{"Month", u.DistanceUnit(), "kWh driven", "kWh at home", "kWh fast", "hours fast", r.Inputs.Tariff.Currency}}
	for m, month := range r.Home.Months {
		t.Add(time.Month(m+1).String(), u.Chainage(1000*month.Km), whole(month.DrivenKWh),
			whole(month.HomeBatteryKWh), whole(month.FastKWh), fmt.Sprintf("%.1f", month.FastH), monthCost(month))
	}
	return t
}

// yearHeadline is the first sentence about a year.
func yearHeadline(r *year.Result) (share, rest string) {
	total := r.Home.Total()
	rest = fmt.Sprintf(", and fast chargers take %s", count(int(math.Round(total.FastH)), "hour"))
	if r.Inputs.Invented {
		rest += ", with the weather of the demo, an invented place"
	}
	return homeShare(total) + " of the year's energy comes from home", rest + "."
}

// yearSummary is the year's energy and money in a sentence or two.
func yearSummary(r *year.Result, m home.Month) string {
	text := fmt.Sprintf("%.0f kWh are driven, %.0f kWh drawn from the circuit at home and %.0f kWh billed by fast chargers, for %s in all.",
		m.DrivenKWh, m.HomeOutletKWh, m.FastMeteredKWh, yearCost(r, m))
	if m.HostKWh >= 0.5 {
		text += fmt.Sprintf(" Another %.0f kWh come from plugs at the destinations; their cost is the host's.", m.HostKWh)
	}
	return text
}

// yearCost is what a year or a month costs, with the fast stops of unknown
// price.
func yearCost(r *year.Result, m home.Month) string {
	var sum money.Sum
	if anyPriced(m) {
		sum.Add(money.Of(m.Cost(), r.Inputs.Tariff.Currency))
	}
	for range m.Unpriced {
		sum.AddUnknown()
	}
	return sum.Text("stop")
}

// monthCost is the cost of a month in a table of one currency.
func monthCost(m home.Month) string {
	switch {
	case m.Unpriced == 0:
		return whole(m.Cost())
	case anyPriced(m):
		return whole(m.Cost()) + " + ?"
	}
	return "?"
}

func circuitName(c *year.CircuitYear) string {
	if c.Name != "" {
		return c.Name
	}
	phases := ""
	if c.Circuit.Phases > 1 {
		phases = fmt.Sprintf("%d × ", c.Circuit.Phases)
	}
	return fmt.Sprintf("as it is: %s%.0f V, %.0f A", phases, c.Circuit.VoltageV, c.Circuit.BreakerA)
}

func circuitTable(r *year.Result) *Table {
	t := &Table{Head: []string{"Circuit", "kW", "short nights", "dear nights", "dear kWh", "hours to full", "nights to full"}}
	for i := range r.Circuits {
		t.Add(circuitCells(&r.Circuits[i])...)
	}
	return t
}

func circuitCells(c *year.CircuitYear) []string {
	total := c.Total()
	least, most := math.Inf(1), 0.0
	for _, charge := range c.Charge {
		least, most = math.Min(least, charge.BatteryKW), math.Max(most, charge.BatteryKW)
	}
	kW, nights := fmt.Sprintf("%.1f", most), ""
	if least < most-0.05 {
		kW = fmt.Sprintf("%.1f–%.1f", least, most)
	}
	if c.NightsToFull > 0 {
		nights = fmt.Sprint(c.NightsToFull)
	}
	return []string{circuitName(c), kW, fmt.Sprint(total.ShortNights), fmt.Sprint(total.DearNights), whole(total.DearKWh), fmt.Sprintf("%.0f", math.Ceil(c.HoursToFull-1e-6)), nights}
}

// comparedNote explains the table that tells circuits apart.
func comparedNote(r *year.Result) string {
	text := "Short nights end with a car that is not full by morning: below 80 %, or below 100 % before a journey. " +
		"Dear is what is charged outside the cheapest hours of its night. "
	if len(r.Circuits) > 0 && r.Circuits[0].AfterTrip {
		text += "Hours to full are hours of charging from the emptiest return of a journey up to 80 %, nights the most that it takes with the driving of the days between."
	} else {
		text += "Hours to full are hours of charging from 10 up to 80 %."
	}
	if len(r.Inputs.Cars) > 1 {
		text += " On outlets each car has one of its own; a level 2 circuit is shared."
	}
	return text
}

func homeShare(m home.Month) string {
	share := m.HomeShare()
	if math.IsNaN(share) {
		share = 0
	}
	return percent(share)
}

func whole(x float64) string { return fmt.Sprintf("%.0f", x+0) }

func nightsText(r *year.Result) string {
	total := r.Home.Total()
	if total.ChargeNights == 0 {
		return "No night is spent charging at home."
	}
	text := "There is charging at home on " + count(total.ChargeNights, "night") + " of the year"
	if len(r.Inputs.Tariff.Periods) > 0 {
		enough := "the cheap hours are always enough"
		if total.DearNights > 0 {
			enough = "the cheap hours are not enough on " + count(total.DearNights, "night")
		}
		text += "; " + enough
	}
	if total.ShortNights > 0 {
		text += ", and after " + count(total.ShortNights, "night") + " a car is not full by morning"
	}
	return text + "."
}

func circuitTexts(r *year.Result, u question.Units) []string {
	c := r.Inputs.Household.Circuit
	if c == nil {
		return nil
	}
	var out []string
	for i, car := range r.Simulate.Cars {
		month := car.KWhPer100Km
		const january, july = 0, 6
		phases := ""
		if c.Phases > 1 {
			phases = " on three phases"
		}
		perKM := (month[january] + month[july]) / 2 / 100
		out = append(out, fmt.Sprintf("%s: %.0f V%s and a %.0f A breaker; %.0f A flow (limited by the %s), %.1f kW into the battery, about %s of driving for each hour. Its ordinary driving comes to %s in January and %s in July.",
			capital(r.Inputs.Cars[i].Name), c.VoltageV, phases, c.BreakerA, car.Charge.CurrentA, car.Charge.Limit, car.Charge.BatteryKW,
			u.Distance(1000*car.Charge.BatteryKW/perKM), u.Consumption(month[january]/1e5), u.Consumption(month[july]/1e5)))
	}
	return out
}

func journeyTexts(r *year.Result, u question.Units) []string {
	var out []string
	for i := range r.Journeys {
		j := &r.Journeys[i]
		t := j.Total()
		text := fmt.Sprintf("%s, %s: %s", journeyTimes(j), j.Name, u.Distance(1000*t.KM))
		if len(j.Runs) > 1 {
			text += " in all"
		}
		if j.Level() {
			text += " on the level at " + u.Speed(j.RoadKMH/3.6)
		}
		if t.Stops > 0 {
			text += fmt.Sprintf(" with %s, %.1f hours at %s for %.0f kWh%s", count(t.Stops, "fast stop"), t.FastH, itOrThem(t.Stops), t.FastKWh, journeyCost(t.Cost))
		} else {
			text += " without a fast stop"
		}
		if t.HostKWh >= 0.5 {
			text += fmt.Sprintf(", and %.0f kWh from the plug at the destination", t.HostKWh)
		}
		text += "; back home with "
		if len(j.Runs) > 1 {
			text += "at least "
		}
		out = append(out, text+Arriving(t.ArriveSoC)+".")
	}
	return out
}

func journeyCost(cost money.Sum) string {
	if len(cost.Amounts()) == 0 {
		return ", what they cost being unknown"
	}
	return " and " + cost.Text("stop")
}

func itOrThem(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

// journeyTimes is when a journey is made: “July”, “Three times in July”,
// “Twice over the year”.
func journeyTimes(j *year.Journey) string {
	month := j.Runs[0].Date.Month().String()
	n := len(j.Runs)
	if n == 1 {
		return month
	}
	times := capital(count(n, "time"))
	if n == 2 {
		times = "Twice"
	}
	if j.Month > 0 {
		return times + " in " + month
	}
	return times + " over the year"
}

func yearWays(r *year.Result, u question.Units) *Table {
	journeyStops := 0
	for i := range r.Journeys {
		journeyStops += r.Journeys[i].Total().Stops
	}
	t := &Table{Head: []string{"Way", "from home", "fast hours", "fast stops", "cost"}, Align: "lrrrw"}
	add := func(name string, result *home.Result) {
		m := result.Total()
		t.Add(name, homeShare(m), whole(m.FastH), fmt.Sprint(m.FastVisits+journeyStops), yearCost(r, m))
	}
	for i := range r.Circuits {
		add(circuitName(&r.Circuits[i]), &r.Circuits[i].Result)
	}
	add("no charging at home", &r.FastOnly)
	if f := r.Inputs.Household.Fuel; f != nil {
		t.Add("fuel car, "+fuelUse(f, u), "", "", "", money.Of(r.FuelCost, f.Currency).String())
	}
	return t
}

func fuelUse(f *year.FuelCar, u question.Units) string {
	if u == question.US {
		return fmt.Sprintf("%.1f mpg", f.MPG())
	}
	return fmt.Sprintf("%.1f l/100 km", f.LitresPer100())
}

func fuelPrice(f *year.FuelCar, u question.Units) string {
	if u == question.US {
		return money.Of(f.PerGallon(), f.Currency).String() + " a US gallon"
	}
	return money.Of(f.PerLitre(), f.Currency).String() + " a litre"
}

func monthsChart(r *year.Result) template.HTML {
	c := chart.Months{ID: "months", Title: "Energy by month"}
	for m, month := range r.Home.Months {
		c.Labels[m] = time.Month(m + 1).String()[:3]
		c.HomeKWh[m], c.FastKWh[m] = month.HomeBatteryKWh, month.FastKWh
	}
	total := r.Home.Total()
	c.Description = fmt.Sprintf("Twelve bars of energy charged: %.0f kWh at home and %.0f kWh at fast chargers over the year.", total.HomeBatteryKWh, total.FastKWh)
	return c.SVG()
}

func yearAssumptions(r *year.Result, u question.Units) []string {
	in := r.Inputs
	weather := "Each month's mean weather at " + in.Climate.Place
	if in.Invented {
		weather += ", an invented place of the demo"
	}
	if in.Climate.Still() {
		weather += "; no wind is counted, as it names none"
	}
	out := []string{weather + "; journeys leave with a full battery on a Saturday at nine."}
	if in.Household.Circuit != nil {
		who := "The car charges"
		if len(in.Cars) > 1 {
			who = "The cars charge"
		}
		out = append(out, who+" at night in the cheapest hours, to 80 % on ordinary nights and further before a journey.")
	}
	if c := in.Household.Circuit; c != nil && len(in.Cars) > max(c.Ways, 1) {
		out = append(out, "The cars share one circuit and are plugged in in turn.")
	}
	out = append(out, fastAssumptions(r)...)
	if text := in.Rates.Text(); text != "" {
		out = append(out, "Money in other currencies is counted as stated: "+text+".")
	}
	if in.Tariff.PerDay > 0 {
		out = append(out, fmt.Sprintf("The standing charge of %s a day is not counted: it is paid with or without a car.", money.Of(in.Tariff.PerDay, in.Tariff.Currency)))
	}
	if f := in.Household.Fuel; f != nil {
		out = append(out, fmt.Sprintf("The fuel car drives the same distance at %s.", fuelPrice(f, u)))
	}
	return out
}

// fastAssumptions are those about fast chargers.
func fastAssumptions(r *year.Result) []string {
	in := r.Inputs
	level := slices.ContainsFunc(r.Journeys, func(j year.Journey) bool { return j.Level() })
	when := "on ordinary days"
	if level {
		when = "on ordinary days and on journeys by distance"
	}
	road := slices.ContainsFunc(r.Journeys, func(j year.Journey) bool { return !j.Level() })
	price := "What a kWh costs at a fast charger " + when + " is not known; --fast-price states it."
	if !in.Fast.Unpriced {
		from := "as stated"
		if in.MedianPrice {
			from = "the median of the stations"
		}
		price = fmt.Sprintf("A kWh at a fast charger costs %s %s (%s)", money.Of(in.Fast.PerKWh, in.Tariff.Currency), when, from)
		if road {
			price += "; on roads each station's own price counts"
		}
		price += "."
	}
	var powers []string
	for i := range r.Simulate.Cars {
		if kW := whole(in.Fast.Power(&r.Simulate.Cars[i])); !slices.Contains(powers, kW) {
			powers = append(powers, kW)
		}
	}
	out := []string{price, fmt.Sprintf("Fast charging %s goes at %s kW on average, with %.0f minutes besides for each stop.", when, strings.Join(powers, " or "), 60*in.Fast.BesidesH())}
	if road {
		out = append(out, "Journeys along roads are planned as ampleway trip plans them when nothing else is asked for; ordinary days keep 10 % in the battery.")
	}
	if level {
		out = append(out, "A journey by distance has no road: it is driven on the level at a steady speed, with a fast charger wherever one is needed.")
	}
	return out
}

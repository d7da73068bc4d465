package report

import (
	"bufio"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/data/money"
	"ampleway/energy/home"
	"ampleway/route/question"
	"ampleway/route/year"
)

//go:embed year.html
var yearText string

var yearTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("year").Parse(yearText))
})

// YearHTML writes the sheet an installer hands over: one or two printed pages
// that ask nothing of any network.
func YearHTML(w io.Writer, r *year.Result, o Options) error {
	return yearTemplate().Execute(w, struct {
		*yearView
		CSS template.CSS
	}{newYearView(r, o), template.CSS(SheetCSS())})
}

// yearView is a year in words and rounded figures.
type yearView struct {
	Name, Note, Distance, DistanceUnit, Currency string
	Year                                         int
	Share, Headline, Summary, Nights             string
	Chart                                        template.HTML
	Months                                       []yearRow
	Unpriced                                     string // what “?” in a month means
	Ways                                         []yearRow
	Compared                                     []circuitRow
	ComparedNote                                 string
	Circuits, Journeys, Assumptions, Cautions    []string
	Credits                                      []string
}

// yearRow is a line of a table; what a line does not have is empty.
type yearRow struct {
	Name, Distance, Driven, Home, Fast, Share, Hours, Stops, Cost string
}

// circuitRow is a line of the table that tells circuits apart.
type circuitRow struct {
	Name, KW, ShortNights, DearNights, DearKWh, HoursToFull, NightsToFull string
}

func newYearView(r *year.Result, o Options) *yearView {
	total := r.Home.Total()
	v := &yearView{
		Name: r.Inputs.Name, Note: o.Note, Year: r.Inputs.Year, Currency: r.Inputs.Tariff.Currency,
		Distance: o.Units.Distance(1000 * total.Km), DistanceUnit: o.Units.DistanceUnit(),
		Share: homeShare(total), Cautions: YearCautions, Nights: nightsText(r), Headline: yearHeadline(r),
		Summary: yearSummary(r, total),
		Chart:   monthsChart(r), Circuits: circuitTexts(r, o.Units), Journeys: journeyTexts(r, o.Units),
		ComparedNote: comparedNote(r),
	}
	for m, month := range r.Home.Months {
		v.Months = append(v.Months, yearRow{
			Name: time.Month(m + 1).String(), Distance: o.Units.Chainage(1000 * month.Km), Driven: whole(month.DrivenKWh),
			Home: whole(month.HomeBatteryKWh), Fast: whole(month.FastKWh), Hours: fmt.Sprintf("%.1f", month.FastH), Cost: monthCost(month),
		})
	}
	if total.Unpriced > 0 {
		v.Unpriced = "? stands for fast stops whose price is not known."
	}
	v.Ways = yearWays(r, o.Units)
	for i := range r.Circuits {
		v.Compared = append(v.Compared, newCircuitRow(&r.Circuits[i]))
	}
	v.Assumptions, v.Credits = yearAssumptions(r, o.Units), r.Credits()
	return v
}

// yearHeadline is the first sentence about a year.
func yearHeadline(r *year.Result) string {
	total := r.Home.Total()
	text := fmt.Sprintf("%s of the year's energy comes from home; fast chargers take %s", homeShare(total), count(int(math.Round(total.FastH)), "hour"))
	if r.Inputs.Invented {
		text += ", with the weather of the demo, an invented place"
	}
	return text + "."
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

func newCircuitRow(c *year.CircuitYear) circuitRow {
	total := c.Total()
	least, most := math.Inf(1), 0.0
	for _, charge := range c.Charge {
		least, most = math.Min(least, charge.BatteryKW), math.Max(most, charge.BatteryKW)
	}
	row := circuitRow{
		Name: circuitName(c), KW: fmt.Sprintf("%.1f", most),
		ShortNights: fmt.Sprint(total.ShortNights), DearNights: fmt.Sprint(total.DearNights), DearKWh: whole(total.DearKWh),
		HoursToFull: fmt.Sprintf("%.0f", math.Ceil(c.HoursToFull-1e-6)),
	}
	if least < most-0.05 {
		row.KW = fmt.Sprintf("%.1f–%.1f", least, most)
	}
	if c.NightsToFull > 0 {
		row.NightsToFull = fmt.Sprint(c.NightsToFull)
	}
	return row
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
			capitalFirst(r.Inputs.Cars[i].Name), c.VoltageV, phases, c.BreakerA, car.Charge.CurrentA, car.Charge.Limit, car.Charge.BatteryKW,
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
	times := capitalFirst(count(n, "time"))
	if n == 2 {
		times = "Twice"
	}
	if j.Month > 0 {
		return times + " in " + month
	}
	return times + " over the year"
}

func yearWays(r *year.Result, u question.Units) []yearRow {
	journeyStops := 0
	for i := range r.Journeys {
		journeyStops += r.Journeys[i].Total().Stops
	}
	row := func(name string, result *home.Result) yearRow {
		m := result.Total()
		return yearRow{Name: name, Share: homeShare(m), Hours: whole(m.FastH), Stops: fmt.Sprint(m.FastVisits + journeyStops), Cost: yearCost(r, m)}
	}
	var out []yearRow
	for i := range r.Circuits {
		out = append(out, row(circuitName(&r.Circuits[i]), &r.Circuits[i].Result))
	}
	out = append(out, row("no charging at home", &r.FastOnly))
	if f := r.Inputs.Household.Fuel; f != nil {
		out = append(out, yearRow{Name: "fuel car, " + fuelUse(f, u), Cost: money.Of(r.FuelCost, f.Currency).String()})
	}
	return out
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

// YearText writes a year for a person: the share that comes from home first,
// then what it costs, the other ways to do it, the journeys and the months.
func YearText(w io.Writer, r *year.Result, o Options) error {
	t := &textWriter{w: bufio.NewWriter(w), o: o}
	v := newYearView(r, o)
	t.line("%s", t.strong(v.Headline))
	t.line("")
	t.paragraph(fmt.Sprintf("%s, %d, %s. %s", capitalFirst(v.Name), v.Year, v.Distance, v.Summary))
	t.paragraph(v.Nights)
	if v.Note != "" {
		t.paragraph(v.Note)
	}
	t.line("")
	t.yearTables(v)
	t.list("At home", v.Circuits)
	t.list("Journeys, there and back", v.Journeys)
	t.line("%s", t.strong("Month by month"))
	t.line("%-10s %7s %11s %9s %9s %8s %11s", "", v.DistanceUnit, "kWh driven", "at home", "fast", "fast h", v.Currency)
	for _, m := range v.Months {
		t.line("%-10s %7s %11s %9s %9s %8s %11s", m.Name, m.Distance, m.Driven, m.Home, m.Fast, m.Hours, m.Cost)
	}
	if v.Unpriced != "" {
		t.paragraph(v.Unpriced)
	}
	t.line("")
	t.list("What this rests on", v.Assumptions)
	t.list("Take care", v.Cautions)
	t.list(creditsTitle, v.Credits)
	return t.w.Flush()
}

func (t *textWriter) yearTables(v *yearView) {
	t.line("%s", t.strong("The same year in other ways"))
	t.line("%-30s %9s %7s %11s  %s", "", "from home", "fast h", "fast stops", "cost")
	for _, way := range v.Ways {
		t.line("%-30s %9s %7s %11s  %s", way.Name, way.Share, way.Hours, way.Stops, way.Cost)
	}
	t.line("")
	if len(v.Compared) == 0 {
		return
	}
	t.line("%s", t.strong("What the circuit at home changes"))
	t.line("%-30s %8s %6s %12s %16s", "", "", "short", "dear", "to full")
	t.line("%-30s %8s %6s %6s %5s %8s %7s", "", "kW", "nights", "nights", "kWh", "hours", "nights")
	for _, c := range v.Compared {
		t.line("%-30s %8s %6s %6s %5s %8s %7s", c.Name, c.KW, c.ShortNights, c.DearNights, c.DearKWh, c.HoursToFull, c.NightsToFull)
	}
	t.paragraph(v.ComparedNote)
	t.line("")
}

func capitalFirst(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
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

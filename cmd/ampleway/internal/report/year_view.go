package report

import (
	"bufio"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/energy/home"
	"ampleway/route/trip"
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
	Ways                                         []yearRow
	Circuits, Journeys, Assumptions, Cautions    []string
}

// yearRow is a line of a table; what a line does not have is empty.
type yearRow struct {
	Name, Distance, Driven, Home, Fast, Share, Hours, Stops, Cost string
}

func newYearView(r *year.Result, o Options) *yearView {
	total := r.Home.Total()
	v := &yearView{
		Name: r.Inputs.Name, Note: o.Note, Year: r.Inputs.Year, Currency: r.Inputs.Tariff.Currency,
		Distance: o.Units.Distance(1000 * total.Km), DistanceUnit: o.Units.DistanceUnit(),
		Share: homeShare(total), Cautions: YearCautions, Nights: nightsText(total),
		Headline: fmt.Sprintf("%s of the year's energy comes from home; fast chargers take %s.", homeShare(total), count(int(math.Round(total.FastH)), "hour")),
		Summary: fmt.Sprintf("%.0f kWh are driven, %.0f kWh drawn from the circuit at home and %.0f kWh billed by fast chargers, for %.0f %s in all.",
			total.DrivenKWh, total.HomeOutletKWh, total.FastMeteredKWh, total.Cost(), r.Inputs.Tariff.Currency),
		Chart: monthsChart(r), Circuits: circuitTexts(r, o.Units), Journeys: journeyTexts(r, o.Units),
	}
	for m, month := range r.Home.Months {
		v.Months = append(v.Months, yearRow{
			Name: time.Month(m + 1).String(), Distance: o.Units.Chainage(1000 * month.Km), Driven: whole(month.DrivenKWh),
			Home: whole(month.HomeBatteryKWh), Fast: whole(month.FastKWh), Hours: fmt.Sprintf("%.1f", month.FastH), Cost: whole(month.Cost()),
		})
	}
	v.Ways = yearWays(r)
	v.Assumptions = yearAssumptions(r)
	return v
}

func homeShare(m home.Month) string {
	share := m.HomeShare()
	if math.IsNaN(share) {
		share = 0
	}
	return percent(share)
}

func whole(x float64) string { return fmt.Sprintf("%.0f", x+0) }

func nightsText(total home.Month) string {
	if total.ChargeNights == 0 {
		return "No night is spent charging at home."
	}
	enough := "the cheap hours are always enough"
	if total.DearNights > 0 {
		enough = "the cheap hours are not enough on " + count(total.DearNights, "night")
	}
	text := fmt.Sprintf("The cars charge on %s; %s", count(total.ChargeNights, "night"), enough)
	if total.ShortNights > 0 {
		text += fmt.Sprintf(", and %s below the usual level", mornings(total.ShortNights))
	}
	return text + "."
}

func circuitTexts(r *year.Result, u trip.Units) []string {
	c := r.Inputs.Household.Circuit
	if c == nil {
		return nil
	}
	var out []string
	for i, car := range r.Simulate.Cars {
		month := car.KWhPer100Km
		const january, july = 0, 6
		perKM := (month[january] + month[july]) / 2 / 100
		out = append(out, fmt.Sprintf("%s: %.0f V and a %.0f A breaker; %.0f A flow (limited by the %s), %.1f kW into the battery, about %s of driving for each hour. %s in January, %s in July.",
			capitalFirst(r.Inputs.Cars[i].Name), c.VoltageV, c.BreakerA, car.Charge.CurrentA, car.Charge.Limit, car.Charge.BatteryKW,
			u.Distance(1000*car.Charge.BatteryKW/perKM), u.Consumption(month[january]/1e5), u.Consumption(month[july]/1e5)))
	}
	return out
}

func journeyTexts(r *year.Result, u trip.Units) []string {
	var out []string
	for _, j := range r.Journeys {
		out = append(out, fmt.Sprintf("%s, %s: %s with %s, %.1f hours at them for %.0f kWh and %.0f %s; back home with %s.",
			time.Month(j.Month), j.Name, u.Distance(1000*j.KM), count(j.Stops, "fast stop"), j.FastH, j.FastKWh, j.Cost, r.Inputs.Tariff.Currency, Arriving(j.ArriveSoC)))
	}
	return out
}

func yearWays(r *year.Result) []yearRow {
	var out []yearRow
	journeyStops := 0
	for _, j := range r.Journeys {
		journeyStops += j.Stops
	}
	for _, way := range []struct {
		name   string
		result *home.Result
	}{{"as it is", &r.Home}, {"on a level 1 outlet", &r.Level1}, {"no charging at home", &r.FastOnly}} {
		m := way.result.Total()
		out = append(out, yearRow{Name: way.name, Share: homeShare(m), Hours: whole(m.FastH), Stops: fmt.Sprint(m.FastVisits + journeyStops), Cost: whole(m.Cost())})
	}
	if f := r.Inputs.Household.Fuel; f != nil {
		out = append(out, yearRow{Name: fmt.Sprintf("fuel car, %.1f l/100 km", f.LitresPer100KM), Cost: whole(r.FuelCost)})
	}
	return out
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
	t.yearTable(v)
	t.list("At home", v.Circuits)
	t.list("Journeys, there and back", v.Journeys)
	t.line("%s", t.strong("Month by month"))
	t.line("%-10s %7s %11s %9s %9s %8s %7s", "", v.DistanceUnit, "kWh driven", "at home", "fast", "fast h", v.Currency)
	for _, m := range v.Months {
		t.line("%-10s %7s %11s %9s %9s %8s %7s", m.Name, m.Distance, m.Driven, m.Home, m.Fast, m.Hours, m.Cost)
	}
	t.line("")
	t.list("What this rests on", v.Assumptions)
	t.list("Take care", v.Cautions)
	return t.w.Flush()
}

func (t *textWriter) yearTable(v *yearView) {
	t.line("%s", t.strong("The same year in other ways"))
	t.line("%-26s %10s %8s %11s %8s", "", "from home", "fast h", "fast stops", v.Currency)
	for _, way := range v.Ways {
		t.line("%-26s %10s %8s %11s %8s", way.Name, way.Share, way.Hours, way.Stops, way.Cost)
	}
	t.line("")
}

func capitalFirst(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

func mornings(n int) string {
	if n == 1 {
		return "one morning begins"
	}
	return count(n, "morning") + " begin"
}

func yearAssumptions(r *year.Result) []string {
	currency := r.Inputs.Tariff.Currency
	out := []string{
		fmt.Sprintf("Each month's mean weather at %s; journeys leave with a full battery on a second Saturday at nine.", r.Inputs.Climate.Place),
		"The cars charge at night in the cheapest hours, to 80 % on ordinary nights and further before a journey.",
		fmt.Sprintf("A kWh at a fast charger costs %.2f %s on ordinary days; on journeys each station's own price counts.", r.Inputs.Fast.PerKWh, currency),
	}
	if r.Inputs.Tariff.PerDay > 0 {
		out = append(out, fmt.Sprintf("The standing charge of %.2f %s a day is not counted: it is paid with or without a car.", r.Inputs.Tariff.PerDay, currency))
	}
	if f := r.Inputs.Household.Fuel; f != nil {
		out = append(out, fmt.Sprintf("The fuel car drives the same distance at %.2f %s a litre.", f.PricePerLitre, f.Currency))
	}
	return out
}

package report

import (
	"bufio"
	"fmt"
	"io"

	"ampleway/data/wording"
	"ampleway/route/trip"
)

// ComparisonFormat names the JSON form of a comparison and its version.
const ComparisonFormat = "ampleway-trip-comparison/1"

// ComparisonDocument is one trip for several cars or days.
type ComparisonDocument struct {
	Format   string         `json:"format" jsonschema:"enum=ampleway-trip-comparison/1" jsonschema_description:"name and version of this form"`
	Note     string         `json:"note,omitempty" jsonschema_description:"a sentence about the input, such as that it is invented"`
	Route    string         `json:"route" jsonschema_description:"name of the route"`
	LengthKM float64        `json:"length_km" jsonschema:"minimum=0" jsonschema_description:"of the road, without detours"`
	Cases    []CaseDocument `json:"cases" jsonschema:"minItems=1"`
	Cautions []string       `json:"cautions"`
	Credits  []string       `json:"credits" jsonschema_description:"whose data this is made from, under which licence, for people; to be shown with it"`
}

// CaseDocument is one car on one day.
type CaseDocument struct {
	Car         string   `json:"car" jsonschema_description:"name of the car"`
	TempC       float64  `json:"temp_c"`
	Possible    bool     `json:"possible" jsonschema_description:"false: this trip cannot be made; why_not says why, and what follows is absent"`
	WhyNot      string   `json:"why_not,omitempty"`
	DrivingMin  float64  `json:"driving_min,omitempty" jsonschema:"minimum=0" jsonschema_description:"with the detours"`
	ChargingMin float64  `json:"charging_min,omitempty" jsonschema:"minimum=0" jsonschema_description:"time in which power flows; absent without a stop"`
	OffRoadMin  float64  `json:"off_road_min,omitempty" jsonschema:"minimum=0" jsonschema_description:"dwell of all stops; absent without a stop"`
	LeastSoCPct float64  `json:"least_soc_pct,omitempty" jsonschema:"minimum=0,maximum=100" jsonschema_description:"lowest anywhere on the trip"`
	ToEmptyPct  float64  `json:"to_empty_pct,omitempty" jsonschema_description:"consumption may be this much above the estimate before the battery is empty on some leg; 1000 stands for more"`
	PerKM       float64  `json:"consumption_kwh_per_100km,omitempty"`
	Plan        *Outline `json:"plan,omitempty"`
}

// Comparison writes cases in a format: text, json or csv.
func Comparison(w io.Writer, format string, cases []trip.Compared, o Options) error {
	d := newComparison(cases, o)
	switch format {
	case "json":
		return writeJSON(w, d)
	case "csv":
		return comparisonCSV(w, d)
	}
	return comparisonText(w, cases, d, o)
}

// ComparisonFormats lists what Comparison takes.
func ComparisonFormats() []string { return []string{"text", "json", "csv"} }

func newComparison(cases []trip.Compared, o Options) *ComparisonDocument {
	d := &ComparisonDocument{Format: ComparisonFormat, Note: o.Note, Cautions: trip.Cautions}
	drives, lengthM := cases[0].Journey.Drives, 0.0
	for _, drive := range drives {
		lengthM += drive.Profile.LengthM()
	}
	d.Route, d.LengthKM = journeyName(drives), km(lengthM)
	var plans []*trip.Plan
	for i := range cases {
		d.Cases = append(d.Cases, caseDocument(&cases[i]))
		if p := cases[i].Plan; p != nil {
			plans = append(plans, p.Plans...)
		}
	}
	d.Credits = trip.Credits(plans...)
	return d
}

// wholeOf is a journey as if it were one drive, the stays in its time.
func wholeOf(j *trip.JourneyPlan) *trip.Plan {
	whole := *lastDrive(j)
	if len(j.Plans) == 1 {
		return &whole
	}
	whole.TimeS = visitS(j)
	whole.DistanceM, whole.DriveS, whole.ChargeS, whole.DrivenKWh, whole.Cost, whole.Stops = 0, 0, 0, 0, visitCost(j), nil
	for _, p := range j.Plans {
		whole.DistanceM += p.DistanceM
		whole.DriveS += p.DriveS
		whole.ChargeS += p.ChargeS
		whole.DrivenKWh += p.DrivenKWh
		whole.LeastSoC = min(whole.LeastSoC, p.LeastSoC)
		whole.Headroom, whole.ToEmpty = min(whole.Headroom, p.Headroom), min(whole.ToEmpty, p.ToEmpty)
		whole.Stops = append(whole.Stops, p.Stops...)
	}
	return &whole
}

func caseDocument(c *trip.Compared) CaseDocument {
	out := CaseDocument{Car: c.Car.Name, TempC: round(c.Ask.TempC, 2)}
	if c.Plan == nil {
		out.WhyNot = c.NoPlan.Error()
		return out
	}
	p := wholeOf(c.Plan)
	o := outline(p)
	out.Possible, out.Plan = true, &o
	out.DrivingMin, out.ChargingMin, out.OffRoadMin = minutes(p.DriveS), minutes(p.ChargeS), minutes(dwellS(p))
	out.LeastSoCPct, out.ToEmptyPct = pct(p.LeastSoC), headroomPct(p.ToEmpty)
	out.PerKM = round(1e5*p.DrivenKWh/p.DistanceM, 3)
	return out
}

func comparisonText(w io.Writer, cases []trip.Compared, d *ComparisonDocument, o Options) error {
	t := &textWriter{w: bufio.NewWriter(w), o: o}
	t.line("%s", t.strong(fmt.Sprintf("%s, %s, %s", d.Route, o.Units.Distance(1000*d.LengthKM), "planned "+count(len(cases), "time"))))
	if d.Note != "" {
		t.paragraph(d.Note)
	}
	t.line("")
	t.line("%-20s %7s %10s %6s %9s %7s %7s  %s", "", "", "in all", "stops", "off road", "arrive", "lowest", "uses")
	for i := range cases {
		c := &cases[i]
		name, temp := clip(c.Car.Name, 20), o.Units.Temperature(c.Ask.TempC)
		if c.Plan == nil {
			t.line("%-20s %7s  not possible", name, temp)
			continue
		}
		p := wholeOf(c.Plan)
		t.line("%-20s %7s %10s %6d %9s %7s %7s  %s", name, temp, span(p.TimeS), len(p.Stops), span(dwellS(p)),
			Arriving(p.ArriveSoC), Arriving(p.LeastSoC), o.Units.Consumption(p.DrivenKWh/p.DistanceM))
	}
	t.line("")
	for i := range cases {
		if n := cases[i].NoPlan; n != nil {
			t.paragraph(fmt.Sprintf("%s at %s: %s %s", cases[i].Car.Name, o.Units.Temperature(cases[i].Ask.TempC), n.Whole(o.Units), n.RemedyText(o.Units)))
			t.line("")
		}
	}
	t.list("Take care", trip.Cautions)
	t.list(creditsTitle, d.Credits)
	return t.w.Flush()
}

func comparisonCSV(w io.Writer, d *ComparisonDocument) error {
	rows := [][]string{{"car", "temp_c", "possible", "duration_min", "driving_min", "charging_min", "off_road_min", "stops", "arrive_soc_pct", "least_soc_pct", "headroom_pct", "to_empty_pct", "consumption_kwh_per_100km", "why_not"}}
	for _, k := range d.Cases {
		row := []string{wording.Cell(k.Car), number(k.TempC), fmt.Sprint(k.Possible), "", "", "", "", "", "", "", "", "", "", k.WhyNot}
		if k.Possible {
			copy(row[3:], []string{
				number(k.Plan.DurationMin), number(k.DrivingMin), number(k.ChargingMin), number(k.OffRoadMin), fmt.Sprint(len(k.Plan.Stops)),
				number(k.Plan.ArrivalSoCPct), number(k.LeastSoCPct), number(k.Plan.HeadroomPct), number(k.ToEmptyPct), number(k.PerKM),
			})
		}
		rows = append(rows, row)
	}
	return writeCSV(w, rows)
}

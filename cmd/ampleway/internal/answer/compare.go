package answer

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/wording"
	"ampleway/route/question"
	"ampleway/route/trip"
)

// ComparisonFormat names the JSON form of a comparison and its version.
const ComparisonFormat = "ampleway-comparison/1"

// Comparison is one journey for several cars, or with several figures.
type Comparison []trip.Compared

// ComparisonDocument is a comparison as JSON.
type ComparisonDocument struct {
	Format   string         `json:"format" jsonschema:"enum=ampleway-comparison/1" jsonschema_description:"name and version of this form"`
	Note     string         `json:"note,omitempty" jsonschema_description:"a sentence about the input, such as that it is invented"`
	Name     string         `json:"name" jsonschema_description:"where the journey leads"`
	Cases    []CaseDocument `json:"cases" jsonschema:"minItems=1"`
	Cautions []string       `json:"cautions"`
	Credits  []string       `json:"credits" jsonschema_description:"whose data this is made from, under which licence, for people; to be shown with it"`
}

// CaseDocument is one case of a comparison.
type CaseDocument struct {
	Car     string         `json:"car" jsonschema_description:"name of the car"`
	Asked   map[string]any `json:"asked" jsonschema_description:"the figures that differ between the cases, by their keys in a question"`
	WhyNot  string         `json:"why_not,omitempty" jsonschema_description:"why this journey cannot be made"`
	Journey *ShortJourney  `json:"journey" jsonschema:"oneof_type=object;null" jsonschema_description:"null: it cannot be made"`
}

// ShortJourney is a journey in short.
type ShortJourney struct {
	Short
	Drives []OutlineDrive `json:"drives"`
}

// OutlineDrive is a drive in short.
type OutlineDrive struct {
	Route string        `json:"route"`
	Stops []OutlineStop `json:"stops"`
}

// Journeys are the cases that can be made.
func (c Comparison) Journeys() []Journey {
	var out []Journey
	for i := range c {
		if plan := c[i].Plan; plan != nil {
			out = append(out, Journey{JourneyPlan: plan, Case: i + 1})
		}
	}
	return out
}

func (c Comparison) plans() (out []*trip.Plan) {
	for _, j := range c.Journeys() {
		out = append(out, j.Plans...)
	}
	return out
}

// differing are the rows of the question whose figures differ.
func (c Comparison) differing() []question.Row {
	return slices.DeleteFunc(slices.Clone(question.Rows()), func(r question.Row) bool {
		return !slices.ContainsFunc(c, func(k trip.Compared) bool { return !slices.Equal(r.Get(&k.Ask), r.Get(&c[0].Ask)) })
	})
}

// JSON is a *ComparisonDocument.
func (c Comparison) JSON(o Options) any {
	d := &ComparisonDocument{Format: ComparisonFormat, Note: o.Note, Name: journeyName(c[0].Journey.Drives), Cautions: c.cautions(), Credits: trip.Credits(c.plans()...)}
	for i := range c {
		k := &c[i]
		out := CaseDocument{Car: k.Car.Name, Asked: map[string]any{}}
		for _, r := range c.differing() {
			out.Asked[r.Key] = r.Value(&k.Ask)
		}
		if k.Plan == nil {
			out.WhyNot = k.NoPlan.Error()
		} else {
			out.Journey = shortJourney(Journey{JourneyPlan: k.Plan})
		}
		d.Cases = append(d.Cases, out)
	}
	return d
}

func shortJourney(j Journey) *ShortJourney {
	out := &ShortJourney{Short: short(j)}
	for _, p := range j.Plans {
		out.Drives = append(out.Drives, OutlineDrive{p.Drive.Corridor.Route.Name, outline(p).Stops})
	}
	return out
}

// cautions are those of the journeys, each said once.
func (c Comparison) cautions() []string {
	out := slices.Clone(trip.Cautions)
	for _, j := range c.Journeys() {
		for _, text := range cautions(j) {
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// List is a row a case.
func (c Comparison) List(Options) [][]string {
	rows := c.differing()
	head := []string{"case", "car"}
	for _, r := range rows {
		head = append(head, r.Key)
	}
	figures := []string{"distance_km", "duration_min", "driving_min", "charging_min", "off_road_min", "stop_count", "reach_pct", "least_pct", "headroom_pct", "to_empty_pct", "driven_kwh"}
	out := [][]string{append(append(head, figures...), "why_not")}
	for i := range c {
		k := &c[i]
		row := []string{strconv.Itoa(i + 1), wording.Cell(k.Car.Name)}
		for _, r := range rows {
			x, _ := r.Number(&k.Ask)
			row = append(row, number(x))
		}
		if k.Plan == nil {
			row = append(append(row, make([]string, len(figures))...), k.NoPlan.Error())
		} else {
			s := short(Journey{JourneyPlan: k.Plan})
			row = append(row, number(s.DistanceKM), number(s.DurationMin), number(s.DrivingMin), number(s.ChargingMin), number(s.OffRoadMin), strconv.Itoa(s.StopCount),
				number(s.ReachPct), number(s.LeastPct), number(s.HeadroomPct), number(s.ToEmptyPct), number(s.DrivenKWh), "")
		}
		out = append(out, row)
	}
	return out
}

// Tree says a comparison: one table, then each journey.
func (c Comparison) Tree(o Options) *Answer {
	a := &Answer{Title: journeyName(c[0].Journey.Drives), About: given(o.Note), Cautions: c.cautions(), Credits: trip.Credits(c.plans()...)}
	a.Number, a.Rest = comparisonHeadline(c)
	rows := c.differing()
	table := &Table{Head: comparisonHead(rows, o.Units)}
	a.Parts = []Part{{Table: table}}
	for i := range c {
		k := &c[i]
		cells := []string{fmt.Sprintf("%d  %s", i+1, k.Car.Name)}
		for _, r := range rows {
			cells = append(cells, asked(r, &k.Ask, o.Units))
		}
		said := Part{Class: "step", Mark: strconv.Itoa(i + 1), Title: k.Car.Name}
		if k.Plan == nil {
			cells = append(cells, "not possible")
			said.Text = []string{k.NoPlan.Whole(o.Units) + " " + k.NoPlan.RemedyText(o.Units)}
		} else {
			j := Journey{JourneyPlan: k.Plan}
			cells = append(cells, caseFigures(j, o.Units)...)
			number, rest := headline(j)
			said.Text = append([]string{strong(number) + rest}, stopsText(j)...)
			all := warnings(j, o.Units)
			said.List = all[:min(len(all), mostFirst)]
		}
		table.Add(cells...)
		a.Parts = append(a.Parts, said)
	}
	return a
}

// caseFigures are those of the table.
func caseFigures(j Journey, u question.Units) []string {
	s, cost := short(j), j.cost()
	const kmM = 1000.0
	uses, _, _ := strings.Cut(u.Consumption(s.DrivenKWh/(kmM*s.DistanceKM)), " ")
	return []string{span(j.timeS()), strconv.Itoa(s.StopCount), Arriving(j.last().ArriveSoC), margin(s.HeadroomPct / 100), uses, cost.Text("stop")}
}

// extremes are the shortest and the longest of the journeys.
func (c Comparison) extremes() (shortestS, longestS float64) {
	shortestS = math.Inf(1)
	for _, j := range c.Journeys() {
		shortestS, longestS = min(shortestS, j.timeS()), max(longestS, j.timeS())
	}
	return shortestS, longestS
}

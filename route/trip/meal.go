package trip

import (
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/route/stops"
)

// Meal is a rest that a plan must contain, at a charger, so that it charges
// meanwhile: LeastS seconds at a stretch, begun between two times of day.
type Meal struct {
	LeastS         float64
	FromMin, ToMin int // minutes after midnight, local time of departure
}

// ParseMeal reads "12:00-13:30 45m".
func ParseMeal(text string) (Meal, error) {
	bad := &fault.Input{Field: "meal", Found: text, Expected: `a time of day to begin in and a length, such as "12:00-13:30 45m"`}
	window, length, ok := strings.Cut(strings.TrimSpace(text), " ")
	if !ok {
		return Meal{}, bad
	}
	span, err := time.ParseDuration(strings.TrimSpace(length))
	if err != nil || span <= 0 || span > 12*time.Hour {
		return Meal{}, bad
	}
	m := Meal{LeastS: span.Seconds()}
	if m.FromMin, m.ToMin, ok = parseHours(window); !ok || m.ToMin <= m.FromMin {
		return Meal{}, bad
	}
	return m, nil
}

// parseHours reads "12:00-13:30" as minutes after midnight.
func parseHours(text string) (fromMin, toMin int, ok bool) {
	from, to, ok := strings.Cut(text, "-")
	if !ok {
		return 0, 0, false
	}
	a, err1 := time.Parse("15:04", strings.TrimSpace(from))
	b, err2 := time.Parse("15:04", strings.TrimSpace(to))
	const hour = 60
	return a.Hour()*hour + a.Minute(), b.Hour()*hour + b.Minute(), err1 == nil && err2 == nil
}

// rest puts a meal on the planner's clock; the zero Rest where there is none.
func (g Goal) rest(chargers int) stops.Rest {
	if g.Meal.LeastS == 0 || g.Depart.IsZero() || chargers == 0 {
		return stops.Rest{}
	}
	y, m, d := g.Depart.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, g.Depart.Location())
	after := func(minutes int) float64 {
		return midnight.Add(time.Duration(minutes) * time.Minute).Sub(g.Depart).Seconds()
	}
	return stops.Rest{LeastS: g.Meal.LeastS, FromS: after(g.Meal.FromMin), ToS: after(g.Meal.ToMin)}
}

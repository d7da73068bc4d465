package trip

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"ampleway/data/fault"
	"ampleway/data/wording"
	"ampleway/route/stops"
	"ampleway/stations"
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
	return stops.Rest{LeastS: g.Meal.LeastS, FromS: after(g.Meal.FromMin), ToS: after(g.Meal.ToMin), Brief: g.brief}
}

// noFoodS is what a meal at a station without known food counts: a station with
// food is preferred where it takes no longer than this in addition, s.
const noFoodS = 300.0

// mealBurdenS is what a meal at a charger counts besides the stop, s.
func (g Goal) mealBurdenS(c *Charger) float64 {
	if g.Meal.LeastS == 0 || ServesFood(c.Site) {
		return 0
	}
	return noFoodS
}

// foodWords are the words of amenities, in the sources' terms, where one can eat.
var foodWords = []string{
	"food", "restaurant", "restaurants", "cafe", "café", "cafeteria", "canteen", "bistro", "diner", "inn", "pub", "bakery", "bar",
}

// ServesFood reports whether the data name something to eat at a site.
func ServesFood(site *stations.Site) bool {
	return slices.ContainsFunc(site.Amenities, func(amenity string) bool {
		words := strings.FieldsFunc(strings.ToLower(amenity), func(r rune) bool { return !unicode.IsLetter(r) })
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(foodWords, w) })
	})
}

// MealText says what is to be known of the meal at stop i; it is empty where
// none is had there.
func (p *Plan) MealText(i int) string {
	s := &p.Stops[i]
	if !s.Meal {
		return ""
	}
	from, _ := p.At(s.MealFromS)
	text := fmt.Sprintf("The meal is here, from %s to %s or later", from.Format("15:04"), from.Add(seconds(p.Goal.Meal.LeastS)).Format("15:04"))
	if ServesFood(s.Charger.Site) {
		return text + "; there is food."
	}
	if !slices.ContainsFunc(p.Drive.Chargers, func(c Charger) bool { return ServesFood(c.Site) }) {
		return text + ". No station on the way is known to have food: bring something to eat."
	}
	return text + fmt.Sprintf(". No food is known here, and no station with food was found where the meal %s: bring something to eat.", p.Goal.foodCosts())
}

// foodCosts is what is given for a station with food.
func (g Goal) foodCosts() string {
	if g.Objective.Goal == stops.LeastMoney && g.Objective.MoneyPerHour == 0 {
		return "costs no more"
	}
	return fmt.Sprintf("takes at most %.0f minutes more", noFoodS/60)
}

// waitShare is the share of the cost of a trip that an hour counts where money
// alone was asked for and a meal can mean waiting.
const waitShare = 0.05

// countWaiting puts a small worth on time where money alone counts: else a plan
// waits for hours at a station for its meal because it is a few cents cheaper.
func (d *Drive) countWaiting(planner *stops.Planner, g Goal) Goal {
	if g.Meal.LeastS == 0 || g.Objective.Goal != stops.LeastMoney {
		return g
	}
	free := g
	free.Meal = Meal{}
	var cheapest stops.Plan
	if err := planner.Solve(d.untimed(free, nil), &cheapest); err != nil {
		return g
	}
	g.waitPerHour = waitShare * cheapest.Money
	g.Objective = stops.Objective{Goal: stops.TimeAndMoney, MoneyPerHour: math.Max(g.waitPerHour, g.Objective.MoneyPerHour)}
	return g
}

// mealAssumption says how the place of the meal is chosen.
func (p *Plan) mealAssumption() string {
	g := &p.Goal
	if g.Meal.LeastS == 0 {
		return ""
	}
	waiting := ""
	if g.waitPerHour > 0 {
		waiting = fmt.Sprintf(" An hour counts %.2f%s in the choice, so that the plan does not wait for hours to save a little.", g.Objective.MoneyPerHour, p.currency())
	}
	clock := func(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }
	return fmt.Sprintf("Meal: %s at a stop, begun between %s and %s; a station that is known to have food is chosen where the meal there %s.%s",
		wording.Count(int(math.Round(g.Meal.LeastS/60)), "minute"), clock(g.Meal.FromMin), clock(g.Meal.ToMin), g.foodCosts(), waiting)
}

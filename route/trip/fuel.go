package trip

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ampleway/data/fault"
	"ampleway/data/money"
	"ampleway/route/question"
)

// FuelCar is what a trip is compared with: the same road in a car that burns
// fuel.
type FuelCar struct {
	LitresPer100KM float64
	PerLitre       float64 // price of a litre
	Currency       string  // empty: that of the stations
	Text           string  // as it was given
}

const litresPerGallon = 3.785411784 // question.US gallon, exact

// ParseFuelCar reads a consumption with its unit, the price of a litre or of a
// question.US gallon, and a currency if that is not the stations': "6.8 l/100km 1.72",
// "32 mpg 3.40 USD". The error is a *fault.Input.
func ParseFuelCar(text string) (*FuelCar, error) {
	bad := &fault.Input{Field: "fuel_car", Found: text, Expected: `a consumption and the price of fuel, such as "6.8 l/100km 1.72 EUR" or "32 mpg 3.40 USD" (US gallons)`}
	words := strings.Fields(text)
	if len(words) == 4 {
		if !money.IsCurrency(words[3]) {
			return nil, bad
		}
	} else if len(words) != 3 {
		return nil, bad
	}
	use, errUse := strconv.ParseFloat(words[0], 64)
	price, errPrice := strconv.ParseFloat(words[2], 64)
	if errUse != nil || errPrice != nil || !(price >= 0 && price < 1e6) {
		return nil, bad
	}
	f := &FuelCar{Text: strings.Join(words[:2], " "), LitresPer100KM: use, PerLitre: price}
	switch strings.ToLower(words[1]) {
	case "l/100km":
	case "mpg":
		f.LitresPer100KM, f.PerLitre = 100000*litresPerGallon/question.MetresPerMile/use, price/litresPerGallon
	default:
		return nil, bad
	}
	if len(words) == 4 {
		f.Currency = words[3]
	}
	if !(f.LitresPer100KM >= 1 && f.LitresPer100KM <= 100) {
		return nil, bad
	}
	return f, nil
}

// fuelled gives a fuel car without a currency that of the stations.
func (g Goal) fuelled(currencies []string) (Goal, error) {
	if g.Fuel == nil || g.Fuel.Currency != "" {
		return g, nil
	}
	if len(currencies) != 1 {
		found := "no currency, and no station with a price"
		if len(currencies) > 1 {
			found = "no currency, and stations with prices in " + strings.Join(currencies, " and ")
		}
		return g, &fault.Input{Field: "fuel_car", Found: found, Expected: "the currency of the fuel's price after it, such as 1.72 EUR"}
	}
	f := *g.Fuel
	f.Currency = currencies[0]
	g.Fuel = &f
	return g, nil
}

// FuelCost is what the fuel for the same road costs, without the detours to
// stations, and false where no fuel car was named.
func (p *Plan) FuelCost() (cost money.Amount, litres float64, ok bool) {
	f := p.Goal.Fuel
	if f == nil {
		return money.Amount{}, 0, false
	}
	litres = f.LitresPer100KM * p.Drive.Profile.LengthM() / 1e5
	return money.Of(litres*f.PerLitre, f.Currency), litres, true
}

// FuelMore is how much more the fuel costs than the charging on the way, and
// false where the two cannot be compared.
func (p *Plan) FuelMore() (money.Amount, bool) {
	cost, _, ok := p.FuelCost()
	if !ok {
		return money.Amount{}, false
	}
	if p.Cost.IsZero() {
		return cost, true
	}
	var fuel money.Sum
	fuel.Add(cost)
	return fuel.Minus(p.Cost, p.Goal.Rates)
}

// FuelText compares the trip with a fuel car in one sentence, empty where none
// was named.
func (p *Plan) FuelText(u question.Units) string {
	cost, litres, ok := p.FuelCost()
	if !ok {
		return ""
	}
	amount := fmt.Sprintf("%.0f litres", litres)
	if u == question.US {
		amount = fmt.Sprintf("%.1f gallons", litres/litresPerGallon)
	}
	text := fmt.Sprintf("A fuel car (%s) would take %s for %s on the same road", p.Goal.Fuel.Text, amount, cost)
	more, comparable := p.FuelMore()
	switch {
	case !comparable && p.Cost.Unknown() > 0:
		return text + "; what the charging on the way costs is not wholly known."
	case !comparable:
		return text + "; to set it against the charging on the way takes a rate between their currencies, such as --rate JPY=0.0061EUR (in a request: rates)."
	case more.WrittenAsNothing():
		text += ", as much as the charging on the way"
	default:
		text += fmt.Sprintf(", %s %s than the charging on the way", more.Abs(), pick(more.Micros > 0, "more", "less"))
	}
	if home := p.DrivenKWh - p.ChargedKWh; home >= 0.5 {
		text += fmt.Sprintf("; the %.0f kWh that the battery gives from before the start are not counted", math.Round(home))
	}
	return text + "."
}

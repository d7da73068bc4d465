package money

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Rates are what a user says that other currencies are worth in one, which all
// of them name. The zero value has none.
type Rates struct {
	into string
	of   map[string]float64 // one unit of the key is worth so much of into
}

// ParseRates reads rates such as "JPY=0.0061EUR": one JPY is worth 0.0061 EUR.
// The error is a *fault.Input for a text of another form, a currency given
// twice, and rates into more than one currency. A text may hold several, parted
// by commas.
func ParseRates(texts []string) (Rates, error) {
	r := Rates{of: map[string]float64{}}
	for _, text := range splitAll(texts) {
		from, value, into, ok := parseRate(text)
		if !ok {
			return Rates{}, &fault.Input{Field: "rate", Found: text, Expected: "what one unit of a currency is worth in another, such as JPY=0.0061EUR"}
		}
		if _, twice := r.of[from]; twice {
			return Rates{}, &fault.Input{Field: "rate", Found: "two rates for " + from, Expected: "one"}
		}
		if r.into != "" && r.into != into {
			return Rates{}, &fault.Input{Field: "rate", Found: fmt.Sprintf("rates into %s and %s", r.into, into), Expected: "all rates into one currency, the one that everything is counted in"}
		}
		r.into, r.of[from] = into, value
	}
	if _, circle := r.of[r.into]; circle {
		return Rates{}, &fault.Input{Field: "rate", Found: "a rate of " + r.into + ", which the others are counted in", Expected: "rates of other currencies"}
	}
	return r, nil
}

func splitAll(texts []string) (out []string) {
	for _, text := range texts {
		out = append(out, strings.Split(text, ",")...)
	}
	return out
}

func parseRate(text string) (from string, value float64, into string, ok bool) {
	from, rest, ok := strings.Cut(strings.ReplaceAll(text, " ", ""), "=")
	if !ok || len(rest) < 4 {
		return "", 0, "", false
	}
	rest, into = rest[:len(rest)-3], rest[len(rest)-3:]
	value, err := strconv.ParseFloat(rest, 64)
	sane := err == nil && value > 1e-12 && value < 1e12
	return from, value, into, sane && IsCurrency(from) && IsCurrency(into) && from != into
}

// Into is the currency that the rates count in, empty where there are none.
func (r Rates) Into() string { return r.into }

// Of is what one unit of a currency is worth in another, and false where that
// is not stated. A stated rate holds both ways.
func (r Rates) Of(from, into string) (float64, bool) {
	if from == into {
		return 1, true
	}
	a, okA := r.inInto(from)
	b, okB := r.inInto(into)
	return a / b, okA && okB
}

func (r Rates) inInto(code string) (float64, bool) {
	if code == r.into && code != "" {
		return 1, true
	}
	v, ok := r.of[code]
	if !ok {
		return math.NaN(), false
	}
	return v, true
}

// Convert brings an amount into another currency, and reports false where its
// rate is not stated.
func (r Rates) Convert(a Amount, into string) (Amount, bool) {
	if a.Currency == into {
		return a, true
	}
	rate, ok := r.Of(a.Currency, into)
	if !ok {
		return Amount{}, false
	}
	return Of(a.Float()*rate, into), true
}

// Text says which rates were taken, as the user stated them: "1 JPY = 0.0061
// EUR".
func (r Rates) Text() string {
	var parts []string
	for _, code := range slices.Sorted(maps.Keys(r.of)) {
		parts = append(parts, fmt.Sprintf("1 %s = %s %s", code, strconv.FormatFloat(r.of[code], 'g', -1, 64), r.into))
	}
	return strings.Join(parts, ", ")
}

// NoRate is the error for money in several currencies that has to be counted
// in one: what was found, and the rate that would make it possible.
// currencies are all that were found, into the one to count in.
func NoRate(what string, currencies []string, into string) error {
	var missing []string
	for _, c := range currencies {
		if c != into {
			missing = append(missing, fmt.Sprintf("%s=…%s", c, into))
		}
	}
	return &fault.Input{
		Field: what, Found: "prices in " + strings.Join(currencies, " and "),
		Expected: "one currency, or what the others are worth: --rate " + strings.Join(missing, " --rate ") + " (in a request: rates)",
	}
}

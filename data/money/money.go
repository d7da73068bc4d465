// Package money holds an amount of money in a currency, sums that never add
// across currencies, and the rates a user states to bring one into another.
//
// A price that is not known is not an Amount of 0: a Sum counts it apart.
package money

import (
	"cmp"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"

	"golang.org/x/text/currency"
)

// Amount is money to a millionth of the currency's unit.
type Amount struct {
	Micros   int64
	Currency string // ISO 4217
}

// Of returns an amount of a number of the currency's units, rounded to a
// millionth. Beyond ±9.2e12 units it is the nearest that can be held.
func Of(units float64, currency string) Amount {
	micros := math.Round(units * 1e6)
	switch {
	case micros >= math.MaxInt64:
		return Amount{math.MaxInt64, currency}
	case micros <= math.MinInt64:
		return Amount{math.MinInt64, currency}
	}
	return Amount{int64(micros), currency}
}

// Float returns the amount as a number of the currency's units.
func (a Amount) Float() float64 { return float64(a.Micros) / 1e6 }

// String gives the amount with the decimals that its currency has, halves away
// from zero, thousands parted, and the currency: "5.11 EUR", "3,100 JPY".
func (a Amount) String() string { return a.Number() + " " + a.Currency }

// Number is String without the currency.
func (a Amount) Number() string {
	text := big.NewRat(a.Micros, 1e6).FloatString(decimals(a.Currency))
	whole, rest, _ := strings.Cut(text, ".")
	first := 0
	if whole[0] == '-' {
		first = 1
	}
	for i := len(whole) - 3; i > first; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		return whole + "." + rest
	}
	return whole
}

// Abs is the amount without its sign.
func (a Amount) Abs() Amount { return Amount{max(a.Micros, -a.Micros), a.Currency} }

// WrittenAsNothing reports whether the amount is written as nothing: "0.00 EUR".
func (a Amount) WrittenAsNothing() bool { return strings.Trim(a.Abs().Number(), "0.") == "" }

// decimals is how many a currency is written with (Unicode CLDR), 2 for one
// that is not known.
func decimals(code string) int {
	unit, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	scale, _ := currency.Standard.Rounding(unit)
	return scale
}

// IsCurrency reports whether a text is three capital letters, the form of an
// ISO 4217 code.
func IsCurrency(text string) bool {
	return len(text) == 3 && strings.Trim(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}

// Sum is what several things cost: an amount for each currency, and how many
// of the things have no known price. The zero value is nothing.
type Sum struct {
	amounts []Amount // by currency, each once
	unknown int
}

// Add adds an amount to those of its own currency.
func (s *Sum) Add(a Amount) {
	i, found := slices.BinarySearchFunc(s.amounts, a, func(b, a Amount) int { return cmp.Compare(b.Currency, a.Currency) })
	if !found {
		s.amounts = slices.Insert(slices.Clone(s.amounts), i, a)
		return
	}
	s.amounts = slices.Clone(s.amounts)
	s.amounts[i].Micros = saturated(s.amounts[i].Micros, a.Micros)
}

// saturated is a + b, or the nearest that can be held.
func saturated(a, b int64) int64 {
	switch sum := a + b; {
	case a > 0 && b > 0 && sum < 0:
		return math.MaxInt64
	case a < 0 && b < 0 && sum >= 0:
		return math.MinInt64
	default:
		return sum
	}
}

// AddUnknown counts one more thing whose price is not known.
func (s *Sum) AddUnknown() { s.unknown++ }

// AddSum adds all of another sum.
func (s *Sum) AddSum(t Sum) {
	for _, a := range t.amounts {
		s.Add(a)
	}
	s.unknown += t.unknown
}

// Amounts lists what is known, one amount for each currency, in order of their
// codes. The caller must not change it.
func (s Sum) Amounts() []Amount { return s.amounts }

// Unknown is how many things have no known price.
func (s Sum) Unknown() int { return s.unknown }

// IsZero reports whether nothing has been added.
func (s Sum) IsZero() bool { return len(s.amounts) == 0 && s.unknown == 0 }

// Currencies lists the codes in order.
func (s Sum) Currencies() []string {
	var out []string
	for _, a := range s.amounts {
		out = append(out, a.Currency)
	}
	return out
}

// One is the whole sum as one amount: in its own currency where it has but
// one, else in that of the rates. It is false where a price is not known, a
// rate is missing or there is nothing.
func (s Sum) One(r Rates) (Amount, bool) {
	switch {
	case len(s.amounts) == 0:
		return Amount{}, false
	case len(s.amounts) == 1:
		return s.amounts[0], s.unknown == 0
	}
	return s.In(r.into, r)
}

// In is the whole sum in one currency, and false where a price is not known or
// a rate is missing.
func (s Sum) In(code string, r Rates) (Amount, bool) {
	total := Amount{Currency: code}
	for _, a := range s.amounts {
		b, ok := r.Convert(a, code)
		if !ok {
			return Amount{}, false
		}
		total.Micros = saturated(total.Micros, b.Micros)
	}
	return total, s.unknown == 0
}

// Minus is what s costs above t, negative where it costs less, and false where
// the two cannot be compared for want of a rate or a price.
func (s Sum) Minus(t Sum, r Rates) (Amount, bool) {
	a, okA := s.One(r)
	b, okB := t.One(r)
	if a.Currency != b.Currency {
		a, okA = s.In(r.into, r)
		b, okB = t.In(r.into, r)
	}
	return Amount{saturated(a.Micros, -b.Micros), a.Currency}, okA && okB
}

// Text says what things called noun cost: "34.68 EUR and one stop of unknown
// price", "12.40 EUR and 3,100 JPY"; "nothing" for the zero sum. Its count of
// things is written as a word up to ten.
func (s Sum) Text(noun string) string {
	var parts []string
	for _, a := range s.amounts {
		parts = append(parts, a.String())
	}
	if s.unknown > 0 {
		parts = append(parts, s.unknownText(noun))
	}
	switch last := len(parts) - 1; {
	case last < 0:
		return "nothing"
	case last == 0:
		return parts[0]
	default:
		return strings.Join(parts[:last], ", ") + " and " + parts[last]
	}
}

// About is Text as an estimate, for the end of a sentence: "about 34.68 EUR and
// one stop of unknown price", or "an unknown sum (two stops of unknown price)".
func (s Sum) About(noun string) string {
	if len(s.amounts) == 0 && s.unknown > 0 {
		return "an unknown sum (" + s.unknownText(noun) + ")"
	}
	return "about " + s.Text(noun)
}

func (s Sum) unknownText(noun string) string {
	words := []string{"", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	number := fmt.Sprint(s.unknown)
	if s.unknown < len(words) {
		number = words[s.unknown]
	}
	if s.unknown > 1 {
		noun += "s"
	}
	return number + " " + noun + " of unknown price"
}

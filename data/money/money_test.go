package money_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/data/money"

	"pgregory.net/rapid"
)

// Decimals are those of ISO 4217:2015, table A.1 (from memory): none for JPY,
// KRW and CLP, three for KWD and BHD, two for EUR, USD and XTS.
func TestAmountsAreWrittenAsTheirCurrencyIs(t *testing.T) {
	for _, c := range []struct {
		amount money.Amount
		want   string
	}{
		{money.Of(12.4, "EUR"), "12.40 EUR"},
		{money.Of(3100, "JPY"), "3,100 JPY"},
		{money.Of(3100.5, "JPY"), "3,101 JPY"},
		{money.Of(-1234567.891, "USD"), "-1,234,567.89 USD"},
		{money.Of(-123, "CLP"), "-123 CLP"},
		{money.Of(1.2345, "KWD"), "1.235 KWD"},
		{money.Of(999.999, "XTS"), "1,000.00 XTS"},
		{money.Of(0, "EUR"), "0.00 EUR"},
		{money.Of(2, "QQQ"), "2.00 QQQ"},
	} {
		if got := c.amount.String(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.amount, got, c.want)
		}
	}
	if money.Of(math.Inf(1), "EUR").Micros != math.MaxInt64 || money.Of(-1e300, "EUR").Micros != math.MinInt64 {
		t.Error("an amount beyond what can be held is not the nearest that can")
	}
}

func TestSumsAreSentences(t *testing.T) {
	var s money.Sum
	if got := s.Text("stop"); got != "nothing" || !s.IsZero() {
		t.Errorf("the empty sum: %q", got)
	}
	s.AddUnknown()
	if got := s.Text("stop"); got != "one stop of unknown price" {
		t.Errorf("one unknown: %q", got)
	}
	if got := s.About("stop"); got != "an unknown sum (one stop of unknown price)" {
		t.Errorf("about one unknown: %q", got)
	}
	s.Add(money.Of(34.68, "EUR"))
	if got := s.Text("stop"); got != "34.68 EUR and one stop of unknown price" {
		t.Errorf("one known, one not: %q", got)
	}
	s.Add(money.Of(3100, "JPY"))
	s.AddUnknown()
	if got := s.Text("stop"); got != "34.68 EUR, 3,100 JPY and two stops of unknown price" {
		t.Errorf("two currencies: %q", got)
	}
	for range 9 {
		s.AddUnknown()
	}
	if got := s.Text("stop"); !strings.HasSuffix(got, " and 11 stops of unknown price") {
		t.Errorf("eleven unknown: %q", got)
	}
}

// Copies of a sum are apart: adding to one leaves the other as it was.
func TestSumsAreValues(t *testing.T) {
	var a money.Sum
	a.Add(money.Of(1, "EUR"))
	b := a
	b.Add(money.Of(2, "EUR"))
	b.Add(money.Of(5, "CHF"))
	if got := a.Text("stop"); got != "1.00 EUR" {
		t.Errorf("after adding to a copy: %s", got)
	}
	if got := b.Text("stop"); got != "5.00 CHF and 3.00 EUR" {
		t.Errorf("the copy: %s", got)
	}
}

// No sum, difference or conversion crosses currencies without a rate, and none
// takes a price that is not known for one of 0.
func TestNothingCrossesCurrenciesWithoutARate(t *testing.T) {
	eur, jpy := money.Of(10, "EUR"), money.Of(1000, "JPY")
	var a, b, mixed, open money.Sum
	a.Add(eur)
	b.Add(jpy)
	mixed.AddSum(a)
	mixed.AddSum(b)
	open.AddSum(a)
	open.AddUnknown()
	if _, ok := a.Minus(b, money.Rates{}); ok {
		t.Error("EUR less JPY is a number")
	}
	for _, s := range []money.Sum{mixed, open, {}} {
		if got, ok := s.One(money.Rates{}); ok {
			t.Errorf("%s is one amount, %s", s.Text("stop"), got)
		}
		if _, ok := a.Minus(s, money.Rates{}); ok {
			t.Errorf("EUR less %s is a number", s.Text("stop"))
		}
	}
	if _, ok := mixed.In("EUR", money.Rates{}); ok {
		t.Error("a sum in two currencies is one without a rate")
	}
	rates, err := money.ParseRates([]string{"JPY=0.0061EUR"})
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := mixed.In("EUR", rates); !ok || got != money.Of(16.1, "EUR") {
		t.Errorf("10 EUR and 1,000 JPY at 0.0061: %v, %v", got, ok)
	}
	if got, ok := rates.Convert(money.Of(6.1, "EUR"), "JPY"); !ok || got != jpy {
		t.Errorf("6.10 EUR back: %v, %v", got, ok)
	}
	if got, ok := mixed.One(rates); !ok || got != money.Of(16.1, "EUR") {
		t.Errorf("as one amount: %v, %v", got, ok)
	}
	if got, ok := b.Minus(a, rates); !ok || got != money.Of(-3.9, "EUR") {
		t.Errorf("1,000 JPY above 10 EUR: %v, %v", got, ok)
	}
	if _, ok := open.In("EUR", rates); ok {
		t.Error("a sum with an unknown price is whole")
	}
	if _, ok := rates.Convert(money.Of(1, "CHF"), "EUR"); ok {
		t.Error("CHF was brought into EUR without a rate")
	}
}

func TestRatesThatCannotBe(t *testing.T) {
	for name, texts := range map[string][]string{
		"no sign":                  {"JPY0.0061EUR"},
		"no number":                {"JPY=EUR"},
		"no currency":              {"JPY=0.0061"},
		"small letters":            {"jpy=0.0061eur"},
		"nothing":                  {"JPY=0EUR"},
		"negative":                 {"JPY=-1EUR"},
		"not finite":               {"JPY=InfEUR"},
		"not a number":             {"JPY=NaNEUR"},
		"of itself":                {"EUR=1EUR"},
		"twice":                    {"JPY=0.0061EUR", "JPY=0.0062EUR"},
		"into two":                 {"JPY=0.0061EUR", "CHF=1.1USD"},
		"of what is counted in":    {"JPY=0.0061EUR", "EUR=160JPY"},
		"of what is counted in, 2": {"EUR=160JPY", "JPY=0.0061EUR"},
		"empty":                    {""},
	} {
		var bad *fault.Input
		if _, err := money.ParseRates(texts); !errors.As(err, &bad) {
			t.Errorf("%s: %v gave %v", name, texts, err)
		}
	}
	r, err := money.ParseRates([]string{"JPY=0.0061EUR", "CHF = 1.05 EUR"})
	if err != nil || r.Into() != "EUR" || r.Text() != "1 CHF = 1.05 EUR, 1 JPY = 0.0061 EUR" {
		t.Errorf("%v, %v", r.Text(), err)
	}
	if cross, ok := r.Of("CHF", "JPY"); !ok || math.Abs(cross-1.05/0.0061) > 1e-9 {
		t.Errorf("CHF in JPY: %g, %v", cross, ok)
	}
	if _, err := money.ParseRates(nil); err != nil {
		t.Error(err)
	}
}

// A sum is what big decimals say, whatever the order.
func TestSumsDoNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type part struct {
			micros int64
			code   string
		}
		parts := rapid.SliceOf(rapid.Custom(func(t *rapid.T) part {
			return part{rapid.Int64Range(-1e15, 1e15).Draw(t, "micros"), rapid.SampledFrom([]string{"EUR", "JPY", "CHF"}).Draw(t, "code")}
		})).Draw(t, "parts")
		want := map[string]int64{}
		var there, back money.Sum
		for i := range parts {
			want[parts[i].code] += parts[i].micros
			there.Add(money.Amount{Micros: parts[i].micros, Currency: parts[i].code})
			last := parts[len(parts)-1-i]
			back.Add(money.Amount{Micros: last.micros, Currency: last.code})
		}
		if there.Text("stop") != back.Text("stop") || len(there.Amounts()) != len(want) {
			t.Fatalf("%s there, %s back, want %v", there.Text("stop"), back.Text("stop"), want)
		}
		for _, a := range there.Amounts() {
			if a.Micros != want[a.Currency] {
				t.Fatalf("%s: %d, want %d", a.Currency, a.Micros, want[a.Currency])
			}
		}
	})
}

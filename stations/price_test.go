package stations_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"ampleway/stations"
	"ampleway/testdata"
	"pgregory.net/rapid"
)

// ocpiTariff is the part of an OCPI 2.2.1 tariff object that a Price can say.
type ocpiTariff struct {
	Currency string `json:"currency"`
	Elements []struct {
		Components []struct {
			Type  string  `json:"type"`
			Price float64 `json:"price"`
			VAT   float64 `json:"vat"`
			Step  float64 `json:"step_size"`
		} `json:"price_components"`
		Restrictions struct {
			Start *stations.Clock `json:"start_time"`
			End   *stations.Clock `json:"end_time"`
		} `json:"restrictions"`
	} `json:"elements"`
	Min struct {
		Excl float64 `json:"excl_vat"`
	} `json:"min_price"`
	Max struct {
		Excl float64 `json:"excl_vat"`
	} `json:"max_price"`
}

func readTariff(t *testing.T, name string, withVAT bool) *stations.Price {
	t.Helper()
	text, err := os.ReadFile(testdata.OpenData(t, "ocpi", "2.2.1", name))
	if err != nil {
		t.Fatal(err)
	}
	var tariff ocpiTariff
	if err := json.Unmarshal(text, &tariff); err != nil {
		t.Fatal(err)
	}
	p := &stations.Price{Currency: tariff.Currency, LeastTotal: tariff.Min.Excl, MostTotal: tariff.Max.Excl}
	for _, e := range tariff.Elements {
		var rates stations.Rates
		for _, c := range e.Components {
			price := c.Price
			if withVAT {
				price *= 1 + c.VAT/100
			}
			switch c.Type {
			case "FLAT":
				p.SessionFee = price
			case "ENERGY":
				rates.PerKWh, p.StepKWh = price, c.Step/1000
			case "TIME":
				rates.PerMinute, p.StepMinutes = price/60, c.Step/60
			case "PARKING_TIME":
				rates.IdlePerMinute, p.IdleStepMinutes = price/60, c.Step/60
			}
		}
		if e.Restrictions.Start == nil {
			p.Rates = rates
			continue
		}
		p.Periods = append(p.Periods, stations.Period{From: *e.Restrictions.Start, To: *e.Restrictions.End, Rates: rates})
	}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	return p
}

// The worked figures beside the tariff examples of OCPI 2.2.1 (module Tariffs,
// section Examples), from memory; the arithmetic stands beside each.
func TestCostOfPublishedTariffs(t *testing.T) {
	at := func(hour, minute int) time.Time { return time.Date(2026, 3, 4, hour, minute, 0, 0, time.UTC) }
	for _, c := range []struct {
		file         string
		withVAT      bool
		start        time.Time
		minutes, kWh float64
		idle         float64
		want         string
	}{
		{"tariff_1_simple_2hour.json", false, at(10, 0), 150, 20, 0, "5.00 EUR"},             // 2.5 h × 2
		{"tariff_1_simple_2hour.json", true, at(10, 0), 150, 20, 0, "5.50 EUR"},              // + 10 %
		{"tariff_8_simple_025kwh.json", false, at(10, 0), 60, 20, 0, "5.00 EUR"},             // 20 × 0.25
		{"tariff_8_simple_025kwh.json", true, at(10, 0), 60, 20, 0, "5.50 EUR"},              // + 10 %
		{"tariff_9_025kwh_start.json", false, at(10, 0), 60, 20, 0, "5.50 EUR"},              // + 0.50
		{"tariff_9_025kwh_start.json", true, at(10, 0), 60, 20, 0, "6.10 EUR"},               // 5.50 + 0.60
		{"tariff_10_025kwh_parking_start.json", false, at(10, 0), 60, 20, 40, "7.00 EUR"},    // 40 min are 3 steps of 15: 0.75 h × 2
		{"tariff_10_025kwh_parking_start.json", true, at(10, 0), 60, 20, 40, "7.90 EUR"},     // 0.60 + 5.50 + 1.80
		{"tariff_13_simple_3hour_5parking.json", false, at(10, 0), 150, 20, 42, "11.25 EUR"}, // 2.5 × 3 + 0.75 × 5
		{"tariff_13_simple_3hour_5parking.json", true, at(10, 0), 150, 20, 42, "12.75 EUR"},  // 8.25 + 4.50
		{"tariff_12_025kwh_min_price.json", false, at(10, 0), 10, 1, 0, "0.50 EUR"},          // 0.25 is below the floor
		{"tariff_12_025kwh_min_price.json", false, at(10, 0), 10, 3, 0, "0.75 EUR"},          //
		{"tariff_6_025kwh_start_max_price.json", false, at(10, 0), 60, 50, 0, "10.00 EUR"},   // 13.00 is above the ceiling
		{"tariff_5_free_of_charge.json", false, at(10, 0), 60, 50, 60, "0.00 EUR"},
		{"tariff_14_step_size.json", false, at(16, 55), 10, 1, 2, "0.55 EUR"}, // 5 min at 1.20 + 5 min at 2.40 + 15 min at 1.00
		{"tariff_14_step_size.json", false, at(16, 35), 35, 1, 0, "1.30 EUR"}, // 25 min at 1.20, 10 min at 2.40, filled up to 45 min at 2.40
		{"tariff_3_alt_url.json", false, at(10, 0), 60, 20.05, 0, "5.53 EUR"}, // 201 steps of 0.1 kWh: 20.1 × 0.25 + 0.50 = 5.525
	} {
		p := readTariff(t, c.file, c.withVAT)
		got := p.Cost(stations.Session{Start: c.start, Draws: []stations.Draw{{Minutes: c.minutes, EnergyKWh: c.kWh}}, IdleMinutes: c.idle})
		if got.String() != c.want {
			t.Errorf("%s, %g min, %g kWh, %g min idle, VAT %v: %s, want %s", c.file, c.minutes, c.kWh, c.idle, c.withVAT, got, c.want)
		}
	}
}

func TestCostIsDecimal(t *testing.T) {
	p := &stations.Price{Currency: "XTS", Rates: stations.Rates{PerKWh: 0.1}}
	got := p.Cost(stations.Session{Draws: []stations.Draw{{EnergyKWh: 0.3}}})
	if got.Micros != 30_000 {
		t.Errorf("0.3 kWh at 0.1: %d millionths, want 30000", got.Micros)
	}
}

func drawPrice(t *rapid.T) *stations.Price {
	rates := func(label string) stations.Rates {
		cents := func(what string) float64 { return float64(rapid.IntRange(0, 99).Draw(t, label+what)) / 100 }
		return stations.Rates{
			PerKWh: cents("kWh"), PerMinute: cents("minute"), IdlePerMinute: cents("idle"),
			Bands: []stations.Band{{AboveKW: 50, PerMinute: cents("over 50")}, {AboveKW: 100, PerMinute: cents("over 100")}},
		}
	}
	p := &stations.Price{Currency: "XTS", SessionFee: 1, Rates: rates("base "), IdleAfterMinutes: float64(rapid.IntRange(0, 20).Draw(t, "grace"))}
	for range rapid.IntRange(0, 3).Draw(t, "periods") {
		p.Periods = append(p.Periods, stations.Period{
			Days:  stations.Days(rapid.IntRange(0, 127).Draw(t, "days")),
			From:  stations.Clock(rapid.IntRange(0, 1440).Draw(t, "from")),
			To:    stations.Clock(rapid.IntRange(0, 1440).Draw(t, "to")),
			Rates: rates("period "),
		})
	}
	return p
}

// A session billed minute by minute, each at the rates of its first second,
// costs the same: periods begin and end on whole minutes.
func TestCostMinuteByMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPrice(t)
		start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rapid.IntRange(0, 7*1440).Draw(t, "start")) * time.Minute)
		minutes := rapid.IntRange(1, 300).Draw(t, "minutes")
		powerKW := float64(rapid.SampledFrom([]int{30, 60, 120}).Draw(t, "kW"))
		idle := rapid.IntRange(0, 100).Draw(t, "idle")
		want := p.SessionFee
		now := start
		for range minutes {
			r := p.At(now)
			want += powerKW/60*r.PerKWh + r.MinuteRate(powerKW)
			now = now.Add(time.Minute)
		}
		for m := range idle {
			if float64(m) >= p.IdleAfterMinutes {
				want += p.At(now).IdlePerMinute
			}
			now = now.Add(time.Minute)
		}
		got := p.Cost(stations.Session{Start: start, Draws: []stations.Draw{{Minutes: float64(minutes), EnergyKWh: powerKW * float64(minutes) / 60}}, IdleMinutes: float64(idle)})
		if math.Abs(got.Float()-want) > 2e-6 {
			t.Fatalf("%v, minute by minute %g", got.Float(), want)
		}
	})
}

// Cutting a draw in two at one power changes nothing where no steps are billed.
func TestCostOfTwoHalves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPrice(t)
		start := time.Date(2026, 5, 1, rapid.IntRange(0, 23).Draw(t, "hour"), 0, 0, 0, time.UTC)
		quarters := rapid.IntRange(1, 40).Draw(t, "quarters")
		whole := stations.Draw{Minutes: float64(quarters * 15), EnergyKWh: float64(quarters * 15)}
		half := stations.Draw{Minutes: whole.Minutes / 2, EnergyKWh: whole.EnergyKWh / 2}
		one := p.Cost(stations.Session{Start: start, Draws: []stations.Draw{whole}})
		two := p.Cost(stations.Session{Start: start, Draws: []stations.Draw{half, half}})
		if one != two {
			t.Fatalf("one draw %v, two %v", one, two)
		}
	})
}

func TestCostOverTheClockChange(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Skipf("skipped: no time zones here: %v", err)
	}
	p := &stations.Price{Currency: "XTS", Rates: stations.Rates{PerMinute: 1},
		Periods: []stations.Period{{From: 2 * 60, To: 3 * 60, Rates: stations.Rates{PerMinute: 0.1}}}}
	// On 29 March 2026 clocks in Lisbon go from 01:00 to 02:00, so that 00:30
	// to 02:30 is one hour, its second half in the period.
	start := time.Date(2026, 3, 29, 0, 30, 0, 0, zone)
	if got := p.Cost(stations.Session{Start: start, Draws: []stations.Draw{{Minutes: 60, EnergyKWh: 1}}}); got.Micros != 33_000_000 {
		t.Errorf("%v, want 33.00", got)
	}
}

func TestDaysAndClockText(t *testing.T) {
	for _, c := range []struct {
		text string
		want string
		ok   bool
	}{
		{"Mo-Fr", "Mo-Fr", true}, {"Sa,Su", "Sa-Su", true}, {"Mo,We,Fr", "Mo,We,Fr", true}, {"Sa-Mo", "Mo,Sa-Su", true}, {"", "", true},
		{"Mon", "", false}, {"Mo-", "", false}, {",", "", false},
	} {
		var d stations.Days
		err := d.UnmarshalText([]byte(c.text))
		if (err == nil) != c.ok || c.ok && d.String() != c.want {
			t.Errorf("days %q: %q, %v", c.text, d, err)
		}
	}
	for text, want := range map[string]stations.Clock{"00:00": 0, "09:05": 545, "24:00": 1440} {
		var c stations.Clock
		if err := c.UnmarshalText([]byte(text)); err != nil || c != want || c.String() != text {
			t.Errorf("clock %q: %d, %q, %v", text, c, c, err)
		}
	}
	for _, text := range []string{"", "9:05", "24:01", "12:60", "-1:00", "1a:00", "12-30"} {
		var c stations.Clock
		if err := c.UnmarshalText([]byte(text)); err == nil {
			t.Errorf("clock %q was read as %s", text, c)
		}
	}
}

// A price that sites do not share is looked at once a site.
func TestPriceValidateAllocatesNothing(t *testing.T) {
	p := &stations.Price{Currency: "EUR", Rates: stations.Rates{PerKWh: 0.4, Bands: []stations.Band{{AboveKW: 50, PerMinute: 0.3}}},
		Periods: []stations.Period{{From: 60, To: 120, Rates: stations.Rates{PerKWh: 0.2}}}}
	if n := testing.AllocsPerRun(10, func() {
		if err := p.Validate(); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
	for name, spoil := range map[string]func(*stations.Price){
		"session_fee": func(p *stations.Price) { p.SessionFee = -1 },
		"per_kwh":     func(p *stations.Price) { p.PerKWh = math.NaN() },
		"above_kw":    func(p *stations.Price) { p.Bands = []stations.Band{{AboveKW: math.Inf(1)}} },
		"per_minute":  func(p *stations.Price) { p.Periods = []stations.Period{{Rates: stations.Rates{PerMinute: -1}}} },
		"periods":     func(p *stations.Price) { p.Periods = []stations.Period{{From: -1}} },
	} {
		bad := *p
		spoil(&bad)
		if err := bad.Validate(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

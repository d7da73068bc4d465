package home

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"

	"pgregory.net/rapid"
)

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

// evenCar drives 40 km a day at 18 kWh/100 km: 7.2 kWh from the battery, 8 kWh
// at the outlet with 90 %.
func evenCar(outletKW float64) Car {
	c := Car{
		Name: "invented", UsableKWh: 60, ArriveMin: 18 * 60, DepartMin: 7 * 60,
		Charge: energy.ACCharge{OutletKW: outletKW, BatteryKW: 0.9 * outletKW, Efficiency: 0.9},
	}
	for i := range c.KmByWeekday {
		c.KmByWeekday[i] = 40
	}
	for i := range c.KWhPer100Km {
		c.KWhPer100Km[i] = 18
	}
	return c
}

func rate(fromH, toH int, perKWh float64) Period {
	return Period{Rate: energy.Rate{FromMin: fromH * 60, ToMin: toH * 60, PerKWh: perKWh}}
}

func simulate(t *testing.T, h *Household) Result {
	t.Helper()
	r, err := h.Simulate()
	if err != nil {
		t.Fatal(err)
	}
	within(t, "energy balance in kWh", r.ImbalanceKWh, 0, 1e-6)
	return r
}

// Tariffs by the hour, worked by hand for the 365 nights of 2025.
func TestTariffsByHand(t *testing.T) {
	summer := []time.Month{time.June, time.July, time.August, time.September}
	for _, c := range []struct {
		name     string
		outletKW float64
		tariff   Tariff
		cost     float64
		dear     int
	}{
		// 365 · 8 kWh · 0.12
		{"one cheap night rate", 7.2, Tariff{Periods: []Period{rate(23, 7, 0.12)}, OtherPerKWh: 0.30}, 350.40, 0},
		// 365 · 8 · 0.30
		{"one price", 7.2, Tariff{OtherPerKWh: 0.30}, 876, 0},
		// 2 h · 3 kW = 6 kWh at 0.12, 2 kWh at 0.30, the evening peak avoided: 365 · (0.72 + 0.60)
		{"two cheap hours", 3, Tariff{Periods: []Period{rate(1, 3, 0.12), rate(17, 21, 0.45)}, OtherPerKWh: 0.30}, 481.80, 365},
		// The hours after midnight belong to the next day, so 122 nights end in
		// June to September: 122 · 8 · 0.20 + 243 · 8 · 0.12.
		{"seasons", 7.2, Tariff{Periods: []Period{{Months: summer, Rate: energy.Rate{FromMin: 0, ToMin: 360, PerKWh: 0.20}}, rate(0, 6, 0.12)}, OtherPerKWh: 0.30}, 428.48, 0},
		// Cheap only after midnight into Saturday and Sunday (52 of each in
		// 2025): 104 · 8 · 0.10 + 261 · 8 · 0.30.
		{"weekend", 7.2, Tariff{Periods: []Period{{Weekdays: []time.Weekday{time.Saturday, time.Sunday}, Rate: energy.Rate{FromMin: 0, ToMin: 420, PerKWh: 0.10}}, rate(12, 24, 0.40)}, OtherPerKWh: 0.30}, 709.60, 0},
	} {
		r := simulate(t, &Household{Year: 2025, Cars: []Car{evenCar(c.outletKW)}, Tariff: c.tariff})
		total := r.Total()
		within(t, c.name+": kWh at the outlet", total.HomeOutletKWh, 365*8, 1e-6)
		within(t, c.name+": cost", total.HomeCost, c.cost, 1e-6)
		within(t, c.name+": home share", total.HomeShare(), 1, 0)
		if total.ChargeNights != 365 || total.DearNights != c.dear || total.FastVisits != 0 {
			t.Errorf("%s: %d nights, %d of them dear, %d visits", c.name, total.ChargeNights, total.DearNights, total.FastVisits)
		}
	}
}

// Two cars need 8 kWh each; the feed gives 7.2 kW, so 10.8 kWh in the 1.5 cheap
// hours and 5.2 kWh at 0.30: 365 · (1.08 + 1.56) = 963.60.
func TestTwoCarsOnOneFeed(t *testing.T) {
	h := &Household{
		Year: 2025, Cars: []Car{evenCar(7.2), evenCar(7.2)}, FeedKW: 7.2,
		Tariff: Tariff{Periods: []Period{{Rate: energy.Rate{FromMin: 60, ToMin: 150, PerKWh: 0.10}}}, OtherPerKWh: 0.30},
	}
	total := simulate2(t, h)
	within(t, "cost", total.HomeCost, 963.60, 1e-6)
	within(t, "dear kWh", total.DearKWh, 365*5.2, 1e-6)

	h.FeedKW = 0
	total = simulate2(t, h)
	within(t, "cost with a circuit each", total.HomeCost, 2*365*8*0.10, 1e-6)
}

func simulate2(t *testing.T, h *Household) Month {
	t.Helper()
	r := simulate(t, h)
	return r.Total()
}

// A trip by hand: 45 kWh from home (fully charged the night before), 20 kWh on
// the way in half an hour; two nights away, so three days without commuting.
func TestTripByHand(t *testing.T) {
	h := &Household{
		Year: 2025, Cars: []Car{evenCar(7.2)}, Tariff: Tariff{OtherPerKWh: 0.20},
		Trips: []Trip{{Date: time.Date(2025, time.July, 10, 9, 0, 0, 0, time.UTC), NightsAway: 2, Km: 350, HomeKWh: 45, FastKWh: 20, FastH: 0.5, FastCost: 11}},
	}
	total := simulate2(t, h)
	within(t, "km", total.Km, 362*40+350, 1e-9)
	within(t, "driven kWh", total.DrivenKWh, 362*7.2+65, 1e-6)
	within(t, "fast kWh", total.FastKWh, 20, 1e-9)
	within(t, "fast hours", total.FastH, 0.5, 1e-9)
	within(t, "fast cost", total.FastCost, 11, 1e-9)
	within(t, "home kWh", total.HomeBatteryKWh, 362*7.2+45, 1e-6)
	within(t, "home share", total.HomeShare(), (362*7.2+45)/(362*7.2+65), 1e-9)
	if total.ChargeNights != 363 || total.FastVisits != 0 {
		t.Errorf("%d nights of charging, %d visits", total.ChargeNights, total.FastVisits)
	}
}

// Nights after a trip by hand: the car comes home with 6 of 60 kWh. On 2 kW a
// night of 13 h adds 23.4 kWh and a day takes 7.2, so 29.4, 45.6 and then the
// 48 of its target are in it in the first three mornings; on 7.2 kW the first
// night is enough. The charging from 6 to 48 kWh is 42 kWh at 90 % of the power.
func TestNightsAfterATripByHand(t *testing.T) {
	for outletKW, nights := range map[float64]int{2: 3, 7.2: 1} {
		h := &Household{
			Year: 2025, Cars: []Car{evenCar(outletKW)},
			Trips: []Trip{{Date: time.Date(2025, time.July, 10, 0, 0, 0, 0, time.UTC), NightsAway: 2, HomeKWh: 54}},
		}
		r := simulate(t, h)
		// Short are two of the three mornings on 2 kW, and on no circuit any other.
		if r.NightsToFull != nights || r.Total().ShortNights != nights-1 {
			t.Errorf("%g kW: %d nights to full, %d nights short", outletKW, r.NightsToFull, r.Total().ShortNights)
		}
		hours, trip := h.HoursToFull()
		within(t, "hours to full", hours, 42/(0.9*outletKW), 1e-9)
		if !trip {
			t.Error("the trip is not seen")
		}
		h.Trips = nil
		if hours, trip = h.HoursToFull(); trip {
			t.Error("a trip is seen")
		}
		within(t, "hours from the reserve", hours, 42/(0.9*outletKW), 1e-9)
	}
}

// A journey planned to come home with just the reserve needs no fast charger
// for what rounding lacks; one that left without a full battery charges what
// it lacks and no more.
func TestATripStopsForNoTrifle(t *testing.T) {
	for outletKW, c := range map[float64]struct {
		visits  int
		fastKWh float64
	}{7.2: {0, 0}, 1: {1, 0.3}} { // 1 kW: 40.8 in the evening before, 11.7 more by morning, 0.3 less than 48 + 4.8
		h := &Household{
			Year: 2025, Cars: []Car{evenCar(outletKW)},
			Trips: []Trip{{Date: time.Date(2025, time.July, 10, 0, 0, 0, 0, time.UTC), NightsAway: 2, HomeKWh: 54 + 1e-7}},
		}
		if outletKW == 1 {
			h.Trips[0].HomeKWh = 40.8 + 11.7 - 6 + 0.3
		}
		total := simulate2(t, h)
		within(t, "fast kWh", total.FastKWh, c.fastKWh, 1e-6)
		within(t, "visits", float64(total.FastVisits), float64(c.visits), 0)
	}
}

// A household has at most one night a day, however many cars charge in it.
func TestNightsAreTheHouseholds(t *testing.T) {
	h := &Household{
		Year: 2025, Cars: []Car{evenCar(7.2), evenCar(7.2), evenCar(1)},
		Tariff: Tariff{Periods: []Period{rate(1, 2, 0.10)}, OtherPerKWh: 0.30},
	}
	if total := simulate2(t, h); total.ChargeNights != 365 || total.DearNights != 365 {
		t.Errorf("%d nights, %d of them dear", total.ChargeNights, total.DearNights)
	}
}

// A visit of unknown price costs nothing that is known, and is counted.
func TestUnpricedVisits(t *testing.T) {
	car := evenCar(0)
	car.Charge = energy.ACCharge{}
	h := &Household{
		Year: 2025, Cars: []Car{car}, Fast: Fast{Unpriced: true},
		Trips: []Trip{{Date: time.Date(2025, time.July, 10, 0, 0, 0, 0, time.UTC), FastKWh: 20, FastCost: 11, Unpriced: 2}},
	}
	total := simulate2(t, h)
	if total.Unpriced != total.FastVisits+2 || total.FastVisits == 0 {
		t.Errorf("%d unpriced of %d visits and two stops", total.Unpriced, total.FastVisits)
	}
	within(t, "cost", total.Cost(), 11, 1e-9)
}

// Without a circuit every kWh is fast-charged: from 10 to 80 % of 60 kWh is
// 42 kWh a visit, 0.7 h at 60 kW and 0.15 h besides.
func TestNoChargingAtHome(t *testing.T) {
	car := evenCar(0)
	car.Charge = energy.ACCharge{}
	total := simulate2(t, &Household{Year: 2025, Cars: []Car{car}, Fast: Fast{PerKWh: 0.60}})
	visits := math.Floor(365*7.2/42 - 1e-9)
	within(t, "visits", float64(total.FastVisits), visits, 0)
	within(t, "kWh", total.FastKWh, visits*42, 1e-6)
	within(t, "hours", total.FastH, visits*0.85, 1e-6)
	within(t, "cost", total.FastCost, visits*42/0.95*0.60, 1e-6)
	within(t, "home share", total.HomeShare(), 0, 0)
}

// Common practice: an outlet adds about 6 km an hour, so a night of 13 h
// covers some 75 km a day; a car that drives 40 km never needs more.
func TestLevel1CoversAnOrdinaryDay(t *testing.T) {
	onBoard := energy.OnBoard{PowerKW: 11, Phases: 1, Efficiency: 0.9}
	level1, err := onBoard.On(energy.Circuit{VoltageV: 120, BreakerA: 15})
	if err != nil {
		t.Fatal(err)
	}
	level2, err := onBoard.On(energy.Circuit{VoltageV: 240, BreakerA: 40})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		km      float64
		visited bool
	}{{40, false}, {75, false}, {120, true}} {
		car := evenCar(0)
		car.Charge = level2
		for i := range car.KmByWeekday {
			car.KmByWeekday[i] = c.km
		}
		h := &Household{Year: 2025, Cars: []Car{car}, Tariff: Tariff{Periods: []Period{rate(23, 7, 0.12)}, OtherPerKWh: 0.30}, Fast: Fast{PerKWh: 0.6}}
		all, err := h.Compare([]Circuits{{Charge: []energy.ACCharge{level1}}}, FuelCar{LitresPer100Km: 7, PerLitre: 1.80})
		if err != nil {
			t.Fatal(err)
		}
		home, outlet, none := all.Home.Total(), all.Others[0].Total(), all.FastOnly.Total()
		t.Logf("%3.0f km a day: level 2 %.0f (%d dear nights), level 1 %.0f (%d dear nights, %d fast visits), fast only %.0f in %.0f h, fuel %.0f",
			c.km, home.Cost(), home.DearNights, outlet.Cost(), outlet.DearNights, outlet.FastVisits, none.Cost(), none.FastH, all.FuelCost)
		if home.FastVisits != 0 || home.DearNights != 0 {
			t.Errorf("%g km on level 2: %d visits, %d dear nights", c.km, home.FastVisits, home.DearNights)
		}
		if (outlet.FastVisits > 0) != c.visited {
			t.Errorf("%g km on level 1: %d visits", c.km, outlet.FastVisits)
		}
		within(t, "fuel", all.FuelCost, 365*c.km*0.07*1.80, 1e-6)
	}
}

func drawPrice(t *rapid.T) float64 { return float64(rapid.IntRange(-10, 100).Draw(t, "cents")) / 100 }

func drawHousehold(t *rapid.T) *Household {
	h := &Household{
		Year:   rapid.SampledFrom([]int{2024, 2025, 2028}).Draw(t, "year"),
		FeedKW: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1, 12)).Draw(t, "feed"),
		Tariff: Tariff{OtherPerKWh: drawPrice(t)},
		Fast:   Fast{PerKWh: rapid.Float64Range(0, 1).Draw(t, "fast price"), MeanKW: rapid.Float64Range(20, 200).Draw(t, "fast kW")},
	}
	for range rapid.IntRange(0, 3).Draw(t, "periods") {
		h.Tariff.Periods = append(h.Tariff.Periods, Period{
			Months:   rapid.SliceOfN(rapid.Custom(func(t *rapid.T) time.Month { return time.Month(rapid.IntRange(1, 12).Draw(t, "month")) }), 0, 6).Draw(t, "months"),
			Weekdays: rapid.SliceOfN(rapid.Custom(func(t *rapid.T) time.Weekday { return time.Weekday(rapid.IntRange(0, 6).Draw(t, "weekday")) }), 0, 3).Draw(t, "weekdays"),
			Rate:     energy.Rate{FromMin: rapid.IntRange(0, 1440).Draw(t, "from"), ToMin: rapid.IntRange(0, 1440).Draw(t, "to"), PerKWh: drawPrice(t)},
		})
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "cars") {
		c := Car{
			UsableKWh: rapid.Float64Range(15, 120).Draw(t, "kWh"),
			ArriveMin: rapid.IntRange(noon, 2*noon-1).Draw(t, "arrive"), DepartMin: rapid.IntRange(0, noon).Draw(t, "depart"),
			TargetSoC: rapid.Float64Range(0.5, 1).Draw(t, "target"), StartSoC: rapid.Float64Range(0.01, 1).Draw(t, "start"),
		}
		if rapid.Bool().Draw(t, "home") {
			c.Charge = energy.ACCharge{OutletKW: rapid.Float64Range(1, 20).Draw(t, "kW"), Efficiency: rapid.Float64Range(0.7, 1).Draw(t, "efficiency")}
		}
		for d := range c.KmByWeekday {
			c.KmByWeekday[d] = rapid.Float64Range(0, 400).Draw(t, "km")
		}
		for m := range c.KWhPer100Km {
			c.KWhPer100Km[m] = rapid.Float64Range(10, 40).Draw(t, "kWh/100km")
		}
		h.Cars = append(h.Cars, c)
		day := 0
		for range rapid.IntRange(0, 4).Draw(t, "trips") {
			day += rapid.IntRange(1, 60).Draw(t, "gap")
			nights := rapid.IntRange(0, 14).Draw(t, "nights")
			h.Trips = append(h.Trips, Trip{
				Car: i, Date: time.Date(h.Year, 1, 1+day, 0, 0, 0, 0, time.UTC), NightsAway: nights, HostKWh: float64(day % 30),
				Km: rapid.Float64Range(0, 2000).Draw(t, "km"), HomeKWh: rapid.Float64Range(0, 150).Draw(t, "home"),
				FastKWh: rapid.Float64Range(0, 300).Draw(t, "fast"), FastH: rapid.Float64Range(0, 9).Draw(t, "h"),
			})
			day += nights
		}
	}
	return h
}

// Energy closes to 0.1 kWh (here far closer) in every household.
func TestYearLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHousehold(t)
		r, err := h.Simulate()
		if err != nil {
			t.Fatal(err)
		}
		total := r.Total()
		if math.Abs(r.ImbalanceKWh) > 0.1*1e-4 {
			t.Fatalf("the year is off by %g kWh", r.ImbalanceKWh)
		}
		if total.HomeOutletKWh < total.HomeBatteryKWh-1e-9 || total.DearKWh > total.HomeOutletKWh+1e-9 || total.DearNights > total.ChargeNights {
			t.Fatalf("%+v", total)
		}
		var driven float64
		for i := range h.Cars {
			driven += h.Cars[i].UsableKWh
		}
		if r.EndKWh < -1e-9 || r.EndKWh > driven+1e-6 {
			t.Fatalf("%g kWh at the end in %g kWh of batteries", r.EndKWh, driven)
		}
		// The same amount more on every price moves the cost, not the charging.
		dearer := *h
		dearer.Tariff.OtherPerKWh += 0.1
		dearer.Tariff.Periods = nil
		for _, p := range h.Tariff.Periods {
			p.PerKWh += 0.1
			dearer.Tariff.Periods = append(dearer.Tariff.Periods, p)
		}
		more, err := dearer.Simulate()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(more.Total().HomeCost-total.HomeCost-0.1*total.HomeOutletKWh) > 1e-6*(1+math.Abs(total.HomeCost)) {
			t.Fatalf("0.10 more a kWh on %g kWh: %g and %g", total.HomeOutletKWh, total.HomeCost, more.Total().HomeCost)
		}
	})
}

// One night of a year costs what energy.Night says.
func TestNightAgreesWithEnergyNight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minute := rapid.IntRange(0, 1440)
		h := &Household{Year: 2025, Cars: []Car{evenCar(rapid.Float64Range(1, 11).Draw(t, "kW"))}, Tariff: Tariff{OtherPerKWh: 0.3}}
		var rates []energy.Rate
		for range rapid.IntRange(0, 3).Draw(t, "rates") {
			rates = append(rates, energy.Rate{FromMin: minute.Draw(t, "from"), ToMin: minute.Draw(t, "to"), PerKWh: rapid.Float64Range(0, 1).Draw(t, "price")})
			h.Tariff.Periods = append(h.Tariff.Periods, Period{Rate: rates[len(rates)-1]})
		}
		c := &h.Cars[0]
		soc := rapid.Float64Range(0, 0.8).Draw(t, "SoC")
		want, err := energy.Night{Charge: c.Charge, UsableKWh: c.UsableKWh, ArriveSoC: soc, TargetSoC: 0.8, ArriveMin: c.ArriveMin, DepartMin: c.DepartMin, Rates: rates, OtherPerKWh: 0.3}.Result()
		if err != nil {
			t.Fatal(err)
		}
		var p purchase
		c.buy(h.night(time.Date(2025, 5, 6, 0, 0, 0, 0, time.UTC)), &p, (0.8-soc)*c.UsableKWh/c.Charge.Efficiency)
		if math.Abs(p.outletKWh-want.OutletKWh) > 1e-9 || math.Abs(p.cost-want.Cost) > 1e-9 || math.Abs(p.outletKWh-p.dearKWh-want.CheapKWh) > 1e-9 {
			t.Fatalf("%+v, energy.Night %+v", p, want)
		}
	})
}

func TestHouseholdErrors(t *testing.T) {
	date := func(month time.Month, day int) time.Time { return time.Date(2025, month, day, 0, 0, 0, 0, time.UTC) }
	for says, change := range map[string]func(*Household){
		"Year: found 0":                  func(h *Household) { h.Year = 0 },
		"Cars: found none":               func(h *Household) { h.Cars = nil },
		"UsableKWh: found NaN":           func(h *Household) { h.Cars[0].UsableKWh = math.NaN() },
		"km on Monday: found -1":         func(h *Household) { h.Cars[0].KmByWeekday[1] = -1 },
		"kWh/100 km in March: found 0":   func(h *Household) { h.Cars[0].KWhPer100Km[2] = 0 },
		"ArriveMin: found 600":           func(h *Household) { h.Cars[0].ArriveMin = 600 },
		"DepartMin: found 800":           func(h *Household) { h.Cars[0].DepartMin = 800 },
		"Charge.Efficiency: found 0":     func(h *Household) { h.Cars[0].Charge.Efficiency = 0 },
		"ReserveSoC: found 0.85":         func(h *Household) { h.Cars[0].ReserveSoC = 0.85 },
		"tariff period 1: rate 1, FromM": func(h *Household) { h.Tariff.Periods = []Period{rate(-1, 3, 0.1)} },
		"trip 1, Car: found 1":           func(h *Household) { h.Trips = []Trip{{Car: 1, Date: date(5, 1)}} },
		"trip 1, Date: found 2024-05-01": func(h *Household) { h.Trips = []Trip{{Date: date(5, 1).AddDate(-1, 0, 0)}} },
		"after trip 2 of the same car":   func(h *Household) { h.Trips = []Trip{{Date: date(5, 3)}, {Date: date(5, 1), NightsAway: 2}} },
	} {
		h := &Household{Year: 2025, Cars: []Car{evenCar(7)}}
		change(h)
		_, err := h.Simulate()
		var in *fault.Input
		if !errors.As(err, &in) || !strings.Contains(err.Error(), says) {
			t.Errorf("error %v, want %q in it", err, says)
		}
	}
	h := &Household{Year: 2025, Cars: []Car{evenCar(7)}}
	for _, fuel := range []FuelCar{{LitresPer100Km: -1}, {LitresPer100Km: 5, PerLitre: math.NaN()}} {
		if _, err := h.Compare(nil, fuel); err == nil {
			t.Errorf("%+v: no error", fuel)
		}
	}
}

func BenchmarkYear(b *testing.B) {
	h := &Household{Year: 2025, Cars: []Car{evenCar(7.2), evenCar(7.2)}, FeedKW: 9.6, Tariff: Tariff{Periods: []Period{rate(23, 7, 0.12), rate(17, 21, 0.45)}, OtherPerKWh: 0.30}}
	for b.Loop() {
		if _, err := h.Simulate(); err != nil {
			b.Fatal(err)
		}
	}
}

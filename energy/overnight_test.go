package energy

import (
	"math"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var cheapNight = []Rate{{FromMin: 23 * 60, ToMin: 7 * 60, PerKWh: 0.12}}

// By hand: 60 kWh car, 7.2 kW at the outlet, 90 %. From 30 to 100 % the
// battery needs 42 kWh, the outlet gives 46.667 kWh in 6.481 h; the cheap
// rate lasts 8 h, so all of it is cheap: 46.667·0.12 = 5.60. From 5 to 100 %
// it is 63.333 kWh, of which 57.6 fit in the cheap hours.
func TestNightByHand(t *testing.T) {
	night := Night{
		Charge:    ACCharge{OutletKW: 7.2, BatteryKW: 6.48, Efficiency: 0.9},
		UsableKWh: 60, ArriveSoC: 0.30, ArriveMin: 18 * 60, DepartMin: 7*60 + 30,
		Rates: cheapNight, OtherPerKWh: 0.30,
	}
	r, err := night.Result()
	if err != nil {
		t.Fatal(err)
	}
	within(t, "SoC", r.DepartSoC, 1, 1e-12)
	within(t, "outlet kWh", r.OutletKWh, 46.6667, 1e-4)
	within(t, "cheap kWh", r.CheapKWh, 46.6667, 1e-4)
	within(t, "cost", r.Cost, 5.60, 1e-9)
	within(t, "hours", r.ChargeH, 6.4815, 1e-4)

	night.ArriveSoC = 0.05
	if r, err = night.Result(); err != nil {
		t.Fatal(err)
	}
	within(t, "cheap kWh", r.CheapKWh, 57.6, 1e-9)
	within(t, "cost", r.Cost, 57.6*0.12+(63.3333-57.6)*0.30, 1e-4)
	if !r.Reached {
		t.Error("13.5 h at 7.2 kW do not give 63 kWh")
	}

	// On a 12 A outlet, 13.5 h at 1.44 kW give 19.44 kWh and 87.4 % of them.
	night.Charge = ACCharge{OutletKW: 1.44, Efficiency: 0.874}
	if r, err = night.Result(); err != nil {
		t.Fatal(err)
	}
	within(t, "SoC on level 1", r.DepartSoC, 0.05+19.44*0.874/60, 1e-9)
	if r.Reached {
		t.Error("level 1 fills the car in a night")
	}
}

// Common practice: an ordinary evening's charge takes three to five hours,
// starting when the cheap rate begins.
func TestOrdinaryEvening(t *testing.T) {
	onBoard := OnBoard{PowerKW: 11, Phases: 1, CurrentA: 48, Efficiency: 0.9}
	charge, err := onBoard.On(Circuit{VoltageV: 240, BreakerA: 40})
	if err != nil {
		t.Fatal(err)
	}
	const usableKWh = 72
	r, err := Night{Charge: charge, UsableKWh: usableKWh, ArriveSoC: 0.45, TargetSoC: 0.8, ArriveMin: 18 * 60, DepartMin: 7 * 60, Rates: cheapNight, OtherPerKWh: 0.3}.Result()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%.0f kWh usable, 45 to 80 %% on a 40 A breaker: %.1f h, all of it cheap: %v", float64(usableKWh), r.ChargeH, r.CheapKWh == r.OutletKWh)
	if r.ChargeH < 3 || r.ChargeH > 5 || r.CheapKWh != r.OutletKWh {
		t.Errorf("takes %.1f h", r.ChargeH)
	}
}

func TestSlots(t *testing.T) {
	slots := Slots(18*60, 14*60, []Rate{{23 * 60, 7 * 60, 0.1}, {17 * 60, 21 * 60, 0.4}}, 0.2)
	want := []Slot{{0, 180, 0.4}, {180, 300, 0.2}, {300, 780, 0.1}, {780, 840, 0.2}}
	if len(slots) != len(want) {
		t.Fatalf("%v", slots)
	}
	for i := range want {
		if slots[i] != want[i] {
			t.Errorf("slot %d: %v, want %v", i, slots[i], want[i])
		}
	}
}

func TestNightLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minute := rapid.IntRange(0, 1439)
		night := Night{
			Charge:    ACCharge{OutletKW: rapid.Float64Range(1, 20).Draw(t, "kW"), Efficiency: rapid.Float64Range(0.7, 1).Draw(t, "efficiency")},
			UsableKWh: rapid.Float64Range(10, 150).Draw(t, "kWh"), ArriveSoC: rapid.Float64Range(0, 1).Draw(t, "SoC"),
			ArriveMin: minute.Draw(t, "arrive"), DepartMin: minute.Draw(t, "depart"),
			OtherPerKWh: rapid.Float64Range(-0.1, 1).Draw(t, "price"),
		}
		for range rapid.IntRange(0, 3).Draw(t, "rates") {
			night.Rates = append(night.Rates, Rate{minute.Draw(t, "from"), minute.Draw(t, "to"), rapid.Float64Range(-0.1, 1).Draw(t, "price")})
		}
		r, err := night.Result()
		if err != nil {
			t.Fatal(err)
		}
		stay := float64((night.DepartMin-night.ArriveMin+2*1440-1)%1440+1) / 60
		if r.DepartSoC > 1+1e-9 || r.DepartSoC < night.ArriveSoC || r.BatteryKWh > r.OutletKWh || r.OutletKWh > night.Charge.OutletKW*stay*(1+1e-9) || r.CheapKWh > r.OutletKWh*(1+1e-12) {
			t.Fatalf("%+v", r)
		}
		stored := (r.DepartSoC - night.ArriveSoC) * night.UsableKWh
		if math.Abs(stored-r.OutletKWh*night.Charge.Efficiency) > 1e-9*(1+stored) {
			t.Fatalf("%g kWh stored of %g kWh", stored, r.OutletKWh)
		}
		var hours float64
		slots := Slots(night.ArriveMin, int(math.Round(stay*60)), night.Rates, night.OtherPerKWh)
		for i, s := range slots {
			hours += s.Hours()
			if i > 0 && s.FromMin != slots[i-1].ToMin {
				t.Fatalf("a hole before slot %d of %v", i, slots)
			}
			// Minute by minute, the price is that of the first rate that holds.
			for m := s.FromMin; m < s.ToMin; m += 7 {
				price := night.OtherPerKWh
				for k := len(night.Rates) - 1; k >= 0; k-- {
					if night.Rates[k].holds((night.ArriveMin + m) % 1440) {
						price = night.Rates[k].PerKWh
					}
				}
				if price != s.PerKWh {
					t.Fatalf("minute %d: %g, slot says %g", m, price, s.PerKWh)
				}
			}
		}
		if math.Abs(hours-stay) > 1e-9 {
			t.Fatalf("%g h in slots, %g h of stay", hours, stay)
		}
	})
}

// Minute by minute and without slots: the cheapest minutes of the stay, until
// the battery is full.
func TestNightAgainstMinutes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minute := rapid.IntRange(0, 1439)
		night := Night{
			Charge: ACCharge{OutletKW: 6, Efficiency: 0.9}, UsableKWh: 54, ArriveSoC: rapid.Float64Range(0, 1).Draw(t, "SoC"),
			ArriveMin: minute.Draw(t, "arrive"), DepartMin: minute.Draw(t, "depart"), OtherPerKWh: 0.3,
		}
		for range rapid.IntRange(0, 3).Draw(t, "rates") {
			night.Rates = append(night.Rates, Rate{minute.Draw(t, "from"), minute.Draw(t, "to"), rapid.Float64Range(0, 1).Draw(t, "price")})
		}
		r, err := night.Result()
		if err != nil {
			t.Fatal(err)
		}
		var prices []float64
		for m := night.ArriveMin; len(prices) == 0 || m%1440 != night.DepartMin; m++ {
			clock, price := m%1440, 0.3
			for k := len(night.Rates) - 1; k >= 0; k-- {
				from, to := night.Rates[k].FromMin, night.Rates[k].ToMin
				if from < to && from <= clock && clock < to || from >= to && (from <= clock || clock < to) {
					price = night.Rates[k].PerKWh
				}
			}
			prices = append(prices, price)
		}
		sort.Float64s(prices)
		need, cost := (1-night.ArriveSoC)*60, 0.0
		for _, price := range prices {
			kWh := min(need, 0.1) // 6 kW for a minute
			cost += kWh * price
			need -= kWh
		}
		if math.Abs(cost-r.Cost) > 1e-9*(1+cost) {
			t.Fatalf("cost %g, minute by minute %g", r.Cost, cost)
		}
	})
}

func TestNightErrors(t *testing.T) {
	good := Night{Charge: ACCharge{OutletKW: 7, Efficiency: 0.9}, UsableKWh: 60}
	for says, change := range map[string]func(*Night){
		"Charge: found 0 kW":       func(n *Night) { n.Charge.OutletKW = 0 },
		"UsableKWh: found NaN":     func(n *Night) { n.UsableKWh = math.NaN() },
		"ArriveSoC: found 1.2":     func(n *Night) { n.ArriveSoC = 1.2 },
		"TargetSoC: found -1":      func(n *Night) { n.TargetSoC = -1 },
		"DepartMin: found 1440":    func(n *Night) { n.DepartMin = 1440 },
		"rate 1, FromMin, ToMin":   func(n *Night) { n.Rates = []Rate{{FromMin: -1}} },
		"rate 1, PerKWh: found +I": func(n *Night) { n.Rates = []Rate{{PerKWh: math.Inf(1)}} },
	} {
		n := good
		change(&n)
		if _, err := n.Result(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("error %v, want %q in it", err, says)
		}
	}
}

package energy

import (
	"cmp"
	"slices"
	"strconv"

	"ampleway/data/fault"
)

const minutesPerDay = 24 * 60

// Rate is the price of electricity in one part of every day.
type Rate struct {
	FromMin, ToMin int     // minutes after midnight, 0..1440; ToMin ≤ FromMin runs past midnight
	PerKWh         float64 // price of a kWh at the outlet
}

func (r Rate) holds(minuteOfDay int) bool {
	if r.FromMin < r.ToMin {
		return minuteOfDay >= r.FromMin && minuteOfDay < r.ToMin
	}
	return minuteOfDay >= r.FromMin || minuteOfDay < r.ToMin
}

// Slot is a stretch of a stay at one price.
type Slot struct {
	FromMin, ToMin int     // minutes after arrival
	PerKWh         float64 // price of a kWh at the outlet
}

// Hours returns the length of s.
func (s Slot) Hours() float64 { return float64(s.ToMin-s.FromMin) / 60 }

// Slots cuts a stay that begins arriveMin minutes after midnight and lasts
// stayMin minutes where the price changes. The first of the rates that holds
// gives the price; otherPerKWh is the price where none does.
func Slots(arriveMin, stayMin int, rates []Rate, otherPerKWh float64) []Slot {
	price := func(minute int) float64 {
		for _, r := range rates {
			if r.holds(minute % minutesPerDay) {
				return r.PerKWh
			}
		}
		return otherPerKWh
	}
	cuts := []int{0, stayMin}
	for _, r := range rates {
		for _, edge := range []int{r.FromMin, r.ToMin} {
			first := ((edge-arriveMin)%minutesPerDay + minutesPerDay) % minutesPerDay
			for cut := first; cut < stayMin; cut += minutesPerDay {
				cuts = append(cuts, cut)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var slots []Slot
	for i := 1; i < len(cuts); i++ {
		p := price(arriveMin + cuts[i-1])
		if n := len(slots); n > 0 && slots[n-1].PerKWh == p {
			slots[n-1].ToMin = cuts[i]
			continue
		}
		slots = append(slots, Slot{FromMin: cuts[i-1], ToMin: cuts[i], PerKWh: p})
	}
	return slots
}

// fillCheapest spreads needKWh (at the outlet) over the slots, the cheapest
// first and the earlier of equal ones, at no more than powerKW, and returns the
// kWh in each slot.
func fillCheapest(slots []Slot, powerKW, needKWh float64) []float64 {
	order := make([]int, len(slots))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(slots[a].PerKWh, slots[b].PerKWh) })
	kWh := make([]float64, len(slots))
	for _, i := range order {
		kWh[i] = max(0, min(needKWh, powerKW*slots[i].Hours()))
		needKWh -= kWh[i]
	}
	return kWh
}

// Night is one stay on an AC supply.
type Night struct {
	Charge      ACCharge // what flows, see OnBoard.On
	UsableKWh   float64  // > 0
	ArriveSoC   float64  // 0..1
	TargetSoC   float64  // 0..1; 0: 1
	ArriveMin   int      // minutes after midnight, 0..1439
	DepartMin   int      // minutes after midnight; not later than ArriveMin means the next day
	Rates       []Rate   // cheap hours and others; the first that holds counts
	OtherPerKWh float64  // price outside Rates
}

// NightResult is what a stay gives.
type NightResult struct {
	DepartSoC  float64 // reached by departure
	BatteryKWh float64 // into the battery
	OutletKWh  float64 // drawn from the circuit
	CheapKWh   float64 // the part of OutletKWh at the lowest price of the stay
	Cost       float64 // in the money of the rates
	ChargeH    float64 // hours of charging
	Reached    bool    // the target was reached
}

// Result works out the night: the cheapest hours first, then, if the target is
// not reached in them, the others.
func (n Night) Result() (NightResult, error) {
	if err := n.validate(); err != nil {
		return NightResult{}, err
	}
	stay := n.DepartMin - n.ArriveMin
	if stay <= 0 {
		stay += minutesPerDay
	}
	slots := Slots(n.ArriveMin, stay, n.Rates, n.OtherPerKWh)
	need := max(0, cmp.Or(n.TargetSoC, 1)-n.ArriveSoC) * n.UsableKWh / n.Charge.Efficiency
	kWh := fillCheapest(slots, n.Charge.OutletKW, need)

	least := slices.MinFunc(slots, func(a, b Slot) int { return cmp.Compare(a.PerKWh, b.PerKWh) }).PerKWh
	var r NightResult
	for i, s := range slots {
		r.OutletKWh += kWh[i]
		r.Cost += kWh[i] * s.PerKWh
		if s.PerKWh == least {
			r.CheapKWh += kWh[i]
		}
	}
	r.BatteryKWh = r.OutletKWh * n.Charge.Efficiency
	r.ChargeH = r.OutletKWh / n.Charge.OutletKW
	r.Reached = r.OutletKWh >= need*(1-1e-12)
	r.DepartSoC = n.ArriveSoC + r.BatteryKWh/n.UsableKWh
	return r, nil
}

func (n Night) validate() error {
	if !(n.Charge.OutletKW > 0) || !(n.Charge.Efficiency > 0 && n.Charge.Efficiency <= 1) {
		return &fault.Input{Field: "Charge", Found: figure(n.Charge.OutletKW) + " kW", Expected: "a power above 0 and an efficiency from 0 to 1, as OnBoard.On gives"}
	}
	if !(n.UsableKWh > 0 && n.UsableKWh < 1e6) {
		return &fault.Input{Field: "UsableKWh", Found: figure(n.UsableKWh), Expected: "more than 0 kWh"}
	}
	for _, f := range []struct {
		name string
		soc  float64
	}{{"ArriveSoC", n.ArriveSoC}, {"TargetSoC", n.TargetSoC}} {
		if !(f.soc >= 0 && f.soc <= 1) {
			return &fault.Input{Field: f.name, Found: figure(f.soc), Expected: "0 to 1"}
		}
	}
	for _, f := range []struct {
		name   string
		minute int
	}{{"ArriveMin", n.ArriveMin}, {"DepartMin", n.DepartMin}} {
		if f.minute < 0 || f.minute >= minutesPerDay {
			return &fault.Input{Field: f.name, Found: strconv.Itoa(f.minute), Expected: "0 to 1439 minutes after midnight"}
		}
	}
	return ValidateRates(n.Rates)
}

// ValidateRates says which rate lies outside the day or has no finite price.
func ValidateRates(rates []Rate) error {
	for i, r := range rates {
		where := "rate " + strconv.Itoa(i+1)
		if r.FromMin < 0 || r.FromMin > minutesPerDay || r.ToMin < 0 || r.ToMin > minutesPerDay {
			return &fault.Input{Where: where, Field: "FromMin, ToMin", Found: strconv.Itoa(r.FromMin) + ", " + strconv.Itoa(r.ToMin), Expected: "0 to 1440 minutes after midnight"}
		}
		if !(r.PerKWh > -1e6 && r.PerKWh < 1e6) {
			return &fault.Input{Where: where, Field: "PerKWh", Found: figure(r.PerKWh), Expected: "a price"}
		}
	}
	return nil
}

package trip

import (
	"fmt"
	"math"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route/question"
)

// Night is the charging at home before a trip.
type Night struct {
	Plug       Plug
	ArriveSoC  float64 // when it is plugged in
	FromMin    int     // plugged in at, minutes after midnight
	DepartMin  int
	WantSoC    float64
	Cheap      string // cheap hours as they were given; empty: none
	Result     energy.NightResult
	EnoughA    float64 // the smallest standard breaker of a level 2 circuit that reaches WantSoC, where this one does not; 0: none does
	EarlierMin int     // the plugging in that would do, where WantSoC is not reached; negative: not on that evening
}

// Price ratio of the cheap hours to the others: only their order counts, the
// plan says hours and not money.
const cheapPerKWh, dearPerKWh = 1, 2

// nightOf works out what the home circuit reaches by departure.
func nightOf(r *question.Question, car *energy.Car, g Goal) (*Night, error) {
	if r.HomePlug == "" {
		return nil, nil
	}
	if !g.timed() {
		return nil, &fault.Input{Field: "home_plug", Found: r.HomePlug, Expected: "a time of departure or arrival with it"}
	}
	leave := g.Depart
	if leave.IsZero() {
		leave = g.ArriveBy // until the departure is found
	}
	plug, err := ParsePlug(r.HomePlug)
	if err != nil {
		return nil, err
	}
	if !plug.AC {
		return nil, &fault.Input{Field: "home_plug", Found: r.HomePlug, Expected: "level1, level1:BREAKER or level2:BREAKER"}
	}
	from, err := time.Parse("15:04", r.HomeFrom)
	if err != nil {
		return nil, &fault.Input{Field: "home_from", Found: r.HomeFrom, Expected: "a time of day such as 18:30"}
	}
	n := &Night{
		Plug: plug, ArriveSoC: r.HomeSoCPct / 100, WantSoC: g.DepartSoC, Cheap: r.CheapHours,
		FromMin: 60*from.Hour() + from.Minute(), DepartMin: 60*leave.Hour() + leave.Minute(),
	}
	return n, n.work(car)
}

func (n *Night) work(car *energy.Car) error {
	result, err := n.at(car, n.Plug.Circuit, n.FromMin)
	if err != nil {
		return err
	}
	n.Result = result
	if result.Reached {
		return nil
	}
	circuit := n.Plug.Circuit
	circuit.VoltageV = max(circuit.VoltageV, level2V)
	if circuit.Phases == 3 {
		circuit.VoltageV = n.Plug.Circuit.VoltageV
	}
	for _, breakerA := range []float64{20, 30, 40, 50, 60, 70, 80, 100} {
		circuit.BreakerA = breakerA
		if better, err := n.at(car, circuit, n.FromMin); err == nil && better.Reached {
			n.EnoughA = breakerA
			break
		}
	}
	missingKWh := (n.WantSoC - result.DepartSoC) * car.UsableKWh
	charge, err := car.AC.On(n.Plug.Circuit)
	if err != nil {
		return err
	}
	n.EarlierMin = n.FromMin - int(math.Ceil(60*missingKWh/charge.BatteryKW))
	return nil
}

func (n *Night) at(car *energy.Car, circuit energy.Circuit, fromMin int) (energy.NightResult, error) {
	charge, err := car.AC.On(circuit)
	if err != nil {
		return energy.NightResult{}, err
	}
	night := energy.Night{
		Charge: charge, UsableKWh: car.UsableKWh, ArriveSoC: n.ArriveSoC, TargetSoC: max(n.WantSoC, n.ArriveSoC),
		ArriveMin: fromMin, DepartMin: n.DepartMin, OtherPerKWh: dearPerKWh,
	}
	for _, hours := range strings.Split(n.Cheap, ",") {
		if hours == "" {
			continue
		}
		from, to, ok := parseHours(hours)
		if !ok {
			return energy.NightResult{}, &fault.Input{Field: "cheap_hours", Found: n.Cheap, Expected: "hours such as 23:00-06:00"}
		}
		night.Rates = append(night.Rates, energy.Rate{FromMin: from, ToMin: to, PerKWh: cheapPerKWh})
	}
	return night.Result()
}

// Text says what the night gives, and where that is not enough, what would do.
func (n *Night) Text() string {
	text := fmt.Sprintf("At home: plugged in at %s with %.0f %% on %s, the car charges for %.1f hours and leaves at %s with %.0f %%",
		clockText(n.FromMin), 100*n.ArriveSoC, n.Plug.Text(), n.Result.ChargeH, clockText(n.DepartMin), math.Floor(100*n.Result.DepartSoC+1e-6))
	if n.Cheap != "" {
		text += fmt.Sprintf(", %.0f of %.0f kWh in the cheap hours", n.Result.CheapKWh, n.Result.OutletKWh)
	}
	if n.Result.Reached {
		return text + "."
	}
	text += fmt.Sprintf(". That is short of the %.0f %% asked for, and the plan counts with it.", 100*n.WantSoC)
	var cures []string
	if n.EarlierMin >= 0 {
		cures = append(cures, "plugging in by "+clockText(n.EarlierMin))
	}
	if n.EnoughA > 0 {
		cures = append(cures, fmt.Sprintf("a level 2 circuit on a %.0f A breaker, if a licensed electrician finds that the house can carry it", n.EnoughA))
	}
	if len(cures) == 0 {
		return text + " No circuit of this kind would reach it; one more evening would help."
	}
	return text + " Enough would be " + strings.Join(cures, ", or ") + "."
}

func clockText(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }

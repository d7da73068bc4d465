package trip

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/energy/taper"
)

// Plug is what a car can be plugged into while it is parked. The zero value is
// nothing at all.
type Plug struct {
	Circuit energy.Circuit // with AC
	AC      bool
	DCKW    float64 // a fast charger of this power; 0: none
}

// Supply voltages where a plug does not say: 120 V outlet and 240 V circuit on
// one phase (SAE J1772 levels 1 and 2), 230 V to neutral on three.
const (
	level1V        = 120
	level2V        = 240
	threePhaseV    = 230
	level1BreakerA = 15
)

// PlugForms lists what ParsePlug reads.
const PlugForms = `none, level1, level1:BREAKER, level2:BREAKER (amps), level2:BREAKERx3 (three phases) or dc:KW`

// ParsePlug reads none, level1, level1:20, level2:40, level2:16x3 or dc:50.
// The figure is the breaker in amps, for dc the power in kW.
func ParsePlug(text string) (Plug, error) {
	kind, figure, given := strings.Cut(strings.TrimSpace(text), ":")
	bad := &fault.Input{Field: "plug", Found: text, Expected: PlugForms}
	figure, phases, three := strings.Cut(figure, "x")
	value := 0.0
	if given {
		v, err := strconv.ParseFloat(figure, 64)
		if err != nil || !(v > 0 && v <= 2000) {
			return Plug{}, bad
		}
		value = v
	}
	if three && (phases != "3" || kind != "level2") {
		return Plug{}, bad
	}
	switch {
	case kind == "none" && !given:
		return Plug{}, nil
	case kind == "level1" && !given:
		return Plug{AC: true, Circuit: energy.Circuit{VoltageV: level1V, BreakerA: level1BreakerA}}, nil
	case kind == "level1":
		return Plug{AC: true, Circuit: energy.Circuit{VoltageV: level1V, BreakerA: value}}, nil
	case kind == "level2" && given && three:
		return Plug{AC: true, Circuit: energy.Circuit{VoltageV: threePhaseV, BreakerA: value, Phases: 3}}, nil
	case kind == "level2" && given:
		return Plug{AC: true, Circuit: energy.Circuit{VoltageV: level2V, BreakerA: value}}, nil
	case kind == "dc" && given:
		return Plug{DCKW: value}, nil
	}
	return Plug{}, bad
}

// Text names a plug for people.
func (p Plug) Text() string {
	switch {
	case p.DCKW > 0:
		return fmt.Sprintf("a fast charger of %.0f kW", p.DCKW)
	case !p.AC:
		return "no plug"
	case p.Circuit.Level() == 1:
		return fmt.Sprintf("a level 1 outlet on a %.0f A breaker", p.Circuit.BreakerA)
	case p.Circuit.Phases == 3:
		return fmt.Sprintf("a three-phase level 2 circuit on a %.0f A breaker", p.Circuit.BreakerA)
	}
	return fmt.Sprintf("a level 2 circuit on a %.0f A breaker", p.Circuit.BreakerA)
}

// curve is the power into a car's battery at the plug. At a fast charger the
// battery has cooled or warmed to tempC while parked.
func (p Plug) curve(car *energy.Car, tempC float64) (taper.Curve, error) {
	switch {
	case p.DCKW > 0:
		return car.ChargeCurve(energy.DCSupply{PowerKW: p.DCKW}, energy.Battery{}, tempC)
	case p.AC:
		return car.ACCurve(p.Circuit)
	}
	return taper.Flat(0), nil
}

// Stay is a time between two drives.
type Stay struct {
	TimeS float64
	Plug  Plug
}

// ParseStay reads a length of time and a plug: "6h level2:40", "90m none", "2h".
func ParseStay(text string) (Stay, error) {
	fields := strings.Fields(text)
	bad := &fault.Input{Field: "stay", Found: text, Expected: `a time and what to plug into, such as "6h level2:40"; plugs are ` + PlugForms}
	if len(fields) < 1 || len(fields) > 2 {
		return Stay{}, bad
	}
	length, err := time.ParseDuration(fields[0])
	if err != nil || length < 0 || length > 60*24*time.Hour {
		return Stay{}, bad
	}
	stay := Stay{TimeS: length.Seconds()}
	if len(fields) == 2 {
		if stay.Plug, err = ParsePlug(fields[1]); err != nil {
			return Stay{}, err
		}
	}
	return stay, nil
}

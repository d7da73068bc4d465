package question

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Units is what people read and write lengths, speeds, temperatures and masses
// in.
type Units uint8

// The systems of units. Files and JSON are always metric.
const (
	Metric Units = iota
	US           // miles, feet, degrees Fahrenheit, pounds
)

// ParseUnits reads "metric" or "us".
func ParseUnits(text string) (Units, bool) {
	switch text {
	case "metric":
		return Metric, true
	case "us":
		return US, true
	}
	return Metric, false
}

// Exact by definition: the international mile, foot and pound.
const (
	MetresPerMile = 1609.344
	metresPerFoot = 0.3048
	KgPerPound    = 0.45359237
)

// Unit is what a figure is measured in. The zero value is a bare number or a
// text.
type Unit struct {
	Sign   string // as people write it: "km/h"
	suffix string // of a key: "kmh"
	us     *usUnit
}

// usUnit is the unit that takes a metric one's place for readers in miles:
// US figure × scale + offset = metric figure.
type usUnit struct {
	Sign, suffix  string
	scale, offset float64
}

// The units of questions.
var (
	None       = Unit{}
	Percent    = Unit{Sign: "%", suffix: "pct"}
	Minutes    = Unit{Sign: "min", suffix: "min"}
	Hours      = Unit{Sign: "h", suffix: "h"}
	Degrees    = Unit{Sign: "°", suffix: "deg"}
	Kilowatts  = Unit{Sign: "kW", suffix: "kw"}
	PerKWh     = Unit{Sign: "per kWh", suffix: "per_kwh"}
	Kilometres = Unit{Sign: "km", suffix: "km", us: &usUnit{"mi", "mi", MetresPerMile / 1000, 0}}
	KMPerHour  = Unit{Sign: "km/h", suffix: "kmh", us: &usUnit{"mph", "mph", MetresPerMile / 1000, 0}}
	Celsius    = Unit{Sign: "°C", suffix: "c", us: &usUnit{"°F", "f", 5.0 / 9, -32 * 5.0 / 9}}
	Kilograms  = Unit{Sign: "kg", suffix: "kg", us: &usUnit{"lb", "lb", KgPerPound, 0}}
	MMPerHour  = Unit{Sign: "mm/h", suffix: "mm_per_h", us: &usUnit{"in/h", "in_per_h", 25.4, 0}}
)

// Metres are of heights, which no question asks for.
var Metres = Unit{Sign: "m", us: &usUnit{Sign: "ft", scale: metresPerFoot}}

// In is the sign of the unit in a system.
func (u Unit) In(s Units) string {
	if s == US && u.us != nil {
		return u.us.Sign
	}
	return u.Sign
}

// Metric turns a figure that was given in a system of units into the metric
// one.
func (u Unit) Metric(v float64, s Units) float64 {
	if s == US && u.us != nil {
		return v*u.us.scale + u.us.offset
	}
	return v
}

// Figure turns a metric figure into that of a system of units.
func (u Unit) Figure(metric float64, s Units) float64 {
	if s == US && u.us != nil {
		return (metric - u.us.offset) / u.us.scale
	}
	return metric
}

// Text writes a metric figure with its unit; one that is turned into another
// unit to a tenth, below ten to a hundredth.
func (u Unit) Text(metric float64, s Units) string {
	if s == US && u.us != nil {
		metric = u.Figure(metric, s)
		steps := 10.0
		if math.Abs(metric) < 10 {
			steps = 100
		}
		metric = math.Round(steps*metric)/steps + 0
	}
	figure := strconv.FormatFloat(metric, 'f', -1, 64)
	if u == Degrees {
		return figure + u.Sign
	}
	return strings.TrimSpace(figure + " " + u.In(s))
}

// Distance gives a length on the road, without decimals from 10 km or miles on.
func (u Units) Distance(m float64) string {
	value := Kilometres.Figure(m/1000, u)
	if math.Abs(value) < 9.95 {
		return fmt.Sprintf("%.1f %s", value, u.DistanceUnit())
	}
	return fmt.Sprintf("%.0f %s", value, u.DistanceUnit())
}

// Chainage gives a whole number of km or miles, without the unit.
func (u Units) Chainage(m float64) string {
	return fmt.Sprintf("%.0f", Kilometres.Figure(m/1000, u))
}

// DistanceUnit is "km" or "mi".
func (u Units) DistanceUnit() string { return Kilometres.In(u) }

// Height gives an elevation or a climb in m or ft.
func (u Units) Height(m float64) string { return whole(Metres, m, u) }

// Speed gives a speed in km/h or mph.
func (u Units) Speed(ms float64) string { return whole(KMPerHour, ms*3.6, u) }

// Temperature gives a temperature in °C or °F.
func (u Units) Temperature(c float64) string { return whole(Celsius, c, u) }

// Mass gives a mass in kg or lb.
func (u Units) Mass(kg float64) string { return whole(Kilograms, kg, u) }

func whole(unit Unit, metric float64, u Units) string {
	return fmt.Sprintf("%.0f %s", unit.Figure(metric, u), unit.In(u))
}

// Consumption gives kWh/100 km, or mi/kWh.
func (u Units) Consumption(kWhPerM float64) string {
	if u == US {
		return fmt.Sprintf("%.1f mi/kWh", 1/(kWhPerM*MetresPerMile))
	}
	return fmt.Sprintf("%.1f kWh/100 km", kWhPerM*1e5)
}

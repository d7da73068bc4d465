package trip

import (
	"fmt"
	"math"
)

// Units is what people read lengths, speeds and temperatures in.
type Units uint8

// The systems of units. Files and JSON are always metric.
const (
	Metric Units = iota
	US           // miles, feet, degrees Fahrenheit
)

const (
	metresPerMile = 1609.344 // international mile, exact
	metresPerFoot = 0.3048   // international foot, exact
)

// Distance gives a length on the road, without decimals from 10 km or miles on.
func (u Units) Distance(m float64) string {
	value, unit := m/1000, "km"
	if u == US {
		value, unit = m/metresPerMile, "mi"
	}
	if math.Abs(value) < 9.95 {
		return fmt.Sprintf("%.1f %s", value, unit)
	}
	return fmt.Sprintf("%.0f %s", value, unit)
}

// Chainage gives a whole number of km or miles, without the unit.
func (u Units) Chainage(m float64) string {
	if u == US {
		return fmt.Sprintf("%.0f", m/metresPerMile)
	}
	return fmt.Sprintf("%.0f", m/1000)
}

// DistanceUnit is "km" or "mi".
func (u Units) DistanceUnit() string {
	if u == US {
		return "mi"
	}
	return "km"
}

// number gives a length in km or miles without the unit, as an option takes it.
func (u Units) number(m float64) string {
	if u == US {
		return fmt.Sprintf("%.0f", math.Ceil(m/metresPerMile-1e-9))
	}
	return fmt.Sprintf("%.0f", m/1000)
}

// Height gives an elevation or a climb in m or ft.
func (u Units) Height(m float64) string {
	if u == US {
		return fmt.Sprintf("%.0f ft", m/metresPerFoot)
	}
	return fmt.Sprintf("%.0f m", m)
}

// Speed gives a speed in km/h or mph.
func (u Units) Speed(ms float64) string {
	if u == US {
		return fmt.Sprintf("%.0f mph", ms*3600/metresPerMile)
	}
	return fmt.Sprintf("%.0f km/h", ms*3.6)
}

// Temperature gives a temperature in °C or °F.
func (u Units) Temperature(c float64) string {
	if u == US {
		return fmt.Sprintf("%.0f °F", c*9/5+32)
	}
	return fmt.Sprintf("%.0f °C", c)
}

// Mass gives a mass in kg or lb (international pound, 0.45359237 kg, exact).
func (u Units) Mass(kg float64) string {
	if u == US {
		return fmt.Sprintf("%.0f lb", kg/0.45359237)
	}
	return fmt.Sprintf("%.0f kg", kg)
}

// Consumption gives kWh/100 km, or mi/kWh.
func (u Units) Consumption(kWhPerM float64) string {
	if u == US {
		return fmt.Sprintf("%.1f mi/kWh", 1/(kWhPerM*metresPerMile))
	}
	return fmt.Sprintf("%.1f kWh/100 km", kWhPerM*1e5)
}

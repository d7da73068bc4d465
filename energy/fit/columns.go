package fit

import (
	"fmt"
	"slices"
	"strings"
)

// channel is one quantity a log can record.
type channel int

const (
	chTime channel = iota
	chSpeed
	chElevation
	chVolts
	chAmps
	chPower
	chSoC
	chHeat
	chCool
	chAmbient
	chPackTemp
	channels
)

// unit converts a recorded figure: value × factor + offset.
type unit struct {
	suffix         string
	factor, offset float64
}

const (
	metreSPerKMH = 1 / 3.6
	metreSPerMPH = 0.44704 // exact
	metrePerFoot = 0.3048  // exact
)

var (
	timeUnits  = []unit{{"s", 1, 0}, {"ms", 1e-3, 0}, {"min", 60, 0}}
	powerUnits = []unit{{"kw", 1, 0}, {"w", 1e-3, 0}}
	tempUnits  = []unit{{"c", 1, 0}, {"f", 5.0 / 9, -160.0 / 9}}
)

// column is a quantity with the names and the units its header may have. The
// header is name_unit; the first of each is the plain one.
type column struct {
	channel   channel
	names     []string
	units     []unit
	low, high float64 // beyond these a figure is an outlier and counts as not recorded
	holdS     float64 // a blank between two figures this close in time is filled in between them
	what      string
}

var columns = [channels]column{
	{chTime, []string{"time", "t", "elapsed", "elapsed_time"}, timeUnits, -1e12, 1e12, 0, "time from any start"},
	{chSpeed, []string{"speed", "vehicle_speed"}, []unit{{"kmh", metreSPerKMH, 0}, {"kph", metreSPerKMH, 0}, {"km_h", metreSPerKMH, 0}, {"ms", 1, 0}, {"mps", 1, 0}, {"m_s", 1, 0}, {"mph", metreSPerMPH, 0}}, -1, 100, 5, "speed"},
	{chElevation, []string{"elevation", "altitude", "height"}, []unit{{"m", 1, 0}, {"ft", metrePerFoot, 0}}, -500, 9000, 120, "elevation above the sea; coarse steps do no harm"},
	{chVolts, []string{"battery", "pack", "battery_voltage", "pack_voltage", "voltage"}, []unit{{"v", 1, 0}}, 20, 1500, 5, "battery voltage"},
	{chAmps, []string{"battery", "pack", "battery_current", "pack_current", "current"}, []unit{{"a", 1, 0}}, -3000, 3000, 5, "battery current, negative while discharging"},
	{chPower, []string{"battery", "pack", "battery_power", "pack_power", "power"}, powerUnits, -2000, 2000, 5, "battery power, negative while discharging, in place of volts and amps"},
	{chSoC, []string{"soc", "state_of_charge"}, []unit{{"pct", 1e-2, 0}, {"percent", 1e-2, 0}}, 0, 1.05, 300, "state of charge"},
	{chHeat, []string{"heating", "heater"}, powerUnits, -0.5, 30, 60, "electric power of the heater"},
	{chCool, []string{"aircon", "air_conditioning", "cooling", "ac"}, powerUnits, -0.5, 30, 60, "electric power of the air conditioning"},
	{chAmbient, []string{"ambient", "outside", "ambient_temp", "outside_temp", "air_temp"}, tempUnits, -60, 60, 600, "outside temperature"},
	{chPackTemp, []string{"battery_temp", "pack_temp", "battery_temperature"}, tempUnits, -60, 90, 600, "battery temperature"},
}

// match finds the column that a header names.
func match(header string) (channel, unit, bool) {
	h := plain(header)
	for _, c := range columns {
		for _, u := range c.units {
			name, ok := strings.CutSuffix(h, "_"+u.suffix)
			if ok && slices.Contains(c.names, name) {
				return c.channel, u, true
			}
		}
	}
	return 0, unit{}, false
}

// plain writes a header in lower case with one _ for everything that is no
// letter or digit: "Battery Current [A]" is battery_current_a.
func plain(header string) string {
	fields := strings.FieldsFunc(strings.ToLower(header), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	})
	return strings.Join(fields, "_")
}

// ColumnHelp describes the columns of a log, one line each.
func ColumnHelp() string {
	var b strings.Builder
	for _, c := range columns {
		var suffixes []string
		for _, u := range c.units {
			suffixes = append(suffixes, u.suffix)
		}
		names := strings.Join(c.names, ", ")
		fmt.Fprintf(&b, "  %-16s %s\n", c.names[0]+"_"+c.units[0].suffix, c.what)
		if len(c.names)+len(suffixes) > 2 {
			fmt.Fprintf(&b, "  %-16s also: %s with _%s\n", "", names, strings.Join(suffixes, " _"))
		}
	}
	return b.String()
}

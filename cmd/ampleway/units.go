package main

import (
	"fmt"
	"strconv"
	"strings"

	"ampleway/route/trip"

	"github.com/spf13/pflag"
)

// unitsFlag is --units: what the options are given in and the text is written
// in. Files are always metric.
type unitsFlag struct{ name string }

func (u *unitsFlag) add(f *pflag.FlagSet) {
	f.StringVar(&u.name, "units", "metric", "units of the options and the text: metric, or us (miles, mph, °F, lb)")
}

func (u *unitsFlag) units() (trip.Units, error) {
	switch u.name {
	case "metric":
		return trip.Metric, nil
	case "us":
		return trip.US, nil
	}
	return trip.Metric, &usageError{fmt.Errorf("--units %q: expected metric or us", u.name)}
}

// toMetric converts the options that were given in US units.
func (u *unitsFlag) toMetric(f *pflag.FlagSet, r *trip.Request) {
	if u.name != "us" {
		return
	}
	const kgPerLb = 0.45359237
	for name, field := range map[string]*float64{
		"wind": &r.WindKMH, "speed-cap": r.SpeedCapKMH, "unknown-speed": &r.DefaultKMH,
		"half-width": &r.HalfWidthKM, "detour-speed": &r.DetourKMH,
	} {
		if f.Changed(name) {
			*field = u.speed(*field)
		}
	}
	if f.Changed("payload") {
		r.PayloadKg *= kgPerLb
	}
	if f.Changed("temp-by-hour") {
		r.TempByHour = u.tempsByHour(r.TempByHour)
	}
	if f.Changed("temp") {
		r.TempC = u.temp(r.TempC)
	}
	if f.Changed("battery-temp") {
		c := u.temp(*r.PackTempC)
		r.PackTempC = &c
	}
}

// speed gives km/h, or km, of what was given.
func (u *unitsFlag) speed(given float64) float64 {
	if u.name != "us" {
		return given
	}
	const kmPerMile = 1.609344
	return given * kmPerMile
}

// temp gives °C of what was given.
func (u *unitsFlag) temp(given float64) float64 {
	if u.name != "us" {
		return given
	}
	return celsius(given)
}

// tempsByHour gives the same text with its temperatures in °C. What is no
// temperature stays: whoever reads the text refuses it.
func (u *unitsFlag) tempsByHour(text string) string {
	parts := strings.Split(text, ",")
	for i, part := range parts {
		clock, figure, timed := strings.Cut(part, "=")
		if !timed {
			clock, figure = "", part
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(figure), 64)
		if err != nil {
			continue
		}
		if parts[i] = strconv.FormatFloat(u.temp(v), 'g', -1, 64); timed {
			parts[i] = clock + "=" + parts[i]
		}
	}
	return strings.Join(parts, ",")
}

func celsius(f float64) float64 { return (f - 32) * 5 / 9 }

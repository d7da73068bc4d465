package year

import (
	"maps"
	"slices"
	"strings"

	"ampleway/data/fault"
	"ampleway/energy"
)

// At is the weather of a home: that of the climate's place, colder by its lapse
// for each kilometre that the home lies higher. An empty name is the climate's
// place. The error is a *fault.Input for a home that the climate, read from
// file, does not know.
func (c *Climate) At(home, file string) (*Climate, error) {
	if home == "" || strings.EqualFold(home, c.Place) {
		return c, nil
	}
	for name, elevationM := range c.Others {
		if strings.EqualFold(name, home) {
			return c.at(name, elevationM), nil
		}
	}
	return nil, &fault.Input{File: file, Field: "home", Found: home, Expected: strings.Join(c.Places(), " or ") + ", whose weather this file has"}
}

// Places are those whose weather the climate has.
func (c *Climate) Places() []string {
	return append([]string{c.Place}, slices.Sorted(maps.Keys(c.Others))...)
}

func (c *Climate) at(name string, elevationM float64) *Climate {
	const metresPerKM = 1000
	colder := c.LapseCPerKM * (elevationM - c.ElevationM) / metresPerKM
	out := *c
	out.Place, out.ElevationM, out.Months = name, elevationM, slices.Clone(c.Months)
	for i := range out.Months {
		m := &out.Months[i]
		night, day := *m.NightC-colder, *m.DayC-colder
		m.NightC, m.DayC = &night, &day
	}
	return &out
}

// Still reports whether the climate has no wind in any month.
func (c *Climate) Still() bool {
	return !slices.ContainsFunc(c.Months, func(m Month) bool { return m.WindKMH > 0 })
}

// conditions are the mean of day and night.
func (m Month) conditions() energy.Conditions {
	return energy.Conditions{TempC: (*m.NightC + *m.DayC) / 2, WindSpeedMS: energy.RoadWindMS(m.WindKMH / 3.6), WindFromDeg: m.WindFromDeg, SunWM2: m.SunWM2 / 2}
}

package open

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"ampleway/data/fault"
	"ampleway/stations/hours"
)

// checkSites lists what shows only when the sites stand beside one another.
func (c *collector) checkSites() {
	c.checkPositions()
	c.checkRepeats()
	for i := range c.sites {
		c.checkSite(i)
	}
}

func (c *collector) checkSite(i int) {
	s := &c.sites[i]
	plugs := 0
	for _, stall := range s.Stalls {
		plugs += len(stall.Connectors)
	}
	if plugs == 0 {
		c.suspect(c.places[i], "connector", "", "no connector is stated: the station cannot be used")
	}
	c.checkHours(i)
}

// checkHours counts what is known of the opening hours.
func (c *collector) checkHours(i int) {
	text := c.sites[i].Hours
	if text == "" {
		c.report.HoursUnknown++
		return
	}
	why, seen := c.hours[text]
	if !seen {
		if _, err := hours.Parse(text); err != nil {
			why = reason(err)
		}
		keep(c.hours, text, why, maxWords)
	}
	if why != "" {
		c.report.HoursUnread++
		c.suspect(c.places[i], "hours", text, "not understood, counted as unknown: "+why)
	}
}

// reason says what is wrong with a text that stands beside it.
func reason(err error) string {
	var bad *fault.Input
	if !errors.As(err, &bad) {
		return err.Error()
	}
	return joined(", ", bad.Where, "expected "+bad.Expected)
}

// checkPositions finds 0, 0, swapped axes and places far from all others. The
// middle half of the longitudes and latitudes, widened by three times its size
// and at least 3 degrees on each side, counts as near (the outer fences of
// Tukey, Exploratory Data Analysis, 1977).
func (c *collector) checkPositions() {
	near := c.usualBox()
	for i := range c.sites {
		s := &c.sites[i]
		var reason string
		switch {
		case math.Abs(s.Lon) < 0.01 && math.Abs(s.Lat) < 0.01:
			reason = "longitude 0, latitude 0 is in the open sea"
		case near.has(s.Lon, s.Lat):
			continue
		case near.has(s.Lat, s.Lon):
			reason = "far from the others, but not with longitude and latitude exchanged"
		default:
			reason = "far from the others"
		}
		c.suspect(c.places[i], "position", fmt.Sprintf("%g, %g", s.Lon, s.Lat), reason)
	}
}

type box struct{ west, south, east, north float64 }

func (b box) has(lon, lat float64) bool {
	return lon >= b.west && lon <= b.east && lat >= b.south && lat <= b.north
}

// fewSites is how many say nothing about where the others should be.
const fewSites = 5

func (c *collector) usualBox() box {
	if len(c.sites) < fewSites {
		return box{-180, -90, 180, 90}
	}
	lons, lats := make([]float64, len(c.sites)), make([]float64, len(c.sites))
	for i, s := range c.sites {
		lons[i], lats[i] = s.Lon, s.Lat
	}
	west, east := widened(lons)
	south, north := widened(lats)
	return box{west, south, east, north}
}

func widened(v []float64) (low, high float64) {
	slices.Sort(v)
	n := len(v)
	low, high = v[n/4], v[n-1-n/4]
	margin := max(3, 3*(high-low))
	return low - margin, high + margin
}

// checkRepeats finds IDs that several records of one source carry.
func (c *collector) checkRepeats() {
	type id struct{ source, id string }
	first := make(map[id]int, len(c.sites))
	for i := range c.sites {
		s := &c.sites[i]
		if s.ID == "" {
			continue
		}
		key := id{s.Source, s.ID}
		if j, seen := first[key]; seen {
			c.suspect(c.places[i], "id", s.ID, "the same as at "+c.places[j].String())
			continue
		}
		first[key] = i
	}
}

// Package question is the one table of everything that can be asked about a
// journey besides its roads, its stations and its car.
//
// A row of the table ([Row]) has a key with its unit, a range, a default, a
// label, a help text and a group. From the rows come the options of the command
// line, the controls of the page, the keys of an address, of the API and of a
// study's axes, the JSON schema, the check of ranges, the figures in US units
// and the line that says what was asked in what a plan rests on. A key is the
// only name a thing has: speed_cap_kmh is --speed-cap and SpeedCapKMH.
//
// To add a question, add a field to [Question], its default to [New] where it
// has one, and a row to the table.
package question

import (
	"maps"
	"slices"
)

// Check holds every row of a question against its range and choices. The error
// is a *fault.Input.
func (q *Question) Check() error {
	for _, r := range rows {
		if err := r.check(q, Metric); err != nil {
			return err
		}
	}
	return nil
}

// Read fills a question from the keys of an address or a form that it knows,
// in either system of units.
func (q *Question) Read(given map[string][]string) error {
	for _, key := range slices.Sorted(maps.Keys(given)) {
		r, s, known := Find(key)
		if !known {
			continue
		}
		if err := r.Set(q, given[key], s); err != nil {
			return err
		}
	}
	return nil
}

// Write gives the keys and values of what differs from New, so that Read makes
// the same question of them.
func (q *Question) Write() map[string][]string {
	out, usual := map[string][]string{}, New()
	for _, r := range rows {
		if texts := r.Get(q); !slices.Equal(texts, r.Get(&usual)) {
			out[r.Key] = texts
		}
	}
	return out
}

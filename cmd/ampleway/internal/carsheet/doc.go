// Package carsheet says what a car is like: its sheet as an answer, as JSON, and
// as a picture. It computes nothing.
package carsheet

import "ampleway/energy"

// Sheet is the sheet of a car as the subject of an answer.
type Sheet struct{ *energy.Sheet }

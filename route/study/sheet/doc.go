// Package sheet writes a study's summary as one HTML page with its drawings in
// it: the frontier, the reserves against temperature, and each corridor as a
// strip. Drawings tell things apart by lightness, dashes and words, so that
// they read in black and white; the page asks nothing of any other place.
package sheet

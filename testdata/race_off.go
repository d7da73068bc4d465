//go:build !race

package testdata

// Raced reports whether the race detector is on, under which all takes ten times
// as long.
const Raced = false

// Package owner gathers what an owner knows of a car: from the command line,
// from the two US government tables, and by asking on a terminal.
package owner

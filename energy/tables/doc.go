// Package tables reads the two tables of the US government that tell most
// about an electric car and that anyone can download: the EPA test car list
// (coast-down coefficients, equivalent test weight, measured energy) and the
// fuel economy table (rated range, kWh per 100 mi). Both are CSV files with a
// header; which one a file is, its columns tell.
//
// Neither has the usable capacity nor the charging taper. An Entry says what
// it knows and what it lacks, so that a car made from it states the rest as
// assumptions.
//
// Two traps of the test car list are handled here. Its unit column says "MPG"
// throughout, but some makers entered kWh per 100 mi: a figure below 45 is
// taken for that, as no electric car needs 75 kWh per 100 mi (45 MPGe). And a
// few entries are neither: below 10 there is no such car in either unit, so
// the figure is left out with a warning.
package tables

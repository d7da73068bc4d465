// Package place finds where a place is: from a pair of coordinates, or from
// its name in a list that the user supplies. No list comes with the program.
//
// A list is a table as GeoNames publishes it (tab-separated, no header, 19
// columns: id, name, ascii name, alternate names, latitude, longitude,
// feature class, feature code, country code, cc2, four levels of
// administration, population, elevation, dem, time zone, date), or GeoJSON
// with Point features that have a property "name", and optionally "country",
// "region" and "population".
//
// Names are compared without regard to case and accents. A name may be
// narrowed by a country code or a region behind a comma: "Newtown, XX". Among
// several places of a name the one with by far the most people (ten times the
// next) is meant, and places within 10 km of it are the same one; otherwise the
// question is ambiguous, and the error lists them.
package place

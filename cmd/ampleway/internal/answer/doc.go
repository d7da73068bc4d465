// Package answer says what has been worked out: a journey, a comparison of
// journeys, a household's year, a car, or why there is no plan. What is said is
// one tree (tree.go), which a renderer a form walks: text and HTML. The figures
// are a document (JSON), and rows, places and lines of it (CSV, GeoJSON, GPX).
// Files are always metric, with the unit in the key; only what a person reads is
// in the reader's units. The sentences about a journey are in english.go.
package answer

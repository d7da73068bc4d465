// Package report writes a trip as text, JSON, GeoJSON, GPX or CSV: one file a
// format. Files are always metric, with the unit in the key; only the text
// speaks in the reader's units.
package report

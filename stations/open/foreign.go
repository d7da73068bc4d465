package open

import (
	"bytes"
	"regexp"

	"ampleway/data/fault"
)

// foreignForm is a form of file that people have at hand and that is not read
// here, and what to do with it.
type foreignForm struct {
	name, instead string
	begins        []byte         // the first bytes
	holds         []byte         // also among the first bytes, where it is not nil
	root          *regexp.Regexp // of the root element, for XML
}

const (
	asGeoJSON = "CSV or GeoJSON; convert it, such as with ogr2ogr -f GeoJSON out.geojson "
	andPlugs  = ", and give each station its connector, power_kw and stalls"
	asCSV     = "CSV; save the sheet as CSV in UTF-8 and name its columns in a column map (ampleway stations map)"
	asData    = "the data as CSV, GeoJSON or OCPI, which the publisher of such a file often has too"
)

// foreignForms are looked through in this order.
var foreignForms = []foreignForm{
	{name: "a PDF file", instead: asData, begins: []byte("%PDF-")},
	{name: "a spreadsheet (xlsx)", instead: asCSV, begins: magicZip, holds: []byte("[Content_Types].xml")},
	{name: "a spreadsheet (xlsx)", instead: asCSV, begins: magicZip, holds: []byte("xl/")},
	{name: "a spreadsheet (ods)", instead: asCSV, begins: magicZip, holds: []byte("opendocument.spreadsheet")},
	{name: "a spreadsheet (xls)", instead: asCSV, begins: []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")},
	{name: "a KMZ file", instead: asGeoJSON + "in.kmz" + andPlugs, begins: magicZip, holds: []byte(".kml")},
	{name: "a zip archive", instead: "the file that is packed in it, plain or as .gz or .zst", begins: magicZip},
	{name: "a GeoPackage or another SQLite database", instead: asGeoJSON + "in.gpkg" + andPlugs, begins: []byte("SQLite format 3\x00")},
	{name: "a shapefile", instead: asGeoJSON + "in.shp" + andPlugs, begins: []byte("\x00\x00\x27\x0a\x00\x00\x00\x00")},
	{name: "a KML file", instead: asGeoJSON + "in.kml" + andPlugs, root: rootElement("kml")},
	{name: "a GPX file", instead: asGeoJSON + "in.gpx waypoints" + andPlugs + "; a road goes to --route", root: rootElement("gpx")},
	{name: "a DATEX II file", instead: asData, root: regexp.MustCompile(`(?i)<[^>]*datex`)},
	{name: "a web page (HTML)", instead: "the file itself; what was saved is a page about it, to sign in on or to say that it is not there", root: regexp.MustCompile(`(?i)^(<!doctype html|<html[\s>])`)},
}

var magicZip = []byte("PK\x03\x04")

// rootElement finds an element of that name, whatever its name space's prefix.
func rootElement(name string) *regexp.Regexp {
	return regexp.MustCompile(`^<([\w.-]+:)?` + name + `[\s>]`)
}

// aboveRoot is what may stand above the root element.
var aboveRoot = regexp.MustCompile(`^(\s+|<\?[^>]*>|(?s:<!--.*?-->))+`)

// foreign returns a *fault.Input for a file in a form that people have at hand
// and that is not read here.
func foreign(head []byte) error {
	text := aboveRoot.ReplaceAll(bytes.TrimPrefix(head, bomUTF8), nil)
	for _, f := range foreignForms {
		is := f.root != nil && bytes.HasPrefix(text, []byte("<")) && f.root.Match(text)
		if f.root == nil {
			is = bytes.HasPrefix(head, f.begins) && bytes.Contains(head, f.holds)
		}
		if is {
			return &fault.Input{Found: f.name + ", which is not read here", Expected: f.instead, Err: ErrUnknownFormat}
		}
	}
	return nil
}

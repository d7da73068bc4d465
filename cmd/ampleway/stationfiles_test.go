package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
)

// A check names the plugs that are not known with an alias that reads them.
func TestCheckNamesUnknownPlugs(t *testing.T) {
	sites := tempFile(t, "s.csv", refusalColumns+"m,Midway,12.8,50.001,,\"X\x1b[31m Plug\",dc,150,4,,,\nn,Next,12.9,50.001,,CCS,dc,150,2,,,\nk,Known,12.9,50.1,,CCS2,dc,150,2,,,\n")
	code, out, errOut := ampleway(t, "", "stations", "check", sites)
	want := "     6 connectors under a name that is not known here\n" +
		"         plugs \"X31m Plug\" 4: --alias \"X31m Plug=j3400\", if that is what they are\n" +
		"         plugs \"CCS\" 2: --alias CCS=ccs1 or --alias CCS=ccs2, whichever they are\n"
	if code != exitOK || !strings.Contains(out, want) || strings.Contains(out, "\x1b") {
		t.Fatalf("exit %d\n%q\n%s", code, out, errOut)
	}
	code, out, errOut = ampleway(t, "", "stations", "check", sites, "--alias", "X31m Plug=j3400", "--alias", "CCS=ccs2")
	if code != exitOK || strings.Contains(out, "not known here") || !strings.Contains(out, "       4  J3400\n") || !strings.Contains(out, "       4  CCS2\n") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
}

// Files in forms that people have at hand are called what they are, with what
// to do, and no byte of theirs reaches the terminal. The first bytes are those
// of the standards: ISO 32000-1 7.5.2 (PDF), .ZIP application note 4.3.7, OPC
// (ISO 29500-2), OASIS OpenDocument 1.2 part 3 section 3.3, [MS-CFB] 2.2 (xls),
// SQLite file format 1.2, the ESRI shapefile description of 1998, OGC KML 2.2,
// GPX 1.1, DATEX II 2.3 and 3.
func TestFilesThatAreNoStationFiles(t *testing.T) {
	zip := "PK\x03\x04\x14\x00\x06\x00\x08\x00\x00\x00!\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00"
	const xml = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- invented -->\n"
	for name, c := range map[string]struct{ text, says string }{
		"a.kml":    {xml + `<kml xmlns="http://www.opengis.net/kml/2.2"><Document/></kml>`, "found a KML file, which is not read here: expected CSV or GeoJSON; convert it, such as with ogr2ogr -f GeoJSON out.geojson in.kml, and give each station its connector, power_kw and stalls"},
		"a.gpx":    {xml + `<gpx version="1.1"><wpt lat="50" lon="10"/></gpx>`, "found a GPX file, which is not read here: expected CSV or GeoJSON; convert it, such as with ogr2ogr -f GeoJSON out.geojson in.gpx waypoints"},
		"d2.xml":   {xml + `<d2LogicalModel xmlns="http://datex2.eu/schema/2/2_0" modelBaseVersion="2"></d2LogicalModel>`, "found a DATEX II file"},
		"d3.xml":   {xml + `<con:messageContainer xmlns:con="http://datex2.eu/schema/3/messageContainer"></con:messageContainer>`, "found a DATEX II file"},
		"a.html":   {"\n<!DOCTYPE html>\n<html><head></head></html>", "found a web page (HTML)"},
		"b.html":   {"<html lang=\"en\"></html>", "found a web page (HTML)"},
		"a.xlsx":   {zip + "[Content_Types].xml\x9b\x92\xff\x00", "found a spreadsheet (xlsx), which is not read here: expected CSV; save the sheet as CSV in UTF-8 and name its columns in a column map (ampleway stations map)"},
		"a.ods":    {zip + "mimetypeapplication/vnd.oasis.opendocument.spreadsheet", "found a spreadsheet (ods)"},
		"a.xls":    {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\x00\x00", "found a spreadsheet (xls)"},
		"a.kmz":    {zip + "doc.kml\x00", "found a KMZ file"},
		"a.zip":    {zip + "stations.csv\x00", "found a zip archive, which is not read here: expected the file that is packed in it"},
		"a.pdf":    {"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj", "found a PDF file"},
		"a.gpkg":   {"SQLite format 3\x00\x10\x00", "found a GeoPackage"},
		"a.shp":    {"\x00\x00\x27\x0a" + strings.Repeat("\x00", 24), "found a shapefile"},
		"else.xml": {xml + "<stations><station/></stations>", "found XML of another kind, or without stations: expected an OpenStreetMap file"},
		"reg.csv":  {"Betreiber;Breite;Laenge\nNorth;50;10\n", "any other CSV needs a column map (ampleway stations map says how to write one)"},
	} {
		code, out, errOut := ampleway(t, "", "stations", "check", tempFile(t, name, c.text))
		if code != exitUsage || out != "" || !strings.Contains(errOut, c.says) || !strings.HasSuffix(errOut, "unknown format\n") {
			t.Errorf("%s: exit %d, %q%q", name, code, out, errOut)
		}
		if strings.ContainsFunc(strings.TrimSuffix(errOut, "\n"), func(r rune) bool { return r < ' ' || r == '\ufffd' }) {
			t.Errorf("%s: bytes of the file in %q", name, errOut)
		}
	}
}

// Many stations without one plug are a table that was not understood.
func TestManyStationsWithoutAPlug(t *testing.T) {
	var features []string
	for i := range 25 {
		features = append(features, fmt.Sprintf(`{"type":"Feature","geometry":{"type":"Point","coordinates":[%g,50]},"properties":{"Fuel_Type_Code":"ELEC","EV_Connector_Types":"J1772COMBO"}}`, 10+float64(i)/10))
	}
	geojson := `{"type":"FeatureCollection","features":[` + strings.Join(features, ",\n") + `]}`
	csv := func(n int) string {
		text := "id,name,lon,lat,plug,kw\n"
		for i := range n {
			text += fmt.Sprintf("s%d,Site %d,%g,50,CCS2,150\n", i, i, 10+float64(i)/10)
		}
		return text
	}
	osm := `<osm version="0.6">`
	for i := range 25 {
		osm += fmt.Sprintf(`<node id="%d" lat="50" lon="%g"><tag k="amenity" v="charging_station"/></node>`, i+1, 10+float64(i)/10)
	}
	osm += `</osm>`
	for name, c := range map[string]struct{ text, says string }{
		"us.geojson": {geojson, "found 25 stations and not one plug: expected the plugs among the properties, under just these names: connector and power_kw, or stalls (own GeoJSON); ev_connector_types beside fuel_type_code (United States table); socket:… (OpenStreetMap): nothing usable"},
		"own.csv":    {csv(20), "found 20 stations and not one plug: expected the plugs in the columns connector, power_kw and stalls, under these names"},
		"osm.osm":    {osm, "found 25 stations and not one plug: expected the plugs in tags such as socket:type2_combo"},
	} {
		file := tempFile(t, name, c.text)
		for _, args := range [][]string{{"stations", "check", file}, {"stations", "import", file, "-o", filepath.Join(t.TempDir(), "s.parquet")}, {"trip", "--route", refusalRoad(t), "--stations", file}} {
			if code, out, errOut := ampleway(t, "", args...); code != exitUsage || out != "" || !strings.Contains(errOut, c.says) {
				t.Errorf("%v: exit %d, %s%s", args, code, out, errOut)
			}
		}
	}
	if code, out, _ := ampleway(t, "", "stations", "check", tempFile(t, "few.csv", csv(19))); code != exitOK || !strings.Contains(out, "19 stations with 0 bays") {
		t.Errorf("exit %d\n%s", code, out)
	}
}

// The map that the help shows reads the register that it is for, and a trip
// goes by the snapshot.
func TestTheColumnMapOfTheHelp(t *testing.T) {
	code, help, _ := ampleway(t, "", "stations", "map")
	m := regexp.MustCompile(`(?s)two plugs:\n\n(  source: .*?CCS2\n)`).FindStringSubmatch(help)
	if code != exitOK || m == nil {
		t.Fatalf("exit %d\n%s", code, help)
	}
	dir := t.TempDir()
	table := "Register\n\nBetreiber;Straße;Ort;Breite;Länge;Stand;Stecker1;Leistung1;Stecker2;Leistung2\n" +
		"North;Road 1;Alder;50,001;12,8;27.11.2026;Kombi|CHAdeMO;150;;\nNorth;Road 1;Alder;50,001;12,8;27.11.2026;Kombi;150;Typ 2;22\n"
	encoded, err := charmap.Windows1252.NewEncoder().String(table)
	if err != nil {
		t.Fatal(err)
	}
	file, mapFile, snapshot := tempFile(t, "r.csv", encoded), tempFile(t, "map.yaml", m[1]), filepath.Join(dir, "r.parquet")
	code, out, errOut := ampleway(t, "", "stations", "check", file, "--map", mapFile)
	if code != exitOK || !strings.Contains(out, "2 records, 1 station with 3 bays") || !strings.Contains(out, "CCS2 150") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
	if code, _, errOut := ampleway(t, "", "stations", "import", file, "--map", mapFile, "-o", snapshot); code != exitOK {
		t.Fatalf("exit %d\n%s", code, errOut)
	}
	if _, err := os.Stat(snapshot); err != nil {
		t.Fatal(err)
	}
	code, out, errOut = ampleway(t, "", "trip", "--route", refusalRoad(t), "--stations", snapshot, "--car", "mid-size-sedan")
	if code != exitOK || !strings.Contains(out, "Road 1 Alder") && !strings.Contains(out, "North") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
	geojson := tempFile(t, "s.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[10,50]},"properties":{"connector":"CCS2","power_kw":150}}]}`)
	if _, out, _ := ampleway(t, "", "stations", "check", geojson, "--map", mapFile); !strings.Contains(out, "the column map is not used here: it is for CSV") {
		t.Errorf("%s", out)
	}
}

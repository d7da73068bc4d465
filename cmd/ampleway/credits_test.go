package main

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/testdata"
)

// Whose data the stations are stands in every form of a plan, and in a
// comparison. The notice of OpenStreetMap is that of its copyright page,
// https://www.openstreetmap.org/copyright, and of ODbL 1.0 section 4.3 (both
// from memory).
func TestCreditsInEveryForm(t *testing.T) {
	road := tempFile(t, "road.geojson", `{"type":"LineString","coordinates":[[10,50],[11,50.001],[12,50],[13,50.001],[14,50]]}`)
	extract, own := `<osm version="0.6">`, "name,lon,lat,connector,power_kw,stalls,source,licence\n"
	for i := range 8 {
		extract += fmt.Sprintf(`<node id="%d" lat="50.002" lon="%g"><tag k="amenity" v="charging_station"/><tag k="socket:type2_combo" v="4"/><tag k="socket:type2_combo:output" v="150 kW"/></node>`, i+1, 10.25+float64(i)/2)
		own += fmt.Sprintf("Mill %d,%g,50.002,CCS2,150,4,Millers' list,CC-BY-4.0\n", i+1, 10.4+float64(i)/2)
	}
	own += "Barn,12,50.002,CCS2,50,2,,\n"
	osmFile, ownFile := tempFile(t, "extract.osm", extract+`</osm>`), tempFile(t, "own.csv", own)
	const osm = "Stations along the road: © OpenStreetMap contributors, ODbL 1.0 (https://www.openstreetmap.org/copyright)."
	const mills = "Stations along the road: Millers' list. Licence: CC-BY-4.0."
	const barn = "Stations along the road: a source that the data do not name. Licence: not stated."
	plan := func(format string, more ...string) string {
		t.Helper()
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--route", road, "--stations", osmFile, "--stations", ownFile, "--car", "mid-size-sedan", "--format", format}, more...)...)
		if code != exitOK {
			t.Fatalf("%s %v: exit %d, %s", format, more, code, errOut)
		}
		return out
	}
	for what, more := range map[string][]string{"trip": nil, "visit": {"--back"}, "comparison": {"--temp", "0,20"}} {
		for _, format := range answer.Formats(answer.Journey{}) {
			if what == "comparison" && !slices.Contains([]string{"text", "json", "csv"}, format) {
				continue
			}
			out := plan(format, more...)
			credits := creditsIn(t, format, out)
			for _, want := range []string{osm, mills, barn} {
				if strings.Contains(credits, want) != (format != "csv") {
					t.Errorf("%s as %s: %q, want %q in %.3000s", what, format, credits, want, out)
				}
			}
		}
	}
	// A name that the user gives the data does not take the credit away.
	named := tempFile(t, "named.geojson", "")
	if code, _, errOut := ampleway(t, "", "stations", "import", osmFile, "--source", "March extract", "-o", named+".parquet"); code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	code, out, errOut := ampleway(t, "", "trip", "--route", road, "--stations", named+".parquet", "--car", "mid-size-sedan", "--format", "json")
	if code != exitOK || !strings.Contains(out, osm) || strings.Contains(out, mills) {
		t.Errorf("exit %d, %s%s", code, errOut, creditsIn(t, "json", out))
	}
}

// creditsIn is what stands where a form has its credits.
func creditsIn(t *testing.T, format, out string) string {
	t.Helper()
	type credited struct {
		Credits []string `json:"credits"`
	}
	var document struct {
		credited
		Ampleway credited `json:"ampleway"`
	}
	var file struct {
		Desc string `xml:"metadata>desc"`
	}
	switch format {
	case "text":
		_, list, _ := strings.Cut(out, "Sources of the data\n")
		return strings.Join(strings.Fields(list), " ")
	case "json", "geojson":
		if err := json.Unmarshal([]byte(out), &document); err != nil {
			t.Fatal(err)
		}
		return strings.Join(append(document.Credits, document.Ampleway.Credits...), "\n")
	case "gpx":
		if err := xml.Unmarshal([]byte(out), &file); err != nil {
			t.Fatal(err)
		}
		return file.Desc
	}
	return html.UnescapeString(out)
}

// The road is credited where its GPX file says whose it is, or the router's
// template does, also the way back.
func TestCreditsOfTheRoad(t *testing.T) {
	gpx := func(copyright string) string {
		return tempFile(t, "road.gpx", `<gpx version="1.1" creator="invented"><metadata>`+copyright+`</metadata><trk><trkseg><trkpt lon="10" lat="50"/><trkpt lon="10.5" lat="50"/></trkseg></trk></gpx>`)
	}
	router := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `{"way":{"type":"LineString","coordinates":[[10,50],[10.5,50]]}}`)
	}))
	defer router.Close()
	sites := tempFile(t, "s.csv", "name,lon,lat,connector,power_kw,stalls,source,licence\nMill,10.2,50.002,CCS2,150,4,Millers' list,CC-BY-4.0\n")
	const osm = "Road: © OpenStreetMap contributors, ODbL 1.0 (https://www.openstreetmap.org/copyright)."
	asked := []string{"--from", "10,50", "--to", "10.5,50", "--router"}
	template := router.URL + "/{from.lonlat}/{to.lonlat}#line=way"
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"the authors of OpenStreetMap": {[]string{"--route", gpx(`<copyright author="OpenStreetMap contributors"><year>2026</year><license>https://opendatacommons.org/licenses/odbl/1-0/</license></copyright>`)}, osm},
		"another author":               {[]string{"--route", gpx(`<copyright author="Orrelund Survey"><license>http://example.org/terms</license></copyright>`)}, "Road: Orrelund Survey, licence http://example.org/terms."},
		"no author":                    {[]string{"--route", gpx("")}, ""},
		"a template that says so":      {append(asked, template+"&credit=OpenStreetMap"), osm},
		"a template that does not":     {append(asked, template), ""},
	} {
		for _, back := range []string{"--back=false", "--back"} {
			code, out, errOut := ampleway(t, "", append([]string{"trip", back, "--stations", sites, "--car", "mid-size-sedan", "--format", "json"}, c.args...)...)
			if code != exitOK {
				t.Fatalf("%s: exit %d, %s", name, code, errOut)
			}
			road, _, _ := strings.Cut(creditsIn(t, "json", out), "Stations along the road: Millers' list")
			if strings.TrimSpace(road) != c.want {
				t.Errorf("%s, %s: %q, want %q", name, back, road, c.want)
			}
		}
	}
}

// A year, a list of stations and a study of the same data carry the notice in
// each of their forms; a table of stations has it as columns.
func TestCreditsOfYearNearAndStudy(t *testing.T) {
	testdata.Sequential(t)
	const osm = "© OpenStreetMap contributors, ODbL 1.0 (https://www.openstreetmap.org/copyright)."
	folder, household := ownYear(t, "stations: [sites.csv]", "stations: [extract.osm]", "times: 2", "times: 1")
	extract := `<osm version="0.6">`
	for i, lat := range []float64{-31, -31, -33, -33} {
		extract += fmt.Sprintf(`<node id="%d" lat="%g" lon="%g"><tag k="amenity" v="charging_station"/><tag k="socket:type2_combo" v="4"/><tag k="socket:type2_combo:output" v="150 kW"/></node>`, i+1, lat+0.002, -19+2*float64(i%2))
	}
	sites := filepath.Join(folder, "extract.osm")
	must(t, os.WriteFile(sites, []byte(extract+"</osm>"), 0o644))
	study := filepath.Join(folder, "study.yaml")
	must(t, os.WriteFile(study, []byte("format: ampleway-study-2\ncorridors: [lake.gpx]\nstations: [extract.osm]\ncars: [mid-size-sedan]\ntemp_c: [10]\nreserve_pct: [10]\n"), 0o644))
	results := filepath.Join(folder, "results")
	said := func(args ...string) string {
		t.Helper()
		code, out, errOut := ampleway(t, "", args...)
		if code != exitOK {
			t.Fatalf("%v: exit %d, %s", args, code, errOut)
		}
		return out
	}
	forms := map[string]string{"margins": said("margins", study, "-o", results)}
	for _, name := range []string{"summary.json", "summary.txt", "build.geojson", "report.html"} {
		text, err := os.ReadFile(filepath.Join(results, name))
		must(t, err)
		forms["margins "+name] = string(text)
	}
	for _, format := range []string{"text", "json", "html"} {
		forms["year "+format] = said("year", "--households", household, "--format", format)
	}
	for _, format := range []string{"text", "geojson"} {
		forms["near "+format] = said("stations", "near", "--route", filepath.Join(folder, "lake.gpx"), "--stations", sites, "--format", format)
	}
	for form, out := range forms {
		if !strings.Contains(strings.Join(strings.Fields(html.UnescapeString(out)), " "), "Stations along the road: "+osm) {
			t.Errorf("%s has no credit: %.2000s", form, out)
		}
	}
	table := said("stations", "near", "--route", filepath.Join(folder, "lake.gpx"), "--stations", sites, "--format", "csv")
	if !strings.Contains(table, ",OpenStreetMap,ODbL") {
		t.Errorf("the table says %s", table)
	}
	// The price on ordinary days is from stations, too.
	if out := said("year", "--format", "json"); !slices.Contains(strings.Split(creditsIn(t, "json", out), "\n"), "Price on ordinary days: Orrelund demo (invented). Licence: Apache-2.0.") {
		t.Errorf("%q", creditsIn(t, "json", out))
	}
}

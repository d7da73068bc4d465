package main

import (
	"encoding/csv"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The telephone number of a station is read from every form that publishes one,
// as it is written there, and goes through a snapshot and a merge. Where it
// stands: OpenStreetMap's tags phone and contact:phone (wiki, Key:phone), column
// Station Phone of the United States table, telephone_operateur of the French
// register (schema-irve 2.3), help_phone of OCPI 2.3.0 (from memory). The numbers
// are of the ranges kept for fiction.
func TestPhonesOfTheForms(t *testing.T) {
	osm := func(id int, lon float64, tag string) string {
		return fmt.Sprintf(`<node id="%d" lat="50.002" lon="%g"><tag k="amenity" v="charging_station"/><tag k="socket:type2_combo" v="4"/><tag k="socket:type2_combo:output" v="150 kW"/>%s</node>`, id, lon, tag)
	}
	files := []string{
		tempFile(t, "own.csv", "name,lon,lat,connector,power_kw,stalls,phone\nOwn,10.1,50.002,CCS2,150,4,tel:+1  206 555 0142\nWords,10.15,50.002,CCS2,150,4,ask inside\nCut,10.16,50.002,CCS2,150,4,\"3,3199E+10\"\n"),
		tempFile(t, "own.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point","coordinates":[10.2,50.002]},"properties":{"name":"Feature","connector":"CCS2","power_kw":150,"stalls":4,"phone":"206-555-0143"}}]}`),
		tempFile(t, "extract.osm", `<osm version="0.6">`+osm(1, 10.3, `<tag k="phone" v="+33 1 99 00 12 34"/>`)+osm(2, 10.4, `<tag k="contact:phone" v="+33 1 99 00 12 35"/>`)+osm(3, 10.1, "")+`</osm>`),
		tempFile(t, "us.csv", "Fuel Type Code,Station Name,Street Address,City,State,ZIP,Station Phone,Status Code,EV DC Fast Count,EV Network,Latitude,Longitude,ID,EV Connector Types,Country\nELEC,Mill,1 Quay,Saltmere,XX,1,206-555-0144,E,4,Non-Networked,50.002,10.5,1,J1772COMBO,US\n"),
		tempFile(t, "french.csv", "nom_operateur,telephone_operateur,id_station_itinerance,nom_station,adresse_station,coordonneesXY,nbre_pdc,id_pdc_itinerance,puissance_nominale,prise_type_ef,prise_type_2,prise_type_combo_ccs,prise_type_chademo,prise_type_autre,condition_acces,implantation_station,station_deux_roues,date_maj\nMarée,0199001236,FRXXXP0001,Pont,1 quai,\"[10.6, 50.002]\",1,FRXXXE00011,150,false,false,true,false,false,Accès libre,Voirie,false,2026-02-01\n"),
		tempFile(t, "ocpi.json", `[{"country_code":"XX","party_id":"TID","id":"L1","publish":true,"address":"Quay 1","city":"Saltmere","country":"XXX","coordinates":{"latitude":"50.002","longitude":"10.7"},"help_phone":"+1 206 555 0145","time_zone":"Etc/UTC","last_updated":"2026-05-01T10:00:00Z","evses":[{"uid":"1","status":"AVAILABLE","connectors":[{"id":"1","standard":"IEC_62196_T2_COMBO","format":"CABLE","power_type":"DC","max_voltage":920,"max_amperage":500,"max_electric_power":150000,"last_updated":"2026-05-01T10:00:00Z"}],"last_updated":"2026-05-01T10:00:00Z"}]}]`),
	}
	road := tempFile(t, "road.geojson", `{"type":"LineString","coordinates":[[10,50],[10.8,50]]}`)
	snapshot := filepath.Join(t.TempDir(), "all.parquet")
	// The extract leads: its record at the place of the first own one has no number.
	if code, _, errOut := ampleway(t, "", append([]string{"stations", "import", "-o", snapshot, files[2]}, slices.Concat(files[:2], files[3:])...)...); code != exitOK {
		t.Fatalf("exit %d, %s", code, errOut)
	}
	phones := func(sites string) []string {
		code, out, errOut := ampleway(t, "", "stations", "near", "--route", road, "--stations", sites, "--format", "csv")
		rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
		if code != exitOK || err != nil {
			t.Fatalf("exit %d, %v, %s", code, err, errOut)
		}
		var found []string
		column := slices.Index(rows[0], "phone")
		for _, row := range rows[1:] {
			found = append(found, strings.TrimPrefix(row[column], "'"))
		}
		return found
	}
	want := []string{"+1 206 555 0142", "", "", "206-555-0143", "+33 1 99 00 12 34", "+33 1 99 00 12 35", "206-555-0144", "0199001236", "+1 206 555 0145"}
	if got := phones(snapshot); !slices.Equal(got, want) {
		t.Errorf("%q\nwant\n%q", got, want)
	}
	// What is listed can be read again.
	_, list, _ := ampleway(t, "", "stations", "near", "--route", road, "--stations", snapshot, "--format", "csv")
	if got := phones(tempFile(t, "again.csv", list)); !slices.Equal(got, want) {
		t.Errorf("read again: %q", got)
	}
	if _, out, _ := ampleway(t, "", "stations", "check", files[0]); !strings.Contains(out, "ask inside: not a telephone number: left out") {
		t.Errorf("the odd one is not listed: %s", out)
	}
}

package stations_test

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"ampleway/stations"
)

func TestConnectorFor(t *testing.T) {
	for token, want := range map[string]stations.ConnectorType{
		// OCPI 2.2.1 and 2.3.0, mod_locations ConnectorType
		"IEC_62196_T1": stations.J1772, "IEC_62196_T2": stations.Type2, "IEC_62196_T1_COMBO": stations.CCS1, "IEC_62196_T2_COMBO": stations.CCS2,
		"CHADEMO": stations.CHAdeMO, "GBT_DC": stations.GBTDC, "GBT_AC": stations.GBTAC, "MCS": stations.MCS, "SAE_J3400": stations.J3400,
		"DOMESTIC_F": "Domestic F", "NEMA_14_50": "NEMA 14-50", "IEC_60309_2_three_32": "IEC 60309 three 32",
		// OpenStreetMap socket keys
		"type2": stations.Type2, "type2_cable": stations.Type2, "type2_combo": stations.CCS2, "type1_combo": stations.CCS1, "chademo": stations.CHAdeMO, "schuko": "Domestic F",
		// US alternative fuel stations table
		"J1772": stations.J1772, "J1772COMBO": stations.CCS1, "NEMA515": "Domestic B",
		// German national register
		"AC Steckdose Typ 2": stations.Type2, "DC Kupplung Combo": stations.CCS2, "DC CHAdeMO": stations.CHAdeMO,
		" ccs2 ": stations.CCS2, "j3400": stations.J3400,
	} {
		if got, known := stations.ConnectorFor(token); got != want || !known {
			t.Errorf("%q is %q (known %v), want %q", token, got, known, want)
		}
	}
	for _, token := range []string{"CCS", "combo", "XPLUG", "", "Type"} {
		if got, known := stations.ConnectorFor(token); known || string(got) != token {
			t.Errorf("%q is taken for %q", token, got)
		}
	}
}

func TestAliases(t *testing.T) {
	aliases, err := stations.ParseAliases([]string{"X Plug = j3400", "CCS=ccs2"})
	if err != nil {
		t.Fatal(err)
	}
	if got, known := aliases.ConnectorFor("XPLUG"); got != stations.J3400 || !known {
		t.Errorf("XPLUG is %q", got)
	}
	before := []stations.Stall{{Connectors: []stations.Connector{{Type: "CCS"}, {Type: "Type 2"}}}}
	site := stations.Site{Stalls: before}
	aliases.Apply(&site)
	want := []stations.Connector{{Type: stations.CCS2, DC: true}, {Type: stations.Type2}}
	if got := site.Stalls[0].Connectors; !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
	if before[0].Connectors[0].Type != "CCS" {
		t.Error("the stalls that were handed in have changed")
	}
	for _, line := range []string{"XPLUG", "XPLUG = nothing", "= ccs2", "-=ccs2"} {
		if _, err := stations.ParseAliases([]string{line}); err == nil || !strings.Contains(err.Error(), "alias") {
			t.Errorf("%q: %v", line, err)
		}
	}
}

func dc(t stations.ConnectorType, kw float64) stations.Connector {
	return stations.Connector{Type: t, DC: true, PowerKW: kw}
}

func TestOfferCountsAStallOnce(t *testing.T) {
	site := stations.Site{Stalls: []stations.Stall{
		{Connectors: []stations.Connector{dc(stations.CCS2, 150), dc(stations.CHAdeMO, 50)}},
		{Connectors: []stations.Connector{dc(stations.CCS2, 150)}},
		{Connectors: []stations.Connector{dc(stations.CCS2, 300)}, Status: stations.StatusOutOfOrder},
		{Connectors: []stations.Connector{dc(stations.CCS2, 75)}},
		{Connectors: []stations.Connector{dc(stations.CCS2, 0)}},
		{Connectors: []stations.Connector{{Type: stations.Type2, PowerKW: 22}}},
	}}
	offers := site.Offers([]stations.ConnectorType{stations.CHAdeMO, stations.CCS2, stations.Type2})
	type short struct {
		connector stations.ConnectorType
		kw        float64
		stalls    int
	}
	var got []short
	for _, o := range offers {
		got = append(got, short{o.Connector, o.PowerKW, o.Stalls})
	}
	want := []short{{stations.CCS2, 150, 2}, {stations.CCS2, 75, 1}, {stations.Type2, 22, 1}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if o, ok := site.Offer([]stations.ConnectorType{stations.CHAdeMO}); !ok || o.PowerKW != 50 || o.Stalls != 1 {
		t.Errorf("CHAdeMO: %+v, %v", o, ok)
	}
	if o, ok := site.Offer([]stations.ConnectorType{stations.J3400}); ok {
		t.Errorf("J3400: %+v", o)
	}
}

func TestOfferSharesPower(t *testing.T) {
	pair := func(group int) stations.Stall {
		return stations.Stall{Connectors: []stations.Connector{dc(stations.CCS2, 300)}, Group: group, GroupKW: 350}
	}
	site := stations.Site{Stalls: []stations.Stall{pair(1), pair(1), pair(2), pair(2)}, SharedKW: 600}
	o, _ := site.Offer([]stations.ConnectorType{stations.CCS2})
	if o.PowerKW != 300 || o.FullKW != 150 || o.Stalls != 4 {
		t.Errorf("%+v: want 300 kW alone and 600/4 kW with all in use at 4 stalls", o)
	}
	site.SharedKW = 0
	if o, _ := site.Offer([]stations.ConnectorType{stations.CCS2}); o.FullKW != 175 {
		t.Errorf("%+v: want 350/2 kW with all in use", o)
	}
}

func TestOfferThroughAnAdapter(t *testing.T) {
	site := stations.Site{Stalls: []stations.Stall{{Connectors: []stations.Connector{{Type: stations.CHAdeMO, DC: true, PowerKW: 100, MaxA: 200, MaxV: 500}}}}}
	adapter := stations.Adapter{From: stations.CHAdeMO, To: stations.CCS2, MaxKW: 50, MaxA: 125}
	o, ok := site.Offer([]stations.ConnectorType{stations.CCS2}, adapter)
	if !ok || o.PowerKW != 50 || o.MaxA != 125 || o.MaxV != 500 || o.Adapter != 0 {
		t.Errorf("%+v, %v", o, ok)
	}
	adapter.AC = true
	if o, ok := site.Offer([]stations.ConnectorType{stations.CCS2}, adapter); ok {
		t.Errorf("an AC adapter on a DC plug: %+v", o)
	}
}

// Type 2 at 400 V and 63 A on three phases is the 43.5 kW of the published
// ceiling (480 V line to line gives 52); 230 V 32 A on one phase is 7.4 kW.
func TestRatedPowerFromAmpsAndVolts(t *testing.T) {
	for _, c := range []struct {
		connector stations.Connector
		want      float64
	}{
		{stations.Connector{Type: stations.Type2, MaxA: 63, MaxV: 400, Phases: 3}, 43.6},
		{stations.Connector{Type: stations.Type2, MaxA: 32, MaxV: 230, Phases: 1}, 7.4},
		{stations.Connector{Type: stations.CCS2, DC: true, MaxA: 500, MaxV: 1000}, 500},
		{stations.Connector{Type: stations.CCS2, DC: true, MaxA: 500, MaxV: 1000, PowerKW: 350}, 350},
		{stations.Connector{Type: stations.CCS2, DC: true, MaxA: 500}, 0},
	} {
		if got := c.connector.RatedKW(); math.Abs(got-c.want) > 0.06 {
			t.Errorf("%+v: %g kW, want %g", c.connector, got, c.want)
		}
	}
}

func TestFilter(t *testing.T) {
	fast := []stations.Stall{{Connectors: []stations.Connector{dc(stations.CCS2, 150)}}, {Connectors: []stations.Connector{dc(stations.CCS2, 150)}}}
	good := stations.Site{ID: "a", Operator: "Northern", Stalls: fast, Updated: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
	changed := func(change func(*stations.Site)) stations.Site {
		s := good
		change(&s)
		return s
	}
	ccs := []stations.ConnectorType{stations.CCS2}
	for _, c := range []struct {
		name   string
		filter stations.Filter
		site   stations.Site
		want   stations.Verdict
	}{
		{"nothing asked", stations.Filter{}, good, stations.Taken},
		{"customers", stations.Filter{}, changed(func(s *stations.Site) { s.Access = stations.AccessCustomers }), stations.NotPublic},
		{"customers allowed", stations.Filter{Customers: true}, changed(func(s *stations.Site) { s.Access = stations.AccessCustomers }), stations.Taken},
		{"private", stations.Filter{Customers: true}, changed(func(s *stations.Site) { s.Access = stations.AccessPrivate }), stations.NotPublic},
		{"planned", stations.Filter{}, changed(func(s *stations.Site) { s.Status = stations.StatusPlanned }), stations.NotBuilt},
		{"closed", stations.Filter{}, changed(func(s *stations.Site) { s.Status = stations.StatusClosed }), stations.OutOfService},
		{"out of order", stations.Filter{}, changed(func(s *stations.Site) { s.Status = stations.StatusOutOfOrder }), stations.OutOfService},
		{"avoided operator", stations.Filter{Avoid: []string{"northern"}}, good, stations.Avoided},
		{"avoided site", stations.Filter{Avoid: []string{"a"}}, good, stations.Avoided},
		{"other operator", stations.Filter{Only: []string{"Southern"}}, good, stations.OtherOperator},
		{"no stalls", stations.Filter{}, changed(func(s *stations.Site) { s.Stalls = nil }), stations.NoBays},
		{"other plug", stations.Filter{Accepts: []stations.ConnectorType{stations.J3400}}, good, stations.NoConnector},
		{"bays without a plug", stations.Filter{}, changed(func(s *stations.Site) { s.Stalls = []stations.Stall{{}, {}} }), stations.NoBays},
		{"no bay works", stations.Filter{}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Status: stations.StatusOutOfOrder, Connectors: []stations.Connector{dc(stations.CCS2, 50)}}}
		}), stations.NoneWorking},
		{"power unknown", stations.Filter{Accepts: ccs, DCOnly: true}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Connectors: []stations.Connector{{Type: stations.CCS2, DC: true}, {Type: stations.Type2, PowerKW: 22}}}}
		}), stations.PowerUnknown},
		{"AC alone", stations.Filter{Accepts: ccs, DCOnly: true}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Connectors: []stations.Connector{{Type: stations.Type2, PowerKW: 22}}}}
		}), stations.OnlyAC},
		{"AC that fits and DC that does not", stations.Filter{Accepts: append(ccs, stations.Type2), DCOnly: true}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Connectors: []stations.Connector{{Type: stations.Type2, PowerKW: 22}, dc(stations.CCS1, 50)}}}
		}), stations.NoConnector},
		{"a name that does not tell", stations.Filter{Accepts: ccs, DCOnly: true}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Connectors: []stations.Connector{{Type: "XPLUG"}}}}
		}), stations.NoConnector},
		{"weak", stations.Filter{Accepts: ccs, MinPowerKW: 200}, good, stations.TooWeak},
		{"few", stations.Filter{Accepts: ccs, MinStalls: 3}, good, stations.TooFewStalls},
		{"assumed", stations.Filter{RejectAssumed: true}, changed(func(s *stations.Site) {
			s.Stalls = []stations.Stall{{Connectors: []stations.Connector{{Type: stations.CCS2, DC: true, PowerKW: 50, Assumed: true}}}}
		}), stations.PowerAssumed},
	} {
		site := c.site
		if _, got := c.filter.Judge(&site); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestReach(t *testing.T) {
	reach, err := stations.ParseReach("N; 90")
	if err != nil {
		t.Fatal(err)
	}
	for bearing, want := range map[float64]bool{0: true, 45: true, 179: true, 180: false, 269: false, 271: true, 359: true} {
		if reach.Admits(bearing) != want {
			t.Errorf("bearing %g: %v", bearing, !want)
		}
	}
	if !stations.Reach(nil).Admits(123) {
		t.Error("an empty reach keeps somebody out")
	}
	for _, text := range []string{"UP", "-1", "361", "NaN"} {
		if _, err := stations.ParseReach(text); err == nil {
			t.Errorf("%q was read", text)
		}
	}
}

func TestSiteJSON(t *testing.T) {
	site := stations.Site{
		ID: "a", Lon: 1.5, Lat: 2, Access: stations.AccessPublic, Status: stations.StatusOutOfOrder, Reach: stations.Reach{45},
		Stalls: []stations.Stall{{Status: stations.StatusPlanned, Connectors: []stations.Connector{dc(stations.CCS2, 150)}}},
		Price:  &stations.Price{Currency: "XTS", Rates: stations.Rates{PerKWh: 0.5}, Periods: []stations.Period{{Days: 31, From: 60, To: 120, Rates: stations.Rates{PerKWh: 0.3}}}},
	}
	text, err := json.Marshal(site)
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"id":"a","lon":1.5,"lat":2,"access":"public","status":"out of order","stalls":[{"status":"planned","connectors":[{"type":"CCS2","dc":true,"power_kw":150}]}],` +
		`"price":{"currency":"XTS","per_kwh":0.5,"periods":[{"days":"Mo-Fr","from":"01:00","to":"02:00","per_kwh":0.3}]},"reach":"45"}`
	if string(text) != want {
		t.Errorf("\n got %s\nwant %s", text, want)
	}
	var back stations.Site
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, site) {
		t.Errorf("read back as %+v, %v", back, err)
	}
}

func TestValidate(t *testing.T) {
	for name, site := range map[string]stations.Site{
		"lon": {Lon: 181}, "lat": {Lat: math.NaN()}, "detour": {DetourM: -1}, "exit": {Exit: &stations.Exit{Lat: 91}}, "infinite": {SharedKW: math.Inf(1)},
		"power": {Stalls: []stations.Stall{{Connectors: []stations.Connector{{PowerKW: -1}}}}}, "group": {Stalls: []stations.Stall{{Group: -1}}},
		"currency": {Price: &stations.Price{Currency: "euro"}}, "price": {Price: &stations.Price{Currency: "XTS", Rates: stations.Rates{PerKWh: math.NaN()}}},
	} {
		if err := site.Validate(); err == nil {
			t.Errorf("%s passes", name)
		}
	}
	if err := (&stations.Site{Lon: -180, Lat: 90}).Validate(); err != nil {
		t.Error(err)
	}
}

package open

import (
	"encoding/json"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"

	"ampleway/stations"
)

// DefaultAssumedKW is the power that a connector of the United States table
// counts with, because the table has none. The figures are on the low side of
// what stands beside roads, and every one is marked Assumed. Common practice,
// no source, but for level 1 and 2: NEC 625.42 on a 40 A circuit of 208 V (32
// A), a 15 A and a 20 A one of 120 V (12 A, 16 A) and a 50 A one of 240 V (40
// A).
func DefaultAssumedKW() map[stations.ConnectorType]float64 {
	return map[stations.ConnectorType]float64{
		stations.CCS1:    50,
		stations.CHAdeMO: 50,
		stations.J3400:   50,
		stations.J1772:   6.6,
		"Domestic B":     1.4,
		"NEMA 5-20":      1.9,
		"NEMA 14-50":     9.6,
	}
}

// level1KW is what a J1772 plug gives at level 1: 12 A at 120 V.
const level1KW = 1.4

// usRecord is one row of the table, by the names of its CSV columns.
type usRecord func(column string) string

// usColumns are the columns that are used, each with its name in JSON and
// GeoJSON.
var usColumns = map[string]string{
	"Fuel Type Code": "fuel_type_code", "Station Name": "station_name", "Street Address": "street_address", "City": "city", "State": "state", "ZIP": "zip",
	"Status Code": "status_code", "Access Days Time": "access_days_time", "Access Code": "access_code", "Restricted Access": "restricted_access", "Groups With Access Code": "groups_with_access_code",
	"EV Level1 EVSE Num": "ev_level1_evse_num", "EV Level2 EVSE Num": "ev_level2_evse_num", "EV DC Fast Count": "ev_dc_fast_num", "EV Network": "ev_network",
	"EV Connector Types": "ev_connector_types", "EV Pricing": "ev_pricing", "Latitude": "latitude", "Longitude": "longitude", "ID": "id", "Updated At": "updated_at",
	"Country": "country", "Facility Type": "facility_type",
}

func (c *collector) readUS(t *table) error {
	columns := make(map[string]int, len(usColumns))
	for name := range usColumns {
		columns[name] = t.at(name)
	}
	for {
		fields, where, err := t.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		row := func(column string) string { return cell(fields, columns[column]) }
		var lon, lat float64
		if err := degrees(&lon, row("Longitude"), 180); err != nil {
			c.rejectColumn(where, "Longitude", err)
			continue
		}
		if err := degrees(&lat, row("Latitude"), 90); err != nil {
			c.rejectColumn(where, "Latitude", err)
			continue
		}
		if err := c.addUS(row, lon, lat, where); err != nil {
			return err
		}
	}
}

// readUSFeature reads the properties of the GeoJSON form.
func (c *collector) readUSFeature(raw []byte, lon, lat float64, where at) error {
	var properties map[string]json.RawMessage
	if err := json.Unmarshal(raw, &properties); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	return c.addUS(func(column string) string {
		raw := properties[usColumns[column]]
		var list []string
		if json.Unmarshal(raw, &list) == nil {
			return strings.Join(list, " ")
		}
		if text := plainText(raw); text != "null" {
			return text
		}
		return ""
	}, lon, lat, where)
}

// readUSObject reads a record of the JSON form, which has its position among
// the properties.
func (c *collector) readUSObject(raw []byte, where at) error {
	c.format(USGeoJSON)
	var position struct {
		Longitude *float64 `json:"longitude"`
		Latitude  *float64 `json:"latitude"`
	}
	if err := json.Unmarshal(raw, &position); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	if position.Longitude == nil || position.Latitude == nil {
		c.reject(where, "longitude, latitude", "none", "degrees")
		return nil
	}
	return c.readUSFeature(raw, *position.Longitude, *position.Latitude, where)
}

func (c *collector) addUS(row usRecord, lon, lat float64, where at) error {
	if fuel := row("Fuel Type Code"); fuel != "ELEC" {
		c.report.Ignored++
		return nil
	}
	s := stations.Site{
		ID: text(row("ID")), Name: text(row("Station Name")), Network: c.word(row("EV Network")), Lon: lon, Lat: lat,
		Address: text(joined(", ", row("Street Address"), joined(" ", row("City"), row("State"), row("ZIP")))),
		Country: c.word(row("Country")), Source: "US DOE alternative fuel stations", Licence: "public domain",
		Hours: c.word(usHours(row("Access Days Time"))), Access: usAccess(row), Price: priceOf(row("EV Pricing"), "USD"), Note: usNote(row),
	}
	if strings.EqualFold(s.Network, "Non-Networked") {
		s.Network = ""
	}
	if facility := row("Facility Type"); facility != "" {
		s.Amenities = []string{c.word(strings.ToLower(facility))}
	}
	for _, layout := range []string{"2006-01-02 15:04:05 MST", time.RFC3339} {
		if t, err := time.Parse(layout, row("Updated At")); err == nil {
			s.Updated = t.UTC()
		}
	}
	switch code := row("Status Code"); code {
	case "E":
		s.Status = stations.StatusOperating
	case "P":
		s.Status = stations.StatusPlanned
	case "T":
		s.Status = stations.StatusOutOfOrder
	default:
		c.suspect(where, "Status Code", code, "expected E, P or T: counted as unknown")
	}
	var ok bool
	if s.Stalls, ok = c.usStalls(row, where); !ok {
		return nil
	}
	return c.add(s, where)
}

// usNote keeps the words of the source where their meaning is only partly read.
func usNote(row usRecord) string {
	return text(joined("; ", row("Access Days Time"), row("EV Pricing")))
}

// onlyFor finds limits to who may charge among the words on access.
var onlyFor = regexp.MustCompile(`(?i)\b(only|guests?|customers?|employees?|residents?|tenants?|members?|patrons?|permit)\b`)

func usAccess(row usRecord) stations.Access {
	switch {
	case row("Access Code") == "private":
		return stations.AccessPrivate
	case row("Restricted Access") == "true", onlyFor.MatchString(row("Access Days Time")):
		return stations.AccessCustomers
	case row("Access Code") == "public":
		return stations.AccessPublic
	}
	return stations.AccessUnknown
}

// usStalls makes stalls of the three counts and the list of plugs. The table
// does not say which stall has which plug: every stall of direct current gets
// every DC plug of the list, level 2 and level 1 stalls the AC plugs.
func (c *collector) usStalls(row usRecord, where at) ([]stations.Stall, bool) {
	var counts [3]int
	columns := [3]string{"EV DC Fast Count", "EV Level2 EVSE Num", "EV Level1 EVSE Num"}
	for i, column := range columns {
		if v := row(column); v != "" {
			if err := whole(&counts[i], v, 0, maxStalls); err != nil {
				c.rejectColumn(where, column, err)
				return nil, false
			}
		}
	}
	dc, level2, level1 := c.usPlugs(strings.Fields(row("EV Connector Types")), counts)
	var out []stations.Stall
	for i, plugs := range [3][]stations.Connector{dc, level2, level1} {
		if counts[i] > 0 && len(plugs) == 0 {
			c.suspect(where, columns[i], strconv.Itoa(counts[i]), "no plug of the list can be meant: stalls without a plug")
		}
		if counts[i] == 0 && len(plugs) > 0 && i < 2 {
			c.suspect(where, columns[i], "none", "the list has such a plug: left out")
			continue
		}
		for range counts[i] {
			out = append(out, stations.Stall{Connectors: plugs})
		}
	}
	return out, true
}

// usPlugs sorts the list of plugs. A token that is not known stands for DC
// where DC stalls are counted, because only the counts say what it carries.
func (c *collector) usPlugs(tokens []string, counts [3]int) (dc, level2, level1 []stations.Connector) {
	for _, token := range tokens {
		plug := c.plug(token, 0)
		plug.DC = plug.DC || plug.Type.Current() == stations.CurrentUnknown && counts[0] > 0
		if kw := c.o.AssumedKW[plug.Type]; kw > 0 {
			plug.PowerKW, plug.Assumed = kw, true
			c.report.note("the source has no power: %s counts with %g kW, an assumption (AssumedKW)", plug.Type, kw)
		}
		outlet := plug.Type == "Domestic B" || plug.Type == "NEMA 5-20"
		switch {
		case plug.DC:
			dc = append(dc, plug)
		case outlet:
			level1 = append(level1, plug)
		default:
			level2 = append(level2, plug)
		}
	}
	if len(level1) > 0 || counts[2] == 0 {
		return dc, level2, level1
	}
	for _, plug := range level2 {
		if plug.Type != stations.J1772 {
			continue
		}
		if plug.Assumed {
			plug.PowerKW = min(plug.PowerKW, level1KW)
		}
		level1 = append(level1, plug)
	}
	if counts[1] == 0 && len(level1) == len(level2) {
		level2 = nil
	}
	return dc, level2, level1
}

var usDay = regexp.MustCompile(`^(Mon|Tue|Wed|Thu|Fri|Sat|Sun) (\d{1,2}:\d\d)(am|pm) - (\d{1,2}:\d\d)(am|pm)$`)

// usHours writes the table's words on hours in the OpenStreetMap grammar, ""
// where they are not of the two forms that the table itself makes. What stands
// behind the hours is about access.
func usHours(words string) string {
	first, _, _ := strings.Cut(words, ";")
	if strings.EqualFold(strings.TrimSpace(first), "24 hours daily") {
		return "24/7"
	}
	var rules []string
	for _, part := range strings.Split(words, ";") {
		m := usDay.FindStringSubmatch(strings.TrimSpace(part))
		if m == nil {
			return ""
		}
		from, err1 := time.Parse("3:04pm", m[2]+m[3])
		to, err2 := time.Parse("3:04pm", m[4]+m[5])
		if err1 != nil || err2 != nil {
			return ""
		}
		until := to.Format("15:04")
		if until == "23:59" || until == "00:00" {
			until = "24:00"
		}
		rules = append(rules, m[1][:2]+" "+from.Format("15:04")+"-"+until)
	}
	return strings.Join(rules, "; ")
}

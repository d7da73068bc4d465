package open

import (
	"encoding/json"
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

// usField is a column of the table that is used.
type usField int

const (
	usFuel usField = iota
	usName
	usPhone
	usStreet
	usCity
	usState
	usZIP
	usStatus
	usDays
	usCode
	usRestricted
	usLevel1
	usLevel2
	usDC
	usNetwork
	usTypes
	usPricing
	usLat
	usLon
	usID
	usUpdated
	usCountry
	usFacility
	usFields
)

// usNames are the columns' names in CSV and in JSON and GeoJSON.
var usNames = [usFields]struct{ csv, json string }{
	usFuel: {"Fuel Type Code", "fuel_type_code"}, usName: {"Station Name", "station_name"}, usStreet: {"Street Address", "street_address"},
	usPhone: {"Station Phone", "station_phone"},
	usCity:  {"City", "city"}, usState: {"State", "state"}, usZIP: {"ZIP", "zip"}, usStatus: {"Status Code", "status_code"},
	usDays: {"Access Days Time", "access_days_time"}, usCode: {"Access Code", "access_code"}, usRestricted: {"Restricted Access", "restricted_access"},
	usLevel1: {"EV Level1 EVSE Num", "ev_level1_evse_num"}, usLevel2: {"EV Level2 EVSE Num", "ev_level2_evse_num"}, usDC: {"EV DC Fast Count", "ev_dc_fast_num"},
	usNetwork: {"EV Network", "ev_network"}, usTypes: {"EV Connector Types", "ev_connector_types"}, usPricing: {"EV Pricing", "ev_pricing"},
	usLat: {"Latitude", "latitude"}, usLon: {"Longitude", "longitude"}, usID: {"ID", "id"}, usUpdated: {"Updated At", "updated_at"},
	usCountry: {"Country", "country"}, usFacility: {"Facility Type", "facility_type"},
}

// usRecord is one record of the table.
type usRecord [usFields]string

func (c *collector) readUS(t *table) error {
	var columns [usFields]int
	for i, name := range usNames {
		columns[i] = t.at(name.csv)
	}
	return t.each(func(fields []string, where at) error {
		var row usRecord
		for i, column := range columns {
			row[i] = cell(fields, column)
		}
		var lon, lat float64
		if err := degrees(&lon, row[usLon], 180); err != nil {
			c.rejectColumn(where, usNames[usLon].csv, err)
			return nil
		}
		if err := degrees(&lat, row[usLat], 90); err != nil {
			c.rejectColumn(where, usNames[usLat].csv, err)
			return nil
		}
		return c.addUS(&row, lon, lat, where)
	})
}

// readUSFeature reads the properties of the GeoJSON form.
func (c *collector) readUSFeature(raw []byte, lon, lat float64, where at) error {
	var properties map[string]json.RawMessage
	if err := json.Unmarshal(raw, &properties); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	var row usRecord
	for i, name := range usNames {
		raw := properties[name.json]
		var list []string
		switch {
		case len(raw) == 0 || string(raw) == "null":
		case json.Unmarshal(raw, &list) == nil:
			row[i] = strings.Join(list, " ")
		default:
			row[i] = strings.TrimSpace(plainText(raw))
		}
	}
	return c.addUS(&row, lon, lat, where)
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

func (c *collector) addUS(row *usRecord, lon, lat float64, where at) error {
	if row[usFuel] != "ELEC" {
		c.report.Ignored++
		return nil
	}
	words := c.usWordsOf(row[usDays])
	s := stations.Site{
		ID: row[usID], Name: row[usName], Network: c.word(row[usNetwork]), Lon: lon, Lat: lat,
		Address: joined(", ", row[usStreet], joined(" ", row[usCity], row[usState], row[usZIP])), Phone: row[usPhone],
		Country: c.word(row[usCountry]), Source: "US DOE alternative fuel stations", Licence: "public domain",
		Hours: words.hours, Access: usAccess(row, words.limited), Price: priceOf(row[usPricing], "USD"), Note: usNote(row),
	}
	if strings.EqualFold(s.Network, "Non-Networked") {
		s.Network = ""
	}
	if row[usFacility] != "" {
		s.Amenities = []string{c.word(strings.ToLower(row[usFacility]))}
	}
	for _, layout := range []string{"2006-01-02 15:04:05 MST", time.RFC3339} {
		if t, err := time.Parse(layout, row[usUpdated]); err == nil {
			s.Updated = t.UTC()
			break
		}
	}
	switch row[usStatus] {
	case "E":
		s.Status = stations.StatusOperating
	case "P":
		s.Status = stations.StatusPlanned
	case "T":
		s.Status = stations.StatusOutOfOrder
	default:
		c.suspect(where, usNames[usStatus].csv, row[usStatus], "expected E, P or T: counted as unknown")
	}
	if s.Hours == "" && row[usDays] != "" {
		c.report.HoursUnread++
		c.suspect(where, usNames[usDays].csv, row[usDays], "not read as opening hours: counted as unknown")
	}
	var ok bool
	if s.Stalls, ok = c.usStalls(row, where); !ok {
		return nil
	}
	c.keep(&s)
	return c.add(s, where)
}

// usNote keeps the words of the source where their meaning is only partly read.
func usNote(row *usRecord) string { return joined("; ", row[usDays], row[usPricing]) }

// onlyFor finds limits to who may charge among the words on access.
var onlyFor = regexp.MustCompile(`(?i)\b(only|guests?|customers?|employees?|residents?|tenants?|members?|patrons?|permit)\b`)

// usWords is what the words on hours and access say.
type usWords struct {
	hours   string
	limited bool // to some people
}

func (c *collector) usWordsOf(days string) usWords {
	if w, ok := c.usWords[days]; ok {
		return w
	}
	w := usWords{usHours(days), onlyFor.MatchString(days)}
	keep(c.usWords, strings.Clone(days), w, maxWords)
	return w
}

func usAccess(row *usRecord, limited bool) stations.Access {
	switch {
	case row[usCode] == "private":
		return stations.AccessPrivate
	case row[usRestricted] == "true", limited:
		return stations.AccessCustomers
	case row[usCode] == "public":
		return stations.AccessPublic
	}
	return stations.AccessUnknown
}

// usStalls makes stalls of the three counts and the list of plugs. The table
// does not say which stall has which plug: every stall of direct current gets
// every DC plug of the list, level 2 and level 1 stalls the AC plugs.
func (c *collector) usStalls(row *usRecord, where at) ([]stations.Stall, bool) {
	var counts [3]int
	columns := [3]usField{usDC, usLevel2, usLevel1}
	for i, column := range columns {
		if v := row[column]; v != "" {
			if err := whole(&counts[i], v, 0, maxStalls); err != nil {
				c.rejectColumn(where, usNames[column].csv, err)
				return nil, false
			}
		}
	}
	lists := c.usLists(row[usTypes], counts)
	out := make([]stations.Stall, 0, counts[0]+counts[1]+counts[2])
	for i, plugs := range lists {
		name := usNames[columns[i]].csv
		if counts[i] > 0 && len(plugs) == 0 {
			c.suspect(where, name, strconv.Itoa(counts[i]), "no plug of the list can be meant: bays without a plug")
		}
		if counts[i] == 0 && len(plugs) > 0 && i < 2 {
			c.suspect(where, name, "none", "the list has such a plug: left out")
			continue
		}
		for range counts[i] {
			out = append(out, stations.Stall{Connectors: plugs})
		}
	}
	return out, true
}

// usKey is what the plugs of a record depend on.
type usKey struct {
	types              string
	dc, level2, level1 bool
}

// usLists gives the plugs of a DC, a level 2 and a level 1 stall. Equal records
// share them.
func (c *collector) usLists(types string, counts [3]int) [3][]stations.Connector {
	key := usKey{types, counts[0] > 0, counts[1] > 0, counts[2] > 0}
	if lists, ok := c.usPlugs[key]; ok {
		return lists
	}
	var lists [3][]stations.Connector
	lists[0], lists[1], lists[2] = c.usSorted(strings.Fields(types), counts)
	key.types = strings.Clone(types)
	keep(c.usPlugs, key, lists, maxWords)
	return lists
}

// usSorted sorts the list of plugs. A token that is not known stands for DC
// where DC stalls are counted, because only the counts say what it carries.
func (c *collector) usSorted(tokens []string, counts [3]int) (dc, level2, level1 []stations.Connector) {
	for _, token := range tokens {
		plug := c.plug(token, 0)
		plug.DC = plug.DC || plug.Type.Current() == stations.CurrentUnknown && counts[0] > 0
		if kw := c.o.AssumedKW[plug.Type]; kw > 0 {
			plug.PowerKW, plug.Assumed = kw, true
		}
		switch {
		case plug.DC:
			dc = append(dc, plug)
		case plug.Type == "Domestic B" || plug.Type == "NEMA 5-20":
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

var (
	usDay  = regexp.MustCompile(`^(Mon|Tue|Wed|Thu|Fri|Sat|Sun) (\d{1,2}:\d\d[ap]m) - (\d{1,2}:\d\d[ap]m)$`)
	usSpan = regexp.MustCompile(`^(\d{1,2}(?::\d\d)?[ap]m) ?- ?(\d{1,2}(?::\d\d)?[ap]m) (daily|M-F|Sat|Sun)$`)
)

// usHours writes the table's words on hours in the OpenStreetMap grammar, ""
// where they are not of these forms: "24 hours daily"; "Mon 6:00am - 9:00pm;
// ..."; "8am-5pm M-F, 9am-1pm Sat". Behind a semicolon stand remarks on access.
func usHours(words string) string {
	first, _, _ := strings.Cut(words, ";")
	first = strings.TrimSpace(first)
	if strings.EqualFold(first, "24 hours daily") {
		return "24/7"
	}
	if rules := usRules(strings.Split(words, ";"), func(part string) (days, from, to string) {
		m := usDay.FindStringSubmatch(part)
		if m == nil {
			return "", "", ""
		}
		return m[1][:2] + " ", m[2], m[3]
	}); rules != "" {
		return rules
	}
	return usRules(strings.Split(first, ","), func(part string) (days, from, to string) {
		m := usSpan.FindStringSubmatch(part)
		if m == nil {
			return "", "", ""
		}
		return map[string]string{"daily": "", "M-F": "Mo-Fr ", "Sat": "Sa ", "Sun": "Su "}[m[3]], m[1], m[2]
	})
}

// usRules writes parts as rules, "" where one of them is none.
func usRules(parts []string, read func(part string) (days, from, to string)) string {
	var rules []string
	for _, part := range parts {
		days, from, to := read(strings.TrimSpace(part))
		begin, ok1 := usClock(from)
		end, ok2 := usClock(to)
		if !ok1 || !ok2 {
			return ""
		}
		if end == "23:59" || end == "00:00" {
			end = "24:00"
		}
		rules = append(rules, days+begin+"-"+end)
	}
	return strings.Join(rules, "; ")
}

func usClock(s string) (string, bool) {
	for _, layout := range []string{"3:04pm", "3pm"} {
		if t, err := time.Parse(layout, s); err == nil {
			return t.Format("15:04"), true
		}
	}
	return "", false
}

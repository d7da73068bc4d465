package open

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/stations"
)

// location is an OCPI 2.2.1 or 2.3.0 Location, as far as it is used
// (OCPI mod_locations).
type location struct {
	Country     string `json:"country_code"`
	Party       string `json:"party_id"`
	ID          string `json:"id"`
	Publish     *bool  `json:"publish"`
	Name        string `json:"name"`
	Address     string `json:"address"`
	City        string `json:"city"`
	PostalCode  string `json:"postal_code"`
	HelpPhone   string `json:"help_phone"` // since 2.3.0
	Coordinates *struct {
		Latitude  loose `json:"latitude"`
		Longitude loose `json:"longitude"`
	} `json:"coordinates"`
	Operator    *ocpiName `json:"operator"`
	Suboperator *ocpiName `json:"suboperator"`
	Facilities  []string  `json:"facilities"`
	Zone        string    `json:"time_zone"`
	Hours       *ocpiTime `json:"opening_times"`
	EVSEs       []evse    `json:"evses"`
	Updated     string    `json:"last_updated"`
}

type ocpiName struct {
	Name string `json:"name"`
}

type evse struct {
	UID          loose           `json:"uid"`
	ID           string          `json:"evse_id"`
	Status       string          `json:"status"`
	Connectors   []ocpiConnector `json:"connectors"`
	Restrictions []string        `json:"parking_restrictions"`
}

type ocpiConnector struct {
	Standard  string `json:"standard"`
	PowerType string `json:"power_type"`
	MaxV      loose  `json:"max_voltage"`
	MaxA      loose  `json:"max_amperage"`
	MaxW      loose  `json:"max_electric_power"`
}

// loose is a number or text as it stands, because senders mix them up.
type loose string

func (l *loose) UnmarshalJSON(raw []byte) error {
	if len(raw) > 0 && raw[0] == '"' {
		var s string
		err := json.Unmarshal(raw, &s)
		*l = loose(s)
		return err
	}
	if string(raw) != "null" {
		*l = loose(raw)
	}
	return nil
}

func (l loose) number() (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(string(l)), 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

func (c *collector) readLocation(raw []byte, where at) error {
	c.format(OCPI)
	var l location
	if err := decode(raw, &l); err != nil {
		c.rejectJSON(where, err)
		return nil
	}
	if l.Coordinates == nil {
		c.reject(where, "coordinates", "none", "latitude and longitude")
		return nil
	}
	lat, okLat := l.Coordinates.Latitude.number()
	lon, okLon := l.Coordinates.Longitude.number()
	if !okLat || !okLon {
		c.reject(where, "coordinates", string(l.Coordinates.Latitude)+", "+string(l.Coordinates.Longitude), "degrees with a decimal point")
		return nil
	}
	s := stations.Site{
		ID: l.ID, Name: l.Name, Lon: lon, Lat: lat, Country: c.word(strings.ToUpper(l.Country)),
		Address: joined(", ", l.Address, joined(" ", l.PostalCode, l.City)), Phone: l.HelpPhone, Zone: c.word(l.Zone),
		Access: l.access(), Amenities: l.Facilities, Source: c.word(joined("*", l.Country, l.Party)),
	}
	if l.Operator != nil {
		s.Operator = c.word(l.Operator.Name)
	}
	if s.Operator == "" && l.Suboperator != nil {
		s.Operator = c.word(l.Suboperator.Name)
	}
	if t, err := time.Parse(time.RFC3339, l.Updated); err == nil {
		s.Updated = t
	}
	if s.Hours = l.Hours.expression(s.Zone); s.Hours == "" && l.Hours != nil {
		c.suspect(where, "opening_times", "", "not understood: hours unknown")
	}
	for _, e := range l.EVSEs {
		s.Stalls = append(s.Stalls, c.ocpiStall(e, where))
	}
	s.Status = commonStatus(s.Stalls)
	return c.add(s, where)
}

// joined joins the texts that are not empty.
func joined(sep string, parts ...string) string {
	parts = slices.DeleteFunc(parts, func(p string) bool { return strings.TrimSpace(p) == "" })
	return strings.Join(parts, sep)
}

// access: a location that must not be published is private; one whose every
// stall is for customers is for customers.
func (l *location) access() stations.Access {
	if l.Publish != nil && !*l.Publish {
		return stations.AccessPrivate
	}
	customers := len(l.EVSEs) > 0
	for _, e := range l.EVSEs {
		customers = customers && slices.Contains(e.Restrictions, "CUSTOMERS")
	}
	if customers {
		return stations.AccessCustomers
	}
	if l.Publish != nil {
		return stations.AccessPublic
	}
	return stations.AccessUnknown
}

// ocpiStatus maps the OCPI EVSE status. Busy counts as operating: it says
// nothing about the day of the trip.
var ocpiStatus = map[string]stations.Status{
	"AVAILABLE": stations.StatusOperating, "BLOCKED": stations.StatusOperating, "CHARGING": stations.StatusOperating, "RESERVED": stations.StatusOperating,
	"INOPERATIVE": stations.StatusOutOfOrder, "OUTOFORDER": stations.StatusOutOfOrder,
	"PLANNED": stations.StatusPlanned, "REMOVED": stations.StatusClosed, "UNKNOWN": stations.StatusUnknown,
}

func (c *collector) ocpiStall(e evse, where at) stations.Stall {
	id := e.ID
	id = cmp.Or(id, string(e.UID))
	status, known := ocpiStatus[e.Status]
	if !known {
		c.suspect(where, "status", e.Status, "not an OCPI status: counted as unknown")
	}
	stall := stations.Stall{ID: id, Status: status}
	for _, con := range e.Connectors {
		if con.Standard == "" {
			c.suspect(where, "standard", "", "connector without a standard left out")
			continue
		}
		stall.Connectors = append(stall.Connectors, c.ocpiPlug(con, where))
	}
	return stall
}

// ocpiPlug reads a connector. The power is max_electric_power (W) where given;
// else amps and volts stand for it, where OCPI gives the volts of three phases
// from line to neutral.
func (c *collector) ocpiPlug(o ocpiConnector, where at) stations.Connector {
	watts, stated := o.MaxW.number()
	plug := c.plug(o.Standard, 0)
	plug.DC = o.PowerType == "DC" || o.PowerType == "" && plug.DC
	if v, ok := o.MaxA.number(); ok && v > 0 {
		plug.MaxA = v
	}
	if v, ok := o.MaxV.number(); ok && v > 0 {
		plug.MaxV = v
	}
	switch o.PowerType {
	case "AC_1_PHASE":
		plug.Phases = 1
	case "AC_2_PHASE", "AC_2_PHASE_SPLIT":
		plug.Phases = 2
	case "AC_3_PHASE":
		plug.Phases = 3
		plug.MaxV = c.lineToLine(plug.MaxV, where)
	}
	if stated && watts > 0 {
		plug = c.powered([]stations.Connector{plug}, watts/1000, where, "max_electric_power")[0]
	} else if kw := plug.RatedKW(); kw > ceilingKW(plug) {
		c.suspect(where, "max_voltage, max_amperage", fmt.Sprintf("%s V, %s A", o.MaxV, o.MaxA), "more kW than the plug's standard carries: power unknown")
		plug.MaxA, plug.MaxV = 0, 0
	}
	return plug
}

// lineToLine gives the volts between two phases. 380 to 480 V are those
// already, against the standard.
func (c *collector) lineToLine(volts float64, where at) float64 {
	if volts >= 380 && volts <= 480 {
		c.mend(where, "max_voltage", fmt.Sprintf("%g", volts), "line to neutral by the standard, but these are volts between lines: read so")
		return volts
	}
	return volts * math.Sqrt(3)
}

// commonStatus is the status that all stalls have, or operating where one is.
func commonStatus(stalls []stations.Stall) stations.Status {
	if len(stalls) == 0 {
		return stations.StatusUnknown
	}
	common := stalls[0].Status
	for _, s := range stalls {
		if s.Status == stations.StatusOperating {
			return stations.StatusOperating
		}
		if s.Status != common {
			common = stations.StatusUnknown
		}
	}
	return common
}

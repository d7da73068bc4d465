package stations

import (
	"fmt"
	"math"
	"slices"
	"time"

	"ampleway/data/fault"
	"ampleway/route/earth"
)

// OSM is in the Source of every record that comes from OpenStreetMap.
const OSM = "OpenStreetMap"

// Site is one place with stalls, as one record of a source describes it.
// Empty texts and zeros mean "the source does not say".
type Site struct {
	ID        string    `json:"id"`                  // unique within Source
	Name      string    `json:"name,omitempty"`      //
	Operator  string    `json:"operator,omitempty"`  // who runs the site
	Network   string    `json:"network,omitempty"`   // whose card or app opens it
	Address   string    `json:"address,omitempty"`   // one line
	Phone     string    `json:"phone,omitempty"`     // to call for help or before coming, as the source writes it
	Country   string    `json:"country,omitempty"`   // ISO 3166-1 alpha-2
	Lon       float64   `json:"lon"`                 // WGS 84 degrees, −180..180
	Lat       float64   `json:"lat"`                 // WGS 84 degrees, −90..90
	Access    Access    `json:"access,omitzero"`     // who may charge
	Status    Status    `json:"status,omitzero"`     // whether it works
	Hours     string    `json:"hours,omitempty"`     // OpenStreetMap opening_hours grammar, in the site's local time
	Zone      string    `json:"zone,omitempty"`      // IANA time zone, e.g. "Europe/Lisbon"
	Stalls    []Stall   `json:"stalls,omitempty"`    //
	SharedKW  float64   `json:"shared_kw,omitempty"` // most the whole site can give at once; 0 = no limit known
	Price     *Price    `json:"price,omitempty"`     // nil = not known
	Amenities []string  `json:"amenities,omitempty"` // in the source's words
	Updated   time.Time `json:"updated,omitzero"`    // last change of the record
	Source    string    `json:"source,omitempty"`    // name of the dataset
	Licence   string    `json:"licence,omitempty"`   // licence of the record
	Reach     Reach     `json:"reach,omitempty"`     // directions of travel that can drive in; empty = all
	Exit      *Exit     `json:"exit,omitempty"`      // where the driver leaves the main road, if the user says so
	DetourM   float64   `json:"detour_m,omitempty"`  // off the road and back, whole way, if the user says so; 0 = measured from the offset
	DetourS   float64   `json:"detour_s,omitempty"`  // the same in time
	Parts     []Site    `json:"parts,omitempty"`     // the whole records merged into this one, the leading one first; empty = not merged
	Note      string    `json:"note,omitempty"`      // anything a reader wants to keep for people
}

// Exit is a position on the main road, WGS 84 degrees.
type Exit struct {
	Lon float64 `json:"lon"`
	Lat float64 `json:"lat"`
}

// RoadPosition returns where a route finds the site: its Exit if it has one,
// or else its own position.
func (s *Site) RoadPosition() (lon, lat float64) {
	if s.Exit != nil {
		return s.Exit.Lon, s.Exit.Lat
	}
	return s.Lon, s.Lat
}

// AwayM returns how far the site is from the main road in metres, straight
// across the ground: the offset of a Hit, plus the way from the Exit to the
// site where it has one.
func (s *Site) AwayM(offsetM float64) float64 {
	if s.Exit == nil {
		return offsetM
	}
	return offsetM + earth.DistanceM(s.Exit.Lon, s.Exit.Lat, s.Lon, s.Lat)
}

// Stall is one position for one car (an EVSE). It serves one car at a time
// however many connectors it has.
type Stall struct {
	ID         string      `json:"id,omitempty"`
	Status     Status      `json:"status,omitzero"`
	Connectors []Connector `json:"connectors,omitempty"`
	Group      int         `json:"group,omitempty"`    // stalls of one site with the same Group > 0 share GroupKW
	GroupKW    float64     `json:"group_kw,omitempty"` // power the group shares; 0 = not known
}

// Connector is one plug or socket of a stall.
type Connector struct {
	Type    ConnectorType `json:"type"`
	DC      bool          `json:"dc,omitempty"`       // direct current
	PowerKW float64       `json:"power_kw,omitempty"` // most power; 0 = not known
	MaxA    float64       `json:"max_a,omitempty"`    // most current, per phase for AC; 0 = not known
	MaxV    float64       `json:"max_v,omitempty"`    // most voltage, line to line for three-phase AC; 0 = not known
	Phases  int           `json:"phases,omitempty"`   // AC phases, 1..3; 0 = not known or DC
	Assumed bool          `json:"assumed,omitempty"`  // PowerKW is a default, not from the source
}

// RatedKW returns the connector's power in kW: PowerKW, or what amps and
// volts give where the source has only these (V·A for DC and one phase,
// √3·V·A for three phases, volts line to line), or 0 where neither is known.
func (c Connector) RatedKW() float64 {
	if c.PowerKW > 0 {
		return c.PowerKW
	}
	kva := c.MaxA * c.MaxV / 1000
	if !c.DC && c.Phases == 3 {
		kva *= math.Sqrt(3)
	}
	return kva
}

// MaxPowerKW returns the highest rated power of the site's connectors, and of
// the direct-current ones alone; 0 where there is none or none is known.
func (s *Site) MaxPowerKW() (anyKW, dcKW float64) {
	for _, stall := range s.Stalls {
		for _, c := range stall.Connectors {
			anyKW = max(anyKW, c.RatedKW())
			if c.DC {
				dcKW = max(dcKW, c.RatedKW())
			}
		}
	}
	return anyKW, dcKW
}

// Plugs counts the plugs of one type.
func (s *Site) Plugs(t ConnectorType) int {
	n := 0
	for _, stall := range s.Stalls {
		for _, c := range stall.Connectors {
			if c.Type == t {
				n++
			}
		}
	}
	return n
}

// DCStalls returns how many stalls have a direct-current connector.
func (s *Site) DCStalls() int {
	n := 0
	for _, stall := range s.Stalls {
		if stall.hasDC() {
			n++
		}
	}
	return n
}

func (s Stall) hasDC() bool {
	return slices.ContainsFunc(s.Connectors, func(c Connector) bool { return c.DC })
}

// Validate reports the first thing about a site that no data can mean: a
// position off the globe, a negative or infinite figure. It returns a
// *fault.Input without a file.
func (s *Site) Validate() error {
	if !(math.Abs(s.Lon) <= 180) || !(math.Abs(s.Lat) <= 90) {
		return &fault.Input{Field: "position", Found: fmt.Sprintf("%g, %g", s.Lon, s.Lat), Expected: "longitude in −180..180, latitude in −90..90"}
	}
	if e := s.Exit; e != nil && (!(math.Abs(e.Lon) <= 180) || !(math.Abs(e.Lat) <= 90)) {
		return &fault.Input{Field: "exit", Found: fmt.Sprintf("%g, %g", e.Lon, e.Lat), Expected: "longitude in −180..180, latitude in −90..90"}
	}
	for _, f := range []figure{{"shared_kw", s.SharedKW}, {"detour_m", s.DetourM}, {"detour_s", s.DetourS}} {
		if err := f.check(); err != nil {
			return err
		}
	}
	for _, stall := range s.Stalls {
		if err := stall.validate(); err != nil {
			return err
		}
	}
	if s.Price != nil {
		return s.Price.Validate()
	}
	return nil
}

func (s Stall) validate() error {
	if s.Group < 0 {
		return &fault.Input{Field: "group", Found: fmt.Sprint(s.Group), Expected: "0 or a positive number"}
	}
	if err := (figure{"group_kw", s.GroupKW}).check(); err != nil {
		return err
	}
	for _, c := range s.Connectors {
		for _, f := range []figure{{"power_kw", c.PowerKW}, {"max_a", c.MaxA}, {"max_v", c.MaxV}} {
			if err := f.check(); err != nil {
				return err
			}
		}
		if c.Phases < 0 || c.Phases > 3 {
			return &fault.Input{Field: "phases", Found: fmt.Sprint(c.Phases), Expected: "0 to 3"}
		}
	}
	return nil
}

// figure is a named value that must be zero or positive and finite.
type figure struct {
	name  string
	value float64
}

func (f figure) check() error {
	if f.value >= 0 && !math.IsInf(f.value, 0) {
		return nil
	}
	return &fault.Input{Field: f.name, Found: fmt.Sprint(f.value), Expected: "zero or a positive number"}
}

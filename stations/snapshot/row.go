package snapshot

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"ampleway/stations"
)

// row is a site as it stands in the file.
type row struct {
	ID        string `parquet:"id"`
	Source    string `parquet:"source,optional,dict"`
	Licence   string `parquet:"licence,optional,dict"`
	Name      string `parquet:"name,optional"`
	Operator  string `parquet:"operator,optional,dict"`
	Network   string `parquet:"network,optional,dict"`
	Address   string `parquet:"address,optional"`
	Phone     string `parquet:"phone,optional,dict"`
	Country   string `parquet:"country,optional,dict"`
	Access    string `parquet:"access,optional,dict"`
	Status    string `parquet:"status,optional,dict"`
	Hours     string `parquet:"hours,optional,dict"`
	Zone      string `parquet:"zone,optional,dict"`
	Geometry  []byte `parquet:"geometry"`
	Stalls    string `parquet:"stalls,optional,dict"`
	StallIDs  string `parquet:"stall_ids,optional"`
	Price     string `parquet:"price,optional,dict"`
	Amenities string `parquet:"amenities,optional,dict"`
	Updated   string `parquet:"updated,optional,dict"`
	More      string `parquet:"more,optional"`

	StallCount   int32   `parquet:"stall_count"`
	DCStallCount int32   `parquet:"dc_stall_count"`
	PowerKW      float64 `parquet:"power_kw,optional"`
	DCPowerKW    float64 `parquet:"dc_power_kw,optional"`
	Connectors   string  `parquet:"connectors,optional,dict"`
}

// more is what few sites have.
type more struct {
	SharedKW float64         `json:"shared_kw,omitempty"`
	Reach    stations.Reach  `json:"reach,omitempty"`
	Exit     *stations.Exit  `json:"exit,omitempty"`
	DetourM  float64         `json:"detour_m,omitempty"`
	DetourS  float64         `json:"detour_s,omitempty"`
	Note     string          `json:"note,omitempty"`
	Parts    []stations.Site `json:"parts,omitempty"`
	StallIDs []string        `json:"stall_ids,omitempty"` // where one holds a line break
}

// run is a number of equal stalls, one after the other, without their names.
type run struct {
	Count int `json:"count,omitempty"` // 0 = 1
	stations.Stall
}

func toRow(s *stations.Site) (row, error) {
	anyKW, dcKW := s.MaxPowerKW()
	r := row{
		ID: s.ID, Source: s.Source, Licence: s.Licence, Name: s.Name,
		Operator: s.Operator, Network: s.Network, Address: s.Address, Phone: s.Phone, Country: s.Country,
		Access: known(s.Access != stations.AccessUnknown, s.Access.String()),
		Status: known(s.Status != stations.StatusUnknown, s.Status.String()),
		Hours:  s.Hours, Zone: s.Zone, Geometry: wkb(s.Lon, s.Lat),
		StallCount: int32(len(s.Stalls)), DCStallCount: int32(s.DCStalls()),
		PowerKW: anyKW, DCPowerKW: dcKW, Connectors: connectors(s),
	}
	if !s.Updated.IsZero() {
		r.Updated = s.Updated.Format(time.RFC3339Nano)
	}
	return r, r.encode(s)
}

func (r *row) encode(s *stations.Site) error {
	runs, ids := layout(s.Stalls)
	rest := more{s.SharedKW, s.Reach, s.Exit, s.DetourM, s.DetourS, s.Note, s.Parts, nil}
	if text := strings.Join(ids, "\n"); strings.Count(text, "\n") == len(ids)-1 {
		r.StallIDs = text
	} else {
		rest.StallIDs = ids
	}
	for _, part := range []struct {
		into  *string
		empty bool
		value any
	}{
		{&r.Stalls, len(runs) == 0, runs},
		{&r.Price, s.Price == nil, s.Price},
		{&r.Amenities, len(s.Amenities) == 0, s.Amenities},
		{&r.More, rest.empty(), rest},
	} {
		if part.empty {
			continue
		}
		text, err := json.Marshal(part.value)
		if err != nil {
			return err
		}
		*part.into = string(text)
	}
	return nil
}

func (m more) empty() bool {
	return m.SharedKW == 0 && len(m.Reach) == 0 && m.Exit == nil && m.DetourM == 0 && m.DetourS == 0 && m.Note == "" && len(m.Parts) == 0 && len(m.StallIDs) == 0
}

func known(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

// layout folds equal stalls in a row into runs and takes out their names; ids
// is nil where no stall has a name.
func layout(stalls []stations.Stall) (runs []run, ids []string) {
	for i, s := range stalls {
		if s.ID != "" && ids == nil {
			ids = make([]string, len(stalls))
		}
		if ids != nil {
			ids[i] = s.ID
		}
		s.ID = ""
		if n := len(runs); n > 0 && alike(runs[n-1].Stall, s) {
			runs[n-1].Count = max(runs[n-1].Count, 1) + 1
			continue
		}
		runs = append(runs, run{Stall: s})
	}
	return runs, ids
}

func alike(a, b stations.Stall) bool {
	return a.Status == b.Status && a.Group == b.Group && a.GroupKW == b.GroupKW && slices.Equal(a.Connectors, b.Connectors)
}

// connectors lists the site's connector types once each, in alphabetical
// order, separated by ";".
func connectors(s *stations.Site) string {
	var types []string
	for _, stall := range s.Stalls {
		for _, c := range stall.Connectors {
			types = append(types, string(c.Type))
		}
	}
	slices.Sort(types)
	return strings.Join(slices.Compact(types), ";")
}

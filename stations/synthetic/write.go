package synthetic

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"

	"ampleway/stations"
)

// WriteGeoJSON writes sites in the project's own GeoJSON form, a line a
// feature.
func WriteGeoJSON(w io.Writer, sites stations.Sites) error {
	type geometry struct {
		Type        string     `json:"type"`
		Coordinates [2]float64 `json:"coordinates"`
	}
	out := bufio.NewWriter(w)
	out.WriteString("{\"type\":\"FeatureCollection\",\"features\":[\n")
	for i := range sites {
		text, err := json.Marshal(struct {
			Type       string         `json:"type"`
			ID         string         `json:"id"`
			Geometry   geometry       `json:"geometry"`
			Properties *stations.Site `json:"properties"`
		}{"Feature", sites[i].ID, geometry{"Point", [2]float64{sites[i].Lon, sites[i].Lat}}, &sites[i]})
		if err != nil {
			return err
		}
		if i > 0 {
			out.WriteString(",\n")
		}
		out.Write(text)
	}
	out.WriteString("\n]}\n")
	return out.Flush()
}

// WriteCSV writes sites in the project's own CSV form, a row a connector of a
// stall.
func WriteCSV(w io.Writer, sites stations.Sites) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"id", "name", "operator", "address", "lon", "lat", "stall", "connector", "power_kw", "max_a", "max_v", "hours", "access", "updated"}); err != nil {
		return err
	}
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	for _, s := range sites {
		for _, stall := range s.Stalls {
			for _, c := range stall.Connectors {
				row := []string{s.ID, s.Name, s.Operator, s.Address, number(s.Lon), number(s.Lat), stall.ID, string(c.Type),
					number(c.PowerKW), number(c.MaxA), number(c.MaxV), s.Hours, s.Access.String(), s.Updated.Format("2006-01-02")}
				if err := out.Write(row); err != nil {
					return err
				}
			}
		}
	}
	out.Flush()
	return out.Error()
}

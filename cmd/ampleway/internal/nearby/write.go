package nearby

import (
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"ampleway/data/wording"
	"ampleway/stations"
)

// Formats are the names that For knows.
func Formats() []string { return []string{"text", "geojson", "csv"} }

// For returns the writer of a format, nil for one that is not known.
func For(format string) func(io.Writer, List) error {
	switch format {
	case "text":
		return Text
	case "geojson":
		return GeoJSON
	case "csv":
		return CSV
	}
	return nil
}

// Text writes a table for people.
func Text(w io.Writer, l List) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %.1f km, %s passed within %.1f km in a straight line; off road is the way by road, estimated unless the data say\n", l.RouteName, l.LengthM/1000, wording.Count(len(l.Passes), "station"), l.HalfWidth/1000)
	if len(l.Passes) > 0 {
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "at km\toff road\tbest bay\tbays\tstation\toperator\thours\tprice\t")
		for _, p := range l.Passes {
			fmt.Fprintf(t, "%.1f\t%.1f km\t%s\t%d\t%s\t%s\t%s\t%s\t%s\n", p.ChainageM/1000, p.OneWayM/1000, stall(p), p.Offer.Stalls,
				cmp.Or(p.Site.Name, p.Site.Address, p.Site.ID), p.Site.Operator, cmp.Or(p.Site.Hours, "not known"), price(p.Site.Price), p.Why)
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	for _, why := range slices.Sorted(maps.Keys(l.Refused)) {
		fmt.Fprintf(&b, "left out, %s: %d\n", why, l.Refused[why])
	}
	for _, credit := range l.Credits {
		fmt.Fprintln(&b, credit)
	}
	_, err := io.WriteString(w, trimLines(b.String()))
	return err
}

// trimLines takes the padding off the ends of lines.
func trimLines(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

func stall(p Pass) string {
	if p.Offer.Stalls == 0 {
		return "none"
	}
	text := fmt.Sprintf("%s %g kW", p.Offer.Connector, round(p.Offer.PowerKW, 1))
	if p.Offer.Assumed {
		text += " (assumed)"
	}
	return text
}

// price gives the leading figures of a price.
func price(p *stations.Price) string {
	if p == nil {
		return "not known"
	}
	var parts []string
	for _, f := range []struct {
		value float64
		per   string
	}{{p.PerKWh, "kWh"}, {p.PerMinute, "min"}, {p.SessionFee, "session"}} {
		if f.value > 0 {
			parts = append(parts, fmt.Sprintf("%g %s/%s", f.value, p.Currency, f.per))
		}
	}
	if varies(p) {
		parts = append(parts, "varies")
	}
	if len(parts) == 0 {
		return "free"
	}
	return strings.Join(parts, " + ")
}

// varies reports whether a price has more to say than its leading figures.
func varies(p *stations.Price) bool { return len(p.Periods) > 0 || len(p.Bands) > 0 }

// csvHeader are the columns of the project's own station form, with where the
// route passes in front; what reads that form reads this, too.
var csvHeader = []string{
	"chainage_km", "off_road_km", "verdict", "id", "name", "operator", "network", "lon", "lat", "connector", "current", "power_kw", "stalls",
	"access", "status", "hours", "zone", "currency", "per_kwh", "per_minute", "session_fee", "source", "licence", "address", "phone",
}

// CSV writes a row a pass (RFC 4180), with the best stall alone. A price that
// changes with time or power is left empty. Source and licence are columns.
func CSV(w io.Writer, l List) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write(csvHeader); err != nil {
		return err
	}
	for _, p := range l.Passes {
		if err := c.Write(csvRow(p)); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func csvRow(p Pass) []string {
	s := p.Site
	row := []string{
		number(round(p.ChainageM/1000, 3)), number(round(p.OneWayM/1000, 3)), string(p.Why), wording.Cell(s.ID), wording.Cell(s.Name), wording.Cell(s.Operator), wording.Cell(s.Network),
		number(round(s.Lon, 7)), number(round(s.Lat, 7)), "", "", "", "", s.Access.String(), s.Status.String(), wording.Cell(s.Hours), s.Zone,
		"", "", "", "", wording.Cell(s.Source), wording.Cell(s.Licence), wording.Cell(s.Address), wording.Cell(s.Phone),
	}
	if p.Offer.Stalls > 0 {
		row[9], row[10], row[11], row[12] = string(p.Offer.Connector), current(p.Offer.DC), number(p.Offer.PowerKW), strconv.Itoa(p.Offer.Stalls)
	}
	if s.Price != nil && !varies(s.Price) {
		row[17], row[18], row[19], row[20] = s.Price.Currency, number(s.Price.PerKWh), number(s.Price.PerMinute), number(s.Price.SessionFee)
	}
	return row
}

func current(dc bool) string {
	if dc {
		return "dc"
	}
	return "ac"
}

// GeoJSON writes a FeatureCollection (RFC 7946): the project's own station
// form, with the pass beside it.
func GeoJSON(w io.Writer, l List) error {
	type geometry struct {
		Type        string     `json:"type"`
		Coordinates [2]float64 `json:"coordinates"`
	}
	type properties struct {
		ChainageKM float64 `json:"chainage_km"`
		OffRoadKM  float64 `json:"off_road_km"`
		Verdict    string  `json:"verdict,omitempty"`
		Best       string  `json:"best,omitempty"`
		*stations.Site
	}
	type feature struct {
		Type       string     `json:"type"`
		ID         string     `json:"id"`
		Geometry   geometry   `json:"geometry"`
		Properties properties `json:"properties"`
	}
	features := make([]feature, len(l.Passes))
	for i, p := range l.Passes {
		features[i] = feature{"Feature", p.Site.ID, geometry{"Point", [2]float64{round(p.Site.Lon, 7), round(p.Site.Lat, 7)}}, properties{
			ChainageKM: round(p.ChainageM/1000, 3), OffRoadKM: round(p.OneWayM/1000, 3), Verdict: string(p.Why), Best: stall(p), Site: p.Site,
		}}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	type about struct {
		Format  string   `json:"format"`
		Credits []string `json:"credits"`
	}
	return e.Encode(struct {
		Type     string    `json:"type"`
		About    about     `json:"ampleway"`
		Features []feature `json:"features"`
	}{"FeatureCollection", about{"ampleway-stations-near/1", l.Credits}, features})
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func round(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(x*scale) / scale
}

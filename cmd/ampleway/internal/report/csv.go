package report

import (
	"encoding/csv"
	"io"
	"strconv"

	"ampleway/data/wording"
	"ampleway/route/trip"
)

var csvHeader = []string{
	"stop", "name", "operator", "id", "lon", "lat", "chainage_km", "detour_km", "arrive_at", "arrive_min",
	"arrive_soc_pct", "leave_soc_pct", "dwell_min", "charge_min", "energy_kwh", "power_in_kw", "power_out_kw", "cost", "currency",
	"network", "address", "phone",
}

// CSV writes a row for the start, for each stop and for the destination (RFC
// 4180). What a row does not have is empty.
func CSV(w io.Writer, p *trip.Plan, o Options) error {
	return writeCSV(w, append([][]string{csvHeader}, csvRows(p, o)...))
}

// VisitCSV writes the rows of CSV for each drive, with its number before them.
// Minutes count from the departure of the drive.
func VisitCSV(w io.Writer, v *trip.JourneyPlan, o Options) error {
	rows := [][]string{append([]string{"drive"}, csvHeader...)}
	for i, p := range v.Plans {
		for _, row := range csvRows(p, o) {
			rows = append(rows, append([]string{strconv.Itoa(i + 1)}, row...))
		}
	}
	return writeCSV(w, rows)
}

func csvRows(p *trip.Plan, o Options) [][]string {
	d := NewDocument(p, o)
	rows := [][]string{endRow(p, "start", 0, d.DepartAt, 0, "", number(d.DepartSoCPct))}
	for i, s := range d.Stops {
		rows = append(rows, stopRow(i+1, s))
	}
	return append(rows, endRow(p, "destination", p.Drive.Profile.LengthM(), d.ArriveAt, d.DurationMin, number(d.ArrivalSoCPct), ""))
}

func writeCSV(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return c.WriteAll(rows)
}

func endRow(p *trip.Plan, name string, chainageM float64, at string, afterMin float64, arrive, leave string) []string {
	place := p.Drive.Corridor.Route.At(chainageM)
	return []string{
		"", name, "", "", number(place.Lon), number(place.Lat), number(km(chainageM)), "", at, number(afterMin),
		arrive, leave, "", "", "", "", "", "", "", "", "", "",
	}
}

func stopRow(n int, s Stop) []string {
	row := []string{
		strconv.Itoa(n), wording.Cell(s.Station.Name), wording.Cell(s.Station.Operator), wording.Cell(s.Station.ID), number(s.Station.Lon), number(s.Station.Lat),
		number(s.ChainageKM), number(s.DetourKM), s.ArriveAt, number(s.ArriveMin), number(s.ArriveSoCPct), number(s.LeaveSoCPct),
		number(s.DwellMin), number(s.ChargeMin), number(s.EnergyKWh), number(s.PowerInKW), number(s.PowerOutKW), "", "",
		wording.Cell(s.Station.Network), wording.Cell(s.Station.Address), wording.Cell(s.Station.Phone),
	}
	if s.Cost != nil {
		row[17], row[18] = number(s.Cost.Amount), s.Cost.Currency
	}
	return row
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

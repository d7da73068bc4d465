package answer

import (
	"encoding/csv"
	"io"
	"strconv"

	"ampleway/data/wording"
	"ampleway/route/trip"
)

var csvHeader = []string{
	"drive", "stop", "name", "operator", "id", "lon", "lat", "chainage_km", "detour_km", "arrive_at", "arrive_min",
	"reach_pct", "leave_pct", "dwell_min", "charge_min", "energy_kwh", "power_in_kw", "power_out_kw", "cost", "currency",
	"network", "address", "phone",
}

// List gives, for each drive, a row for the start, for each stop and for the
// destination. What a row does not have is empty. Minutes count from the
// departure of the drive.
func (j Journey) List(Options) [][]string {
	rows := [][]string{csvHeader}
	for i, p := range j.Plans {
		d := driveDocument(p)
		drive := strconv.Itoa(i + 1)
		rows = append(rows, endRow(p, drive, "start", 0, d.DepartAt, 0, "", number(d.LeavePct)))
		for n, s := range d.Stops {
			rows = append(rows, stopRow(drive, n+1, s))
		}
		rows = append(rows, endRow(p, drive, "destination", p.Drive.Profile.LengthM(), d.ArriveAt, d.DurationMin, number(d.ReachPct), ""))
	}
	return rows
}

func writeCSV(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true // RFC 4180
	return c.WriteAll(rows)
}

func endRow(p *trip.Plan, drive, name string, chainageM float64, at string, afterMin float64, reach, leave string) []string {
	place := p.Drive.Corridor.Route.At(chainageM)
	return []string{
		drive, "", name, "", "", number(place.Lon), number(place.Lat), number(km(chainageM)), "", at, number(afterMin),
		reach, leave, "", "", "", "", "", "", "", "", "", "",
	}
}

func stopRow(drive string, n int, s Stop) []string {
	row := []string{
		drive, strconv.Itoa(n), wording.Cell(s.Station.Name), wording.Cell(s.Station.Operator), wording.Cell(s.Station.ID), number(s.Station.Lon), number(s.Station.Lat),
		number(s.ChainageKM), number(s.DetourKM), s.ArriveAt, number(s.ArriveMin), number(s.ReachPct), number(s.LeavePct),
		number(s.DwellMin), number(s.ChargeMin), number(s.EnergyKWh), number(s.PowerInKW), number(s.PowerOutKW), "", "",
		wording.Cell(s.Station.Network), wording.Cell(s.Station.Address), wording.Cell(s.Station.Phone),
	}
	if s.Cost != nil {
		row[18], row[19] = number(s.Cost.Amount), s.Cost.Currency
	}
	return row
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

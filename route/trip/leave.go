package trip

import (
	"math"

	"ampleway/route/stops"
)

// LeaveRow is one line of a leave rule: whoever reads FromPct or more on
// arrival, but less than ToPct, charges to LeavePct and drives to Next.
//
// The figures are whole percents for a passenger with nothing but the car's
// gauge, rounded so that the reserves hold even where the gauge rounds to the
// nearest percent: a line holds for the lowest state of charge at which the
// gauge shows its figure, and LeavePct is the next whole percent at least half
// a percent above the exact one. No line asks for more than the highest state
// of charge.
type LeaveRow struct {
	FromPct, ToPct int // ToPct is 101 in the last line
	LeavePct       int // 0: drive on at once
	Next           *Charger
	NextName       string
	AsPlanned      bool // the line that the plan itself follows
}

// AtOnce reports whether the line says to drive on without charging.
func (r LeaveRow) AtOnce() bool { return r.LeavePct == 0 }

// gaugeError is how far the gauge may be above the truth.
const gaugeError = 0.005

// roundUp is the least whole percent that a gauge shows only when soc is
// really there.
func roundUp(soc float64) int { return int(math.Ceil(100*(soc+gaugeError) - 1e-9)) }

func (p *Plan) rules(sweep *stops.Sweep) [][]LeaveRow {
	out := make([][]LeaveRow, len(p.Exact.Stops))
	for i := range p.Exact.Stops {
		out[i] = p.leaveRows(sweep, p.Exact.Stops[i].Charger, p.Exact.Stops[i].ArriveSoC)
	}
	return out
}

// leaveRows asks a sweep what to do for every whole percent that the gauge can
// show, the truth being as low as that allows, and puts equal answers into one
// line.
func (p *Plan) leaveRows(sweep *stops.Sweep, charger int, arriveSoC float64) []LeaveRow {
	var rows []LeaveRow
	planned := int(math.Round(100 * arriveSoC))
	for pct := 0; pct <= 100; pct++ {
		soc := math.Max(float64(pct)/100-gaugeError, 0)
		d, ok := sweep.Decide(charger, soc)
		if !ok {
			continue
		}
		row := LeaveRow{FromPct: pct, ToPct: pct + 1, AsPlanned: pct == planned}
		if d.LeaveSoC > soc {
			row.LeavePct = min(roundUp(d.LeaveSoC), p.Goal.ceilingPct())
		}
		if d.Next >= 0 {
			row.Next = &p.Drive.Chargers[d.Next]
		}
		row.NextName = p.Drive.placeName(row.Next, false)
		if n := len(rows); n > 0 && rows[n-1].LeavePct == row.LeavePct && rows[n-1].Next == row.Next {
			rows[n-1].ToPct = row.ToPct
			rows[n-1].AsPlanned = rows[n-1].AsPlanned || row.AsPlanned
			continue
		}
		rows = append(rows, row)
	}
	return rows
}

// ceilingPct is the highest state of charge to charge to, %.
func (g Goal) ceilingPct() int {
	if g.CeilingSoC == 0 {
		return 100
	}
	return int(math.Ceil(100*g.CeilingSoC - 1e-9))
}

// Follow returns the state of charge to leave with, and where to drive, for a
// passenger who reads gaugePct on arriving at stop i.
func (p *Plan) Follow(i int, gaugePct float64) (LeaveRow, bool) {
	return follow(p.Rules[i], gaugePct)
}

func follow(rows []LeaveRow, gaugePct float64) (LeaveRow, bool) {
	for _, r := range rows {
		if gaugePct < float64(r.ToPct) {
			return r, gaugePct >= float64(r.FromPct)
		}
	}
	return LeaveRow{}, false
}

// LikelyRules are the lines of stop i's leave rule that consumption within
// three standard deviations of the estimate can bring about. The last of them
// stands for every higher state of charge that the full rule goes on to.
func (p *Plan) LikelyRules(i int) []LeaveRow {
	const deviations = 3.0
	s := NewSpread(p.Drive.Car.PlanSpread())
	leg := &p.Legs[i]
	thriftySoC := leg.EnergyKWh / p.Drive.Profile.CapacityKWh() * (1 - math.Exp(-deviations*math.Hypot(s.trip, s.leg)))
	most := 100 * math.Min(leg.ArriveSoC+math.Max(thriftySoC, 0), 1)
	rows := p.Rules[i]
	for n, r := range rows {
		if most < float64(r.ToPct) {
			return rows[:n+1]
		}
	}
	return rows
}

// keepRules is a leave rule of one line a stop.
func (p *Plan) keepRules() {
	p.Rules = make([][]LeaveRow, len(p.Stops))
	for i := range p.Stops {
		row := LeaveRow{ToPct: 101, LeavePct: min(roundUp(p.Stops[i].LeaveSoC), p.Goal.ceilingPct()), NextName: p.Legs[i+1].To, AsPlanned: true}
		if i+1 < len(p.Stops) {
			row.Next = p.Stops[i+1].Charger
		}
		p.Rules[i] = []LeaveRow{row}
	}
}

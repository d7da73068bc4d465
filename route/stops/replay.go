package stops

import "math"

// replay turns choices into a plan: every time, energy and price.
func (m *model) replay(choices []choice, departSoC float64, plan *Plan) {
	p := m.problem
	*plan = Plan{Stops: plan.Stops[:0]}
	clock, soc, from := p.DepartS, departSoC, 0
	for _, c := range choices {
		way := m.way(from, c.node, c.option)
		driveS := m.driveS(from, c.node, c.option)
		clock += driveS
		soc = way.arrive(soc)
		if c.node == m.n+1 {
			plan.Option, plan.DriveS = c.option, driveS
			break
		}
		plan.Stops = append(plan.Stops, Stop{
			Charger: c.node - 1, Option: c.option, DriveS: driveS,
			ArriveS: clock, ArriveSoC: soc, LeaveSoC: leaving(soc, c.leaveSoC), Rest: c.rest,
		})
		s := &plan.Stops[len(plan.Stops)-1]
		fillStop(p, s, c.join(clock), c.stayS)
		clock, soc, from = s.LeaveS, s.LeaveSoC, c.node
		plan.Money += s.Money
	}
	plan.ArriveSoC = soc
	m.total(plan, clock)
}

// leaving is the SoC on leaving a stop that is reached with soc. A charge of no
// more than rounding is none: without power it would take for ever.
func leaving(soc, leaveSoC float64) float64 {
	const rounding = 1e-12
	if leaveSoC-soc < rounding {
		return soc
	}
	return leaveSoC
}

// total fills what follows from the clock at the destination.
func (m *model) total(plan *Plan, clock float64) {
	plan.ArriveS = clock
	plan.TimeS = plan.ArriveS - m.problem.DepartS
	plan.Revalue(m.problem)
	plan.Bound = plan.Value
}

// fillStop completes a stop whose arrival and leaving SoC are known, where the
// queue is joined at joinS and the stay is at least stayS.
func fillStop(p *Problem, s *Stop, joinS, stayS float64) {
	c := &p.Chargers[s.Charger]
	queueS, price := c.at(joinS)
	s.WaitS = joinS - s.ArriveS + queueS
	s.OverheadS = c.OverheadS
	s.ChargeS = c.Power.TimeS(s.ArriveSoC, s.LeaveSoC)
	s.StayS = math.Max(s.ChargeS, math.Max(c.LeastStayS, stayS))
	s.ChargeKWh = (s.LeaveSoC - s.ArriveSoC) * p.CapacityKWh
	s.LeaveS = s.ArriveS + s.WaitS + s.OverheadS + s.StayS
	s.Money = price.Due(s.ChargeKWh, s.ChargeS, s.StayS)
}

// Due is the price of one stay of stayS seconds, of which chargeS with power.
func (q *Price) Due(kWh, chargeS, stayS float64) float64 {
	idleS := math.Max(0, stayS-q.IdleAfterS)
	return q.PerSession + q.PerKWh*kWh + (q.PerMinute*chargeS+q.IdlePerMinute*idleS)/60
}

// at returns the queue and the price for whoever joins it at a clock time.
func (c *Charger) at(clockS float64) (queueS float64, price *Price) {
	queueS, price = 0, &c.Price
	for i := range c.Periods {
		if c.Periods[i].FromS > clockS {
			break
		}
		queueS, price = c.Periods[i].WaitS, &c.Periods[i].Price
	}
	return queueS, price
}

// way is the drive between two nodes with its detours.
func (m *model) way(from, to, option int) span {
	way := m.nodes[from].out
	for k := from; k < to; k++ {
		way = way.then(m.road[option][k])
	}
	return way.then(m.nodes[to].in)
}

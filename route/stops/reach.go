package stops

import "math"

// reach finds, for every node, the highest SoC a car can arrive with, −Inf
// where it cannot get there; it knows nothing of the number of stops or the
// clock.
func (m *model) reach(best []float64, departSoC float64) []float64 {
	best = resize(best, m.n+2)
	for k := range best {
		best[k] = math.Inf(-1)
	}
	best[0] = departSoC
	for j := 0; j <= m.n; j++ {
		if math.IsInf(best[j], -1) {
			continue
		}
		full := m.full(j, best[j])
		m.ways(j, full, func(k int, way span) {
			if way.need <= full {
				best[k] = math.Max(best[k], way.arrive(full))
			}
		})
	}
	return best
}

// full is the most a car can leave node j with, having arrived with soc.
func (m *model) full(j int, soc float64) float64 {
	if j == 0 {
		return soc
	}
	return math.Max(soc, math.Min(m.nodes[j].ceiling, m.problem.Chargers[j-1].Power.ReachSoC(soc)))
}

// ways calls visit with every drive from node j to a later one, as far as the
// road alone needs no more than most; reserves are part of the need.
func (m *model) ways(j int, most float64, visit func(k int, way span)) {
	for o := range m.road {
		way := m.nodes[j].out
		for k := j + 1; k <= m.n+1; k++ {
			way = way.then(m.road[o][k-1])
			if way.need > most {
				break
			}
			to := &m.nodes[k]
			if to.use == MustPass {
				continue
			}
			whole := way.then(to.in)
			whole.need = math.Max(way.need, way.cost+to.atRoad)
			if way.cap < to.atRoad {
				whole.need = math.Inf(1)
			}
			visit(k, whole)
			if to.use == MustStop {
				break
			}
		}
	}
}

// diagnose says why no plan was found.
func (m *model) diagnose(departSoC float64) *Infeasible {
	best := m.reach(nil, departSoC)
	if !math.IsInf(best[m.n+1], -1) {
		return &Infeasible{Farthest: Destination, From: Origin, To: Destination, Why: m.otherLimit()}
	}
	farthest := 0
	for k := range best {
		if !math.IsInf(best[k], -1) {
			farthest = k
		}
	}
	out := &Infeasible{Farthest: m.place(farthest), From: m.place(farthest), To: Destination, MissingKWh: math.Inf(1)}
	for j := 0; j <= farthest; j++ {
		if math.IsInf(best[j], -1) {
			continue
		}
		full := m.full(j, best[j]) * m.problem.CapacityKWh
		m.problem.legs(j, func(k int, l Leg, reserve float64) {
			missing := math.Max(l.NeedKWh, l.CostKWh+reserve*m.problem.CapacityKWh) - full
			if l.limit() < reserve*m.problem.CapacityKWh {
				missing = math.Inf(1)
			}
			if k > farthest && missing < out.MissingKWh {
				out.From, out.To, out.MissingKWh = m.place(j), m.place(k), missing
			}
		})
	}
	if math.IsInf(out.MissingKWh, 1) {
		out.MissingKWh = 0
		out.Why = "regeneration into a full battery or a used-up one leaves less than the next place needs, whatever is charged"
	}
	return out
}

// legs calls visit with every drive from node j to a later one, as if the
// battery were large enough for it, and with the reserve there.
func (p *Problem) legs(j int, visit func(k int, l Leg, reserve float64)) {
	for _, pieces := range p.Road {
		var way Leg
		if j > 0 {
			way = p.Chargers[j-1].Out
		}
		for k := j + 1; k <= len(pieces); k++ {
			way = way.Then(pieces[k-1])
			if k == len(pieces) {
				visit(k, way, p.ReserveSoC)
				break
			}
			c := &p.Chargers[k-1]
			if c.Use != MustPass {
				visit(k, way.Then(c.In), c.ReserveSoC)
			}
			if c.Use == MustStop {
				break
			}
		}
	}
}

func (m *model) otherLimit() string {
	p := m.problem
	switch {
	case p.MostStops > 0:
		return "energy would do, but not with so few stops and the other limits"
	case p.Rest.LeastS > 0:
		return "energy would do, but the rest does not fit"
	}
	return "energy would do, but not the hours or the longest stays"
}

func (m *model) place(node int) int {
	if node == m.n+1 {
		return Destination
	}
	return node - 1
}

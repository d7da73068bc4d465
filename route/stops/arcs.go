package stops

import "math"

// arc is a way from a node to a later one without charging in between. Its
// need includes the reserves of every place where it stops, the last included.
type arc struct {
	span
	to     int32
	option int32 // of the last drive
	via    int32 // the stop before the last drive, as an index of hops, or noHop
	passed int32 // stops without charging on the way
}

// hop is a stop without charging on an arc, in a chain that leads back.
type hop struct {
	node, option, before int32
}

const noHop = -1

// direct appends every arc from node j without a stop in between that can be
// driven with most in the battery, in road order within each option.
func (m *model) direct(j int, most float64, arcs []arc) []arc {
	for o := range m.road {
		way := m.nodes[j].out
		road := m.road[o]
		for k := j + 1; k < len(m.nodes); k++ {
			way = way.then(road[k-1])
			if way.need > most {
				break
			}
			to := &m.nodes[k]
			if to.use == MustPass {
				continue
			}
			need := way.cost + to.atRoad
			if need < way.need {
				need = way.need
			}
			if need <= most && way.cap >= to.atRoad {
				relief := m.relief[k] - m.relief[j]
				end := span{way.value + to.in.value, need, way.cost + to.in.cost - relief, way.cap - to.in.cost + relief}
				if end.cap > to.in.cap {
					end.cap = to.in.cap
				}
				arcs = append(arcs, arc{end, int32(k), int32(o), noHop, 0})
			}
			if to.use == MustStop {
				break
			}
		}
	}
	return arcs
}

// table holds, while the sweep goes from the last node to the first, the road
// from the node at hand to every later one. All of it is measured from the
// origin, so that most of it stays as it is from one node to the one before.
type table struct {
	options []roadTable
}

// roadTable is the table of one speed option.
type roadTable struct {
	turns []turnOff // by node
	ends  []end     // by node
	far   int       // the last node that some SoC at the one at hand reaches
}

// turnOff is where a node's way leaves the road: value and cost from the
// origin.
type turnOff struct{ value, cost float64 }

// end is what an arc needs to know of a node as its end. From the turn-off of
// node j, with c its cost, need is at least peak − c and floor − c, the arrival
// is departure + c − cost and at most room − cost.
type end struct {
	peak  float64 // the highest of need and cost at the start of the pieces between; rises from node to node
	room  float64 // the lowest of cap and cost at the end of the pieces between; falls from node to node
	floor float64 // cost of the turn-off and the least SoC there; +Inf where no plan may stop
	value float64 // from the origin to the stall
	cost  float64
	spare float64 // relief
	cap   float64 // of the way from the road
	least float64 // the reserve, and what rounding may add to it
	class int32   // of the node
	price float64 // its perSoC
}

func (t *table) reset(m *model) {
	t.options = resize(t.options, len(m.road))
	for o, road := range m.road {
		r := &t.options[o]
		r.turns, r.ends = resize(r.turns, m.n+2), resize(r.ends, m.n+2)
		r.far = m.n + 1
		at := turnOff{}
		r.turns[0] = at
		for i := range road {
			at.value += road[i].value
			at.cost += inBatteries(road[i].cost)
			r.turns[i+1] = at
			d := &m.nodes[i+1]
			r.ends[i+1] = end{floor: at.cost + d.atRoad, value: at.value + d.in.value, cost: at.cost + d.in.cost, spare: m.relief[i+1], cap: d.in.cap, least: d.reserve + rounding, class: d.class, price: d.perSoC}
			if d.use == MustPass {
				r.ends[i+1].floor = math.Inf(1)
			}
		}
	}
}

// inBatteries is a share of the battery kept within two: no battery yields or
// takes more, and sums of it stay precise.
func inBatteries(share float64) float64 {
	return max(-2, min(share, 2))
}

// back steps from node j+1 to node j.
func (t *table) back(m *model, j int) {
	for o := range t.options {
		r := &t.options[o]
		piece := &m.road[o][j]
		peak, room := r.turns[j].cost+inBatteries(piece.need), r.turns[j+1].cost+piece.cap
		for r.far > j+1 && r.ends[r.far].peak > room+rounding {
			r.far--
		}
		ends := r.ends[j+1 : r.far+1]
		ends[0].peak, ends[0].room = peak, room
		for k := 1; k < len(ends) && ends[k].peak < peak; k++ {
			ends[k].peak = peak
		}
		for k := 1; k < len(ends) && ends[k].room > room; k++ {
			ends[k].room = room
		}
	}
}

// start is node j as the start of arcs.
type start struct {
	value float64 // of the turn-off, less the way there
	cost  float64
	spare float64 // relief
	need  float64 // of the way to the road
	room  float64 // cap of the way to the road, from the origin
}

// from returns node j as a start and the last node that its road leads to.
func (r *roadTable) from(m *model, j int) (s start, far int) {
	at, out := r.turns[j], &m.nodes[j].out
	s = start{at.value - out.value, at.cost - out.cost, m.relief[j], out.need, at.cost + out.cap}
	far = min(r.far, m.must[j])
	for far > j && r.ends[far].peak > s.room+rounding {
		far--
	}
	return s, far
}

// drive is the way from a start: what to leave with at least, what it costs,
// and the most there is on arrival. ok is false where nothing can be left with
// to get there.
func (s *start) drive(e *end) (need, cost, limit float64, ok bool) {
	limit, need = e.room, e.peak
	if s.room < limit {
		limit = s.room
	}
	if need < e.floor {
		need = e.floor
	}
	ok = limit+rounding >= e.floor
	need -= s.cost
	if need < s.need {
		need = s.need
	}
	relief := e.spare - s.spare
	limit += relief - e.cost
	if limit > e.cap {
		limit = e.cap
	}
	return need, e.cost - s.cost - relief, limit, ok
}

// arcs appends the direct arcs out of node j that can be driven with most in
// the battery, the farthest first.
func (t *table) arcs(m *model, j int, most float64, arcs []arc) []arc {
	for o := range t.options {
		r := &t.options[o]
		from, far := r.from(m, j)
		for k := far; k > j; k-- {
			e := &r.ends[k]
			need, cost, limit, ok := from.drive(e)
			if ok && need <= most+rounding {
				way := span{e.value - from.value, min(need, most), cost, limit}
				arcs = append(arcs, arc{way, int32(k), int32(o), noHop, 0})
			}
		}
	}
	return arcs
}

// expand fills s.arcs with every arc out of node j that can be driven with
// most in the battery: the direct ones and, where stopping without charging
// may help (see node.pause), those through such stops.
func (s *Sweep) expand(j int, most float64) {
	s.arcs = s.model.direct(j, most, s.arcs[:0])
	s.addPauses(j, most)
}

// addPauses adds the arcs through stops without charging to the direct ones.
func (s *Sweep) addPauses(j int, most float64) {
	if s.whole {
		return
	}
	s.ownArcs = resize(s.ownArcs, s.n+2)
	for k := j + 1; k <= s.n+1; k++ {
		s.ownArcs[k] = s.ownArcs[k][:0]
	}
	for _, a := range s.arcs {
		s.keepArc(a)
	}
	for k := j + 1; k <= s.n; k++ {
		if !s.nodes[k].pause || len(s.ownArcs[k]) == 0 {
			continue
		}
		s.onward = s.model.direct(k, 1, s.onward[:0])
		for i := range s.ownArcs[k] {
			a := s.ownArcs[k][i]
			s.hops = append(s.hops, hop{a.to, a.option, a.via})
			for _, b := range s.onward {
				way := a.span.then(b.span)
				way.value += s.nodes[k].base
				if way.need <= most {
					s.keepArc(arc{way, b.to, b.option, int32(len(s.hops) - 1), a.passed + 1})
				}
			}
		}
	}
	s.arcs = s.arcs[:0]
	for k := s.n + 1; k > j; k-- {
		s.arcs = append(s.arcs, s.ownArcs[k]...)
	}
}

// keepArc keeps an arc unless another to the same node is as good in every
// respect.
func (s *Sweep) keepArc(a arc) {
	own := s.ownArcs[a.to]
	for i := range own {
		b := &own[i]
		if b.value <= a.value && b.need <= a.need && b.cost <= a.cost && b.cap >= a.cap && b.passed <= a.passed {
			return
		}
	}
	s.ownArcs[a.to] = append(own, a)
}

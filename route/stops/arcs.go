package stops

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
				end := span{way.value + to.in.value, need, way.cost + to.in.cost, way.cap - to.in.cost}
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

// roadTable is the table of one speed option. Node k is reached from the one
// at hand, j, at cost[k] − cost[j], with need peak[k] − cost[j] and with at
// most room[k] − cost[k] on arrival.
type roadTable struct {
	value, cost []float64 // from the origin to each turn-off
	peak        []float64 // the highest of cost at the start of a piece + need, over the pieces between; rises with k
	room        []float64 // the lowest of cap + cost at the end of a piece; falls with k
	far         int       // the last node that some SoC at the one at hand reaches
}

func (t *table) reset(m *model) {
	t.options = resize(t.options, len(m.road))
	for o, road := range m.road {
		r := &t.options[o]
		r.value, r.cost = resize(r.value, m.n+2), resize(r.cost, m.n+2)
		r.peak, r.room = resize(r.peak, m.n+2), resize(r.room, m.n+2)
		r.far = m.n + 1
		value, cost := 0.0, 0.0
		for i := range road {
			value += road[i].value
			cost += road[i].cost
			r.value[i+1], r.cost[i+1] = value, cost
		}
		r.value[0], r.cost[0] = 0, 0
	}
}

// back steps from node j+1 to node j.
func (t *table) back(m *model, j int) {
	for o := range t.options {
		r := &t.options[o]
		piece := &m.road[o][j]
		peak, room := r.cost[j]+piece.need, r.cost[j+1]+piece.cap
		for r.far > j+1 && r.peak[r.far] > room+rounding {
			r.far--
		}
		r.peak[j+1], r.room[j+1] = peak, room
		for k := j + 2; k <= r.far && r.peak[k] < peak; k++ {
			r.peak[k] = peak
		}
		for k := j + 2; k <= r.far && r.room[k] > room; k++ {
			r.room[k] = room
		}
	}
}

// reach is the last node that the road from node j, left with out, leads to.
func (r *roadTable) reach(m *model, j int, out *span) int {
	far := min(r.far, m.must[j])
	for far > j && r.peak[far] > r.cost[j]+out.cap+rounding {
		far--
	}
	return far
}

// drive is the way to node k from the one whose cost is costHere and whose way
// to the road is out: what to leave with at least, what it costs, and the most
// there is on arrival. Where no more than most can be left with, ok tells
// whether it can be driven.
func (r *roadTable) drive(out *span, d *door, costHere, most float64, k int) (need, cost, limit float64, ok bool) {
	cost = r.cost[k] - costHere
	limit = r.room[k] - r.cost[k]
	if l := out.cap - cost; l < limit {
		limit = l
	}
	cost += out.cost
	need = out.cost + r.peak[k] - costHere
	if need < out.need {
		need = out.need
	}
	if n := cost + d.atRoad; need < n {
		need = n
	}
	ok = need <= most && d.atRoad <= limit+rounding
	limit -= d.cost
	if limit > d.cap {
		limit = d.cap
	}
	return need, cost + d.cost, limit, ok
}

// arcs appends the direct arcs out of node j that can be driven with most in
// the battery, the farthest first.
func (t *table) arcs(m *model, j int, most float64, arcs []arc) []arc {
	out := &m.nodes[j].out
	for o := range t.options {
		r := &t.options[o]
		for k := r.reach(m, j, out); k > j; k-- {
			d := &m.doors[k]
			need, cost, limit, ok := r.drive(out, d, r.cost[j], most+rounding, k)
			if ok {
				way := span{out.value + r.value[k] - r.value[j] + d.value, min(need, most), cost, limit}
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

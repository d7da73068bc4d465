package stops

import "slices"

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
// from the node at hand to every later one. One node further back each of its
// entries is the next piece of road followed by what was there, one step that
// depends on no other.
type table struct {
	ways  [][]span // by option and node
	far   []int    // by option: the last node within reach of a full battery
	spare []float64
}

// reset begins a sweep. spare[j] is the most that the road before turn-off j
// can still put back into a battery.
func (t *table) reset(m *model) {
	t.ways = resize(t.ways, len(m.road))
	t.far = resize(t.far, len(m.road))
	t.spare = resize(t.spare, m.n+2)
	clear(t.spare)
	for o, road := range m.road {
		t.ways[o] = resize(t.ways[o], m.n+2)
		t.far[o] = m.n + 1
		back := 0.0
		for i := range road {
			back += max(0, -road[i].cost)
			t.spare[i+1] = max(t.spare[i+1], back)
		}
	}
}

// back steps from node j+1 to node j.
func (t *table) back(m *model, j int) {
	for o, ways := range t.ways {
		piece := m.road[o][j]
		far := t.far[o]
		for far > j+1 && ways[far].need > 1+t.spare[j+1] {
			far--
		}
		t.far[o] = far
		for k := j + 2; k <= far; k++ {
			ways[k] = piece.then(ways[k])
		}
		ways[j+1] = piece
	}
}

// arcs appends the direct arcs out of node j that can be driven with most in
// the battery, the farthest first.
func (t *table) arcs(m *model, j int, most float64, arcs []arc) []arc {
	out := m.nodes[j].out
	for o, ways := range t.ways {
		far := min(t.far[o], m.must[j])
		arcs = slices.Grow(arcs, far-j)
		for k := far; k > j; k-- {
			d := &m.doors[k]
			way := &ways[k]
			need := out.cost + way.need
			if need < out.need {
				need = out.need
			}
			limit := way.cap
			if l := out.cap - way.cost; l < limit {
				limit = l
			}
			cost := out.cost + way.cost
			if n := cost + d.atRoad; need < n {
				need = n
			}
			if need > most || limit < d.atRoad || out.cap < way.need {
				continue
			}
			limit -= d.cost
			if limit > d.cap {
				limit = d.cap
			}
			arcs = arcs[:len(arcs)+1]
			a := &arcs[len(arcs)-1]
			a.value, a.need, a.cost, a.cap = out.value+way.value+d.value, need, cost+d.cost, limit
			a.to, a.option, a.via, a.passed = int32(k), int32(o), noHop, 0
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

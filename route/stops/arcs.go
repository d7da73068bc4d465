package stops

import "math"

// arc is a way from a node to a later one without charging in between. Its
// need includes the reserves of every place where it stops, the last included.
type arc struct {
	span
	to     int32
	option int32 // of the last drive
	via    int32 // the hop before the last drive, or noHop
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
	from := &m.nodes[j]
	for o := range m.road {
		way := from.out
		for k := j + 1; k <= m.n+1; k++ {
			way = way.then(m.road[o][k-1])
			if way.need > most {
				break
			}
			to := &m.nodes[k]
			if to.use == MustPass {
				continue
			}
			if way.cap >= to.atRoad {
				need := math.Max(way.need, way.cost+to.atRoad)
				whole := way.then(to.in)
				whole.need = need
				if need <= most {
					arcs = append(arcs, arc{whole, int32(k), int32(o), noHop, 0})
				}
			}
			if to.use == MustStop {
				break
			}
		}
	}
	return arcs
}

package stops

import "math"

// goal is what a drive from the node at hand to a charger of one class must
// promise to be worth a closer look.
type goal struct {
	soc   float64 // the departure up to which more charge pays on every drive there; NaN where that depends on the drive
	limit float64 // what drive and cost-to-go must stay under if one departs with soc; perhaps out of date, and then too high
}

// setGoals finds the goals of one node.
func (o *offers) setGoals() {
	o.goals = resize(o.goals, len(o.classes))
	for i := range o.goals {
		g := &o.goals[i]
		*g = goal{soc: math.NaN(), limit: math.Inf(1)}
		if o.class.versus == nil || o.classes[i].versus == nil {
			continue
		}
		w := &o.class.versus[i]
		if !w.known {
			*w = windowBetween(o.class, &o.classes[i])
		}
		if soc := min(w.to, o.node.ceiling); w.from >= soc {
			g.soc = soc
		}
	}
}

// sift offers the departures of every direct arc out of node j, like arcs and
// arc, but passes over those of which the bounds tell that they enter no step:
// of the two that can be best, with just enough and with the goal's SoC, each.
func (o *offers) sift(j int, l *level) {
	o.setGoals()
	from, far := o.table.options[0].from(&o.model, j)
	ends := o.table.options[0].ends
	most := o.node.ceiling
	for k := far; k > j; k-- {
		e := &ends[k]
		need, cost, limit, ok := from.drive(e)
		if !ok || need > most+rounding {
			continue
		}
		if need > most {
			need = most
		}
		value := e.value - from.value
		fixed := o.node.base + value
		arrive, rest := need-cost, 0.0
		if arrive <= e.least || limit <= e.least {
			rest = l.atReserve[k]
		} else {
			rest = l.bound(k, min(arrive, limit))
		}
		if fixed+rest+o.bound(need) < o.beat(need) {
			o.enough(&arc{span{value, need, cost, limit}, int32(k), 0, noHop, 0}, l)
		}
		if o.pays(l, e, k, need, cost, limit, fixed) {
			o.more(&arc{span{value, need, cost, limit}, int32(k), 0, noHop, 0}, l)
		}
	}
}

// pays tells whether leaving for node k with more than just enough may enter a
// step.
func (o *offers) pays(l *level, to *end, k int, need, cost, limit, fixed float64) bool {
	if to.class < 0 {
		return false
	}
	if cost < 0 || to.price != o.node.perSoC {
		return true
	}
	g := &o.goals[to.class]
	if g.soc <= need {
		return false
	}
	if !(g.soc-cost <= limit) {
		return true
	}
	least := fixed + l.bound(k, g.soc-cost)
	if !(least < g.limit) {
		return false
	}
	g.limit = o.beat(g.soc) - o.bound(g.soc)
	return least < g.limit
}

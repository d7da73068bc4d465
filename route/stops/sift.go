package stops

import "math"

// goal is what a drive from the node at hand to a charger of one class must
// promise to be worth a closer look.
type goal struct {
	soc     float64 // the departure up to which more charge pays on every drive there; NaN where that depends on the drive
	limit   float64 // what drive and cost-to-go must stay under if one departs with soc
	entered int     // of the steps, when limit was found
}

// setGoals finds the goals of one node.
func (o *offers) setGoals() {
	o.goals = resize(o.goals, len(o.classes))
	for i := range o.goals {
		g := &o.goals[i]
		*g = goal{soc: math.NaN(), entered: -1}
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
// arc, but passes over drives of which the bounds tell that neither departure
// that can be best, with just enough and with the goal's SoC, enters a step.
func (o *offers) sift(j int, l *level) {
	r := &o.table.options[0]
	node, out := o.node, &o.node.out
	o.setGoals()
	costHere, before := r.cost[j], out.value-r.value[j]
	for k := r.reach(&o.model, j, out); k > j; k-- {
		d := &o.doors[k]
		need, cost, limit, ok := r.drive(out, d, costHere, node.ceiling+rounding, k)
		if !ok {
			continue
		}
		if need > node.ceiling {
			need = node.ceiling
		}
		value := before + r.value[k] + d.value
		fixed := node.base + value
		if fixed+o.leastRest(l, d, k, need, cost, limit)+o.bound(need) < o.beat(need) || o.pays(l, d, k, need, cost, limit, fixed) {
			o.arc(&arc{span{value, need, cost, limit}, int32(k), 0, noHop, 0}, l)
		}
	}
}

// leastRest is no more than the cost-to-go from node k after leaving with just
// enough.
func (o *offers) leastRest(l *level, d *door, k int, need, cost, limit float64) float64 {
	arrive := need - cost
	if arrive <= d.reserve+rounding || limit <= d.reserve+rounding {
		return l.atReserve[k]
	}
	if arrive > limit {
		arrive = limit
	}
	return l.bound(k, arrive)
}

// pays tells whether leaving with more than just enough may enter a step.
func (o *offers) pays(l *level, d *door, k int, need, cost, limit, fixed float64) bool {
	if d.class < 0 {
		return false
	}
	g := &o.goals[d.class]
	if cost < 0 || d.perSoC != o.node.perSoC {
		return true
	}
	if g.soc <= need {
		return false
	}
	if !(g.soc-cost <= limit) {
		return true
	}
	if g.entered != o.entered {
		g.entered, g.limit = o.entered, o.beat(g.soc)-o.bound(g.soc)
	}
	return fixed+l.bound(k, g.soc-cost) < g.limit
}

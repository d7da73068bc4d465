package stops

import "math"

// window bounds the departure SoCs at which leaving a charger of one class for
// one of another can be best, apart from the least that gets there, for any
// drive that costs energy: below from, more charge always pays; above to,
// never. Mostly the two are one number: the SoC at which the power here has
// fallen to that of the weaker charger there.
type window struct {
	known    bool
	from, to float64
}

var anywhere = window{true, 0, 1}

// priced is the window where energy costs perSoC at each of the two: cheaper
// energy there may make leaving earlier best, dearer energy leaving later.
func (w window) priced(here, there float64) window {
	if there > here {
		w.to = 1
	}
	if there < here {
		w.from = 0
	}
	return w
}

// windowBetween finds the window from class j to class k where energy costs
// the same at both, and arrivals at k are never below k.least. With g the value of one more bit of charge, more
// charge at x never pays if g_k(y) ≤ g_j(x) for every arrival y ≤ x, and
// always pays if g_k(y) ≥ g_j(x) for every such y.
func windowBetween(j, k *class) window {
	if j.cut || k.cut {
		return anywhere
	}
	// Powers are compared per worth of charging time.
	pj, pk := j.power.Pieces(), k.power.Pieces()
	w := window{true, 1, 0}
	lowest, highest := math.Inf(1), 0.0 // of the power at k on arrivals so far
	slack := 1e-10 * j.perS * k.perS * 1000
	for x, a, b := 0.0, 0, 0; x < 1; {
		next := math.Min(pj[a].ToSoC, pk[b].ToSoC)
		if x < k.least && k.least < next {
			next = k.least
		}
		if next > k.least {
			here := line{x, next, pj[a].PowerKW(x) * k.perS, pj[a].PowerKW(next) * k.perS}
			there := line{x, next, pk[b].PowerKW(x) * j.perS, pk[b].PowerKW(next) * j.perS}
			lowest, highest = math.Min(lowest, there.y0), math.Max(highest, there.y0)
			w.to = math.Max(w.to, math.Max(here.minus(lowest).last(slack), here.minusLine(there).last(slack)))
			w.from = math.Min(w.from, math.Min(here.minus(highest).flip().first(slack), there.minusLine(here).first(slack)))
			lowest, highest = math.Min(lowest, there.y1), math.Max(highest, there.y1)
		}
		x = next
		if pj[a].ToSoC <= x && a+1 < len(pj) {
			a++
		}
		if pk[b].ToSoC <= x && b+1 < len(pk) {
			b++
		}
	}
	w.from = math.Min(w.from, w.to)
	return w
}

// line is a straight line from (x0, y0) to (x1, y1).
type line struct{ x0, x1, y0, y1 float64 }

func (l line) minus(y float64) line  { return line{l.x0, l.x1, l.y0 - y, l.y1 - y} }
func (l line) minusLine(m line) line { return line{l.x0, l.x1, l.y0 - m.y0, l.y1 - m.y1} }
func (l line) flip() line            { return line{l.x0, l.x1, -l.y0, -l.y1} }
func (l line) zero() float64         { return l.x0 + (l.x1-l.x0)*l.y0/(l.y0-l.y1) }

// last is the upper end of where the line is positive, 0 where it is nowhere.
func (l line) last(slack float64) float64 {
	switch {
	case l.y1 > slack:
		return l.x1
	case l.y0 > slack:
		return l.zero()
	}
	return 0
}

// first is the lower end of where the line is positive, 1 where it is nowhere.
func (l line) first(slack float64) float64 {
	switch {
	case l.y0 > slack:
		return l.x0
	case l.y1 > slack:
		return l.zero()
	}
	return 1
}
